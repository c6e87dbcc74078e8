use recipe_model::{FoodClass, Hazard};

use super::prelude::*;
use crate::food_table::minimum;

pub(super) const RULE: Rule = Rule {
    code: "food-without-core",
    severity: Warning,
    title: "food with a minimum is measured at its core",
    why: "The table names a core temperature; time and colour do not show it.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the thighs."
food = "poultry"
until = { time = "30-40 min", cue = "juices run clear" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the thighs."
food = "poultry"
until = { core = "74 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "juices run clear" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let measured = |food: FoodClass| {
        checked.steps().any(|(_, step)| step.core().is_some() && step.food.as_ref().is_some_and(|at| at.value == food))
    };
    for (_, step) in checked.steps() {
        let Some(food) = step.food.as_ref().filter(|at| minimum(at.value).is_some() && !measured(at.value)) else {
            continue;
        };
        if step.core().is_none() {
            let message =
                format!("expected a step that ends by core temperature for {}, found none", food.value.word());
            found.add(
                food.place.clone(),
                message,
                "write until = { core = …, probe = …, … } in the step that cooks it through",
            );
        }
    }
    for hazard in &checked.draft.hazards {
        let classes: &[FoodClass] = match hazard.value {
            Hazard::RawPoultry => &[FoodClass::Poultry],
            Hazard::RawPork => &[FoodClass::PorkWhole, FoodClass::MincedMeat],
            Hazard::RawRedMeat => &[FoodClass::RedMeatWhole, FoodClass::MincedMeat],
            Hazard::RawFish => &[FoodClass::Fish],
            Hazard::RawEgg
            | Hazard::RawFlour
            | Hazard::Gluten
            | Hazard::Milk
            | Hazard::Egg
            | Hazard::Fish
            | Hazard::Nuts
            | Hazard::Mustard
            | Hazard::Celery
            | Hazard::Soya
            | Hazard::Sesame
            | Hazard::HeldRice => continue,
        };
        let is_named =
            checked.steps().any(|(_, step)| step.food.as_ref().is_some_and(|at| classes.contains(&at.value)));
        if !is_named {
            let message = format!(
                "expected a step with food = \"{}\" for the hazard `{}`, found none",
                classes[0].word(),
                hazard.value.word()
            );
            found.add(
                hazard.place.clone(),
                message,
                "write it in the step that cooks it through, with until = { core = … }",
            );
        }
    }
}
