use quantities::Fault;

use super::prelude::*;
use super::quantity;
use crate::syntax::Value;

pub(super) const RULE: Rule = Rule {
    code: "no-unit",
    severity: Error,
    title: "every quantity has its unit",
    why: "A number alone is refused, never guessed: 90 can be seconds or minutes.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "90" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "90 s" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (seen, fault) in quantity::faults(checked) {
        match fault {
            quantity::Found::Bare(number) => {
                let message = format!(
                    "expected {} in quotes with its unit for `{}`, found the number `{number}` alone",
                    quantity::words(seen.shape),
                    seen.key
                );
                found.add(
                    seen.node.place.clone(),
                    message,
                    quantity::with_units(seen.shape, &number, &seen.node.value),
                );
            }
            quantity::Found::Fault(error) if error.fault == Fault::NoUnit => {
                let place = quantity::place(checked, seen, &error);
                let number = error.found.clone();
                found.add(
                    place,
                    error.to_string(),
                    quantity::with_units(seen.shape, &number, &Value::Text(number.clone())),
                );
            }
            quantity::Found::Fault(_) => {}
        }
    }
}
