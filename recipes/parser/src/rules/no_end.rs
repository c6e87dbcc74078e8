use super::prelude::*;
use super::unknown_key::slips;

pub(super) const RULE: Rule = Rule {
    code: "no-end",
    severity: Error,
    title: "every step says how it ends, every beginning what it hangs on",
    why: "A step without an end would run for ever.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { first_look = "10 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown", first_look = "10 min" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    // a slip in the leading key has its own rule
    for (choice, table) in checked.walk.unclear.iter().filter(|(choice, table)| slips(choice, table).next().is_none()) {
        let leads: Vec<&str> = choice.kinds.iter().map(|(lead, _)| *lead).collect();
        let message = format!("expected one of {} in `{}`, found none", leads.join(", "), choice.name);
        found.add(
            table.place.clone(),
            message,
            format!("write one of them; {} decides what the other keys mean", leads[0]),
        );
    }
}
