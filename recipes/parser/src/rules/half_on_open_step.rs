use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "half-on-open-step",
    severity: Error,
    title: "half-time stands on a step with a known time",
    why: "Half of an open step is not known; half of hands-on work is no moment.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { cue = "crust is brown", expect = "10-12 min", look_every = "1 min", limit = "15 min" }
half = "TURN the bread""#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
half = "TURN the bread""#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let (Some(half), Some(end)) = (&step.half, step.end()) else { continue };
        let what = match end {
            DraftEnd::Time(_) | DraftEnd::Core(_) => continue,
            DraftEnd::Cue { .. } => "an open step",
            DraftEnd::Cook { .. } => "a hands-on step",
            DraftEnd::Heat { .. } => "a step that waits for heat",
            DraftEnd::Rest { .. } => "a rest",
            DraftEnd::Rounds { .. } => "a step of rounds",
        };
        found.add(
            half.place.clone(),
            format!("expected a step with a time for `half`, found {what}"),
            "write at = [{ time = …, do = … }], or end the step by time",
        );
    }
}
