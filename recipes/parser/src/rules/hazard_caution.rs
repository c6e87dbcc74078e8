use recipe_model::{Caution, Hazard};

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "hazard-caution",
    severity: Error,
    title: "every raw hazard has its caution at a step",
    why: "A hazard that is only named at the top of the file is not seen at the bench.",
    bad: r#"hazards = ["raw-egg"]"#,
    good: r#"hazards = ["gluten"]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for hazard in &checked.draft.hazards {
        let Some(caution) = asked(hazard.value) else { continue };
        let has_it = checked.steps().any(|(_, step)| step.cautions.iter().any(|at| at.value == caution));
        if !has_it {
            let message = format!(
                "expected a step with the caution `{}` for the hazard `{}`, found none",
                caution.word(),
                hazard.value.word()
            );
            found.add(
                hazard.place.clone(),
                message,
                format!("write cautions = [\"{}\"] in the step where it is handled", caution.word()),
            );
        }
    }
}

/// The caution that a hazard asks for. Allergens are told to the table, not to the cook at one step.
fn asked(hazard: Hazard) -> Option<Caution> {
    match hazard {
        Hazard::RawPoultry | Hazard::RawPork | Hazard::RawRedMeat => Some(Caution::RawMeat),
        Hazard::RawFish => Some(Caution::RawFish),
        Hazard::RawEgg => Some(Caution::RawEgg),
        Hazard::HeldRice => Some(Caution::KeepHot),
        Hazard::RawFlour
        | Hazard::Gluten
        | Hazard::Milk
        | Hazard::Egg
        | Hazard::Fish
        | Hazard::Nuts
        | Hazard::Mustard
        | Hazard::Celery
        | Hazard::Soya
        | Hazard::Sesame => None,
    }
}
