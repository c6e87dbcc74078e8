use super::prelude::*;
use crate::{draft::At, keys::STAGE};

pub(super) const RULE: Rule = Rule {
    code: "reserved-id",
    severity: Error,
    title: "no id is a word that has a meaning in a path",
    why: "In loin.begin.wait a step called begin could not be told from the key; `base` is the recipe without changes.",
    bad: r#"[[stage.step]]
id = "begin"
do = "Bake the bread."
until = { time = "12 min" }"#,
    good: r#"[[stage.step]]
id = "beginning"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let mut refuse = |id: &Option<At<String>>, what: &str, is_taken: bool| {
        if let (Some(id), true) = (id, is_taken) {
            let message = format!("expected an id for the {what} that has no meaning of its own, found `{}`", id.value);
            found.add(id.place.clone(), message, format!("write another id, like {}-1", id.value));
        }
    };
    let is = |id: &Option<At<String>>, words: &[&str]| id.as_ref().is_some_and(|at| words.contains(&at.value.as_str()));
    let keys: Vec<&str> = STAGE.keys.iter().map(|key| key.name).collect();
    for stage in &checked.programme().stages {
        refuse(&stage.id, "stage", is(&stage.id, &["ingredient", "dish", "landing", "kitchen", "record", "variant"]));
        for step in &stage.steps {
            refuse(&step.id, "step", is(&step.id, &keys));
        }
    }
    for variant in &checked.draft.variants {
        refuse(&variant.id, "variant", is(&variant.id, &["base"]));
    }
}
