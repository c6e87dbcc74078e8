use core::cmp::Reverse;

use quantities::{
    CelsiusStep, Span,
    print::{World, temperature, temperature_both},
};
use recipe_model::FoodClass;

use super::prelude::*;
use crate::food_table::{CHART, HoldPair, fulfilled, hold_pairs, minimum};

pub(super) const RULE: Rule = Rule {
    code: "core-below-minimum",
    severity: Error,
    title: "a core temperature is not below the minimum of its food class",
    why: "The public chart stands; a lower target is taken only with a hold that a public table names. No recipe can switch this off.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "58 °C", probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", least = "3 min" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "58 °C", probe = "core", hold = "32 min", expect = "90-120 min", else = { time = "90-120 min", cue = "juices run clear" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let (Some(food), Some(core)) = (&step.food, step.core()) else { continue };
        let (Some(least), Some(target)) = (minimum(food.value), &core.target) else { continue };
        // poultry has its own rule
        if food.value == FoodClass::Poultry || target.value >= least.core {
            continue;
        }
        // a pair must be named: the usual hold of a few seconds is none; food that is taken before its target is not held
        let is_left_to_rest = core.is_left_to_rest();
        if !is_left_to_rest
            && core.hold.as_ref().is_some_and(|hold| fulfilled(food.value, target.value, hold.value).is_some())
        {
            // a wide dip would hold it at another, lower temperature than the one that the table names
            if let Some(dip) = core.hysteresis.as_ref().filter(|dip| dip.value > CelsiusStep::HALF) {
                let message = format!(
                    "expected a dip of at most {} in a hold by a table pair, found {}",
                    CelsiusStep::HALF,
                    dip.value
                );
                found.add(dip.place.clone(), message, "write hysteresis = \"0.5 °C\", or leave it out");
            }
            continue;
        }
        let printed = temperature_both(least.core, World::Metric);
        let class = food.value.word();
        let found_core = target.value;
        let message =
            format!("expected a core temperature of at least {printed} for {class} ({CHART}), found {found_core}");
        if is_left_to_rest {
            let least = temperature(least.core, World::Metric, 1);
            let help = format!(
                "write core = \"{least}\" or more: with in_rest no hold is taken, the rest measures the highest temperature alone"
            );
            found.add(target.place.clone(), message, help);
            continue;
        }
        let lower = hold_pairs(food.value).into_iter().filter(|pair| pair.from <= target.value);
        let help = match lower.max_by_key(|pair| (pair.core, Reverse(pair.hold))) {
            Some(HoldPair { core, hold, table, .. }) => {
                let (least, named) = (temperature(least.core, World::Metric, 1), hold.max(Span::from_secs(1)));
                format!(
                    "write core = \"{least}\" or more, or hold = \"{named}\" ({}, {}: {core} for {hold})",
                    table.title, table.edition
                )
            }
            None => format!("write {printed} or more; no table holds a pair this low"),
        };
        found.add(target.place.clone(), message, help);
    }
}
