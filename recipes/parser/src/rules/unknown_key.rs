use super::prelude::*;
use crate::{
    keys::{BEGIN, Choice, SETTING, UNTIL},
    nearest::{Nearest, nearest},
    source::shortened,
    syntax::{Entry, Table},
    variant::article,
    walk,
};

pub(super) const RULE: Rule = Rule {
    code: "unknown-key",
    severity: Error,
    title: "every key is one that its table knows",
    why: "A mistyped key would be passed over in silence, and with it what it says.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
cautoins = ["hot-handle"]"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
cautions = ["hot-handle"]"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (kind, table) in &checked.walk.tables {
        let known: Vec<&str> = kind.keys.iter().map(|key| key.name).collect();
        let free: Vec<&str> = known.iter().filter(|key| table.entry(key).is_none()).copied().collect();
        let of_another = choice(kind.name).and_then(|choice| walk::leads(choice, kind, table)).map(|entry| &entry.key);
        for entry in table.entries.iter().filter(|entry| kind.key(&entry.key).is_none()) {
            if of_another == Some(&entry.key) {
                continue;
            }
            let help = match (nearest(&entry.key, &free).word, nearest(&entry.key, &known)) {
                (Some(word), _) => format!("write {word}"),
                (None, Nearest { word: Some(word), .. }) => {
                    format!("{word} stands in this table already: leave one of the two")
                }
                (None, none) => none.help(),
            };
            let message = format!("expected a key of {}, found `{}`", article(kind.name), shortened(&entry.key));
            found.add(entry.key_place.clone(), message, help);
        }
    }
    // in a table whose kind is not clear, a key that no kind knows is most often a slip in the leading one
    for (choice, table) in &checked.walk.unclear {
        for entry in slips(choice, table) {
            let known: Vec<&str> = choice.kinds.iter().map(|(lead, _)| *lead).collect();
            let message = format!("expected a key of `{}`, found `{}`", choice.name, shortened(&entry.key));
            found.add(entry.key_place.clone(), message, nearest(&entry.key, &known).help());
        }
    }
}

/// The keys of a table that no kind of a choice knows.
pub(super) fn slips<'t>(choice: &'t Choice, table: &'t Table) -> impl Iterator<Item = &'t Entry> {
    table.entries.iter().filter(|entry| choice.kinds.iter().all(|(_, kind)| kind.key(&entry.key).is_none()))
}

/// The choice that a kind of table is one of; leading keys of another kind have their own rule.
fn choice(kind: &str) -> Option<&'static Choice> {
    [&SETTING, &BEGIN, &UNTIL].into_iter().find(|choice| choice.kinds.iter().any(|(_, of)| of.name == kind))
}
