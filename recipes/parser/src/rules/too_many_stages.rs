use super::prelude::*;
use crate::syntax::Place;

pub(super) const RULE: Rule = Rule {
    code: "too-many-stages",
    severity: Error,
    title: "a programme has at most 64 stages",
    why: "The station keeps 64 stages over all its trials.",
    bad: r#""#,
    good: r#""#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let stages = &checked.programme().stages;
    if let Some(stage) = stages.get(MOST) {
        let place: Place = stage.place();
        found.add(
            place,
            format!("expected at most {MOST} stages, found {}", stages.len()),
            "put steps that follow each other into one stage, or split the recipe",
        );
    }
}

const MOST: usize = 64;
