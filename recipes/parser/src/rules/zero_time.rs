use quantities::Span;

use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "zero-time",
    severity: Error,
    title: "no step and no interval takes no time",
    why: "A step that ends as it starts, or a rhythm without a pause, would sound without end.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "0 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let mut refuse = |place: &crate::syntax::Place, expected: &str, time: Span| {
        found.add(place.clone(), format!("expected a time {expected}, found {time}"), "write the usual time")
    };
    for (_, step) in checked.steps() {
        let range = match step.end() {
            Some(DraftEnd::Time(time)) => time.expect.as_ref(),
            Some(DraftEnd::Core(core)) => core.expect.as_ref(),
            Some(DraftEnd::Cue { expect, .. } | DraftEnd::Cook { expect } | DraftEnd::Heat { expect, .. }) => {
                expect.as_ref()
            }
            Some(DraftEnd::Rest { planned: Some(at), .. } | DraftEnd::Rounds { each: Some(at), .. }) => {
                if at.value.is_zero() {
                    refuse(&at.place, "above zero", Span::ZERO);
                }
                None
            }
            Some(DraftEnd::Rest { .. } | DraftEnd::Rounds { .. }) | None => None,
        };
        range
            .into_iter()
            .filter(|at| at.value.high().is_zero())
            .for_each(|at| refuse(&at.place, "above zero", Span::ZERO));
        let rhythms = step.every.iter().filter_map(|r| r.time.as_ref());
        rhythms.filter(|at| at.value < Span::from_secs(1)).for_each(|at| refuse(&at.place, "of 1 s or more", at.value));
    }
}
