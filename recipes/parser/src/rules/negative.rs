use quantities::Fault;

use super::prelude::*;
use super::quantity;

pub(super) const RULE: Rule = Rule {
    code: "negative",
    severity: Error,
    title: "times, weights and powers are not negative",
    why: "Nothing takes less than no time.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "-12 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    quantity::each(checked, found, |fault| fault == Fault::Negative);
}
