use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "variant-same",
    severity: Error,
    title: "a variant differs from the base",
    why: "Two cooks of one programme under two names prove nothing.",
    bad: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
change = [{ at = "bread.bake.until.time", to = "PT12M" }]"#,
    good: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
change = [{ at = "bread.bake.until.time", to = "15 min" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let base = checked.programme();
    for (head, (resolved, draft)) in checked.draft.variants.iter().zip(checked.variants) {
        let is_control = head.control.as_ref().is_some_and(|at| at.value);
        if draft.programme == *base && resolved.faults.is_empty() && !is_control {
            let place = match resolved.places.as_slice() {
                [first, ..] => first.clone(),
                [] => head.id.as_ref().map_or_else(|| head.spot.0.clone(), |id| id.place.clone()),
            };
            found.add(
                place,
                "expected a variant that changes something, found one that is the same as the base",
                "write change, skip or add with a difference, or leave the variant out",
            );
        }
    }
}
