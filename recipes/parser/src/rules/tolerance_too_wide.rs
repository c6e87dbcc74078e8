use recipe_model::{Amount, Tolerance};

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "tolerance-too-wide",
    severity: Error,
    title: "a tolerance is under the whole amount",
    why: "A band of 100 % lets everything pass, also nothing at all.",
    bad: r#"[[ingredient]]
id = "flour"
name = "wheat flour"
amount = "500 g"
tolerance = "150 %"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
uses = ["flour"]"#,
    good: r#"[[ingredient]]
id = "flour"
name = "wheat flour"
amount = "500 g"
tolerance = "2 %"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
uses = ["flour"]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for ingredient in &checked.programme().ingredients {
        let (Some(tolerance), Some(amount)) = (&ingredient.tolerance, &ingredient.amount) else { continue };
        let is_too_wide = match (tolerance.value, &amount.value) {
            (Tolerance::Thousandths(share), _) => share >= 1000,
            (Tolerance::Mass(band), Amount::Mass(mass)) => band >= *mass,
            // a mass beside a volume or a count is weighed once it is measured: nothing to compare with
            (Tolerance::Mass(_), Amount::Volume(_) | Amount::Count(..)) => false,
        };
        if is_too_wide {
            let text = checked.source.excerpt(&tolerance.place);
            found.add(
                tolerance.place.clone(),
                format!("expected a tolerance under the whole amount, found {text}"),
                "write tolerance = \"2 %\"",
            );
        }
    }
}
