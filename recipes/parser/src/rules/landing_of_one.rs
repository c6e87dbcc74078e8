use std::collections::BTreeSet;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "landing-of-one",
    severity: Warning,
    title: "a landing has two dishes or more",
    why: "One dish alone always lands together.",
    bad: r#"[[dish]]
id = "toast"
name = "Toast"
[[landing]]
dishes = ["toast"]
within = "3 min"
[[stage]]
id = "bread"
appliance = "oven"
dish = "toast"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    good: r#"[[dish]]
id = "toast"
name = "Toast"
[[stage]]
id = "bread"
appliance = "oven"
dish = "toast"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for landing in &checked.programme().landings {
        let dishes: BTreeSet<&str> = landing.dishes.iter().map(|at| at.value.as_str()).collect();
        if dishes.len() < 2 {
            let place = landing.dishes.first().map_or_else(|| landing.spot.0.clone(), |at| at.place.clone());
            found.add(
                place,
                format!("expected two dishes or more in a landing, found {}", dishes.len()),
                "name the dish that it lands with, or leave the landing out",
            );
        }
    }
}
