use recipe_model::{FoodClass, Hazard};

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "hazard-without-food",
    severity: Error,
    title: "raw food names its class",
    why: "The minimum of the public chart hangs on the class; without it a raw food would have none.",
    bad: r#"hazards = ["raw-poultry"]
[[stage.step]]
id = "roast"
do = "Roast the thighs."
until = { core = "60 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "juices run clear" } }
cautions = ["raw-meat"]"#,
    good: r#"hazards = ["raw-poultry"]
[[stage.step]]
id = "roast"
do = "Roast the thighs."
food = "poultry"
until = { core = "74 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "juices run clear" } }
cautions = ["raw-meat"]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for hazard in &checked.draft.hazards {
        let classes = classes(hazard.value);
        let is_named =
            checked.steps().any(|(_, step)| step.food.as_ref().is_some_and(|at| classes.contains(&at.value)));
        if let ([class, others @ ..], false) = (classes, is_named) {
            let others: String = others.iter().map(|food| format!(" or \"{}\"", food.word())).collect();
            let message = format!(
                "expected a step with food = \"{}\"{others} for the hazard `{}`, found none",
                class.word(),
                hazard.value.word()
            );
            found.add(
                hazard.place.clone(),
                message,
                "write it in the step that cooks it through, with until = { core = … }",
            );
        }
    }
    let Some(raw) = checked.draft.hazards.iter().find(|hazard| !classes(hazard.value).is_empty()) else { return };
    for (_, step) in checked.steps() {
        if let (Some(target), None) = (step.core().and_then(|core| core.target.as_ref()), &step.food) {
            let message = format!(
                "expected a food class beside a core temperature in a recipe with {}, found none",
                raw.value.word()
            );
            found.add(
                target.place.clone(),
                message,
                "write food = … in this step; \"no-minimum\" for bread or vegetables",
            );
        }
    }
}

/// The classes of the chart that a raw hazard can be of; none for what the chart does not name.
fn classes(hazard: Hazard) -> &'static [FoodClass] {
    match hazard {
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
        | Hazard::HeldRice => &[],
    }
}
