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
    let programme = checked.programme();
    for (at, _, step) in programme.steps() {
        let Some(food) = step.food.as_ref().filter(|food| minimum(food.value).is_some()) else { continue };
        // the same piece may be seared by time and finished by its core, or rest after it
        let is_measured = programme.steps().any(|(other, _, by_core)| {
            by_core.core().is_some()
                && by_core.food.as_ref().is_some_and(|at| at.value == food.value)
                && (other.stage == at.stage
                    || checked.plan.comes_after(at, other)
                    || checked.plan.comes_after(other, at))
        });
        if !is_measured && step.core().is_none() {
            let message =
                format!("expected a step that ends by core temperature for {}, found none", food.value.word());
            found.add(
                food.place.clone(),
                message,
                "write until = { core = …, probe = …, … } in the step that cooks it through",
            );
        }
    }
}
