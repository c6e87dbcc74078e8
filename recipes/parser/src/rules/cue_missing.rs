use super::prelude::*;
use crate::draft::{DraftEnd, DraftTime};

pub(super) const RULE: Rule = Rule {
    code: "cue-missing",
    severity: Error,
    title: "a window has a cue",
    why: "A cook who is called to look must know what to look for.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        match step.end() {
            Some(DraftEnd::Time(time)) => of_time(time, found),
            Some(DraftEnd::Core(core)) => {
                if let Some(fallback) = core.fallback.as_ref().filter(|f| f.looks.cue.is_none()) {
                    let place = fallback.looks.spot.0.clone();
                    found.add(
                        place,
                        "expected a cue in the fallback of a core temperature, found none",
                        "write else = { time = …, cue = \"juices run clear\" }",
                    );
                }
            }
            Some(
                DraftEnd::Cue { .. }
                | DraftEnd::Cook { .. }
                | DraftEnd::Heat { .. }
                | DraftEnd::Rest { .. }
                | DraftEnd::Rounds { .. },
            )
            | None => {}
        }
    }
}

fn of_time(time: &DraftTime, found: &mut Findings<'_>) {
    let is_range = time.expect.as_ref().is_some_and(|at| !at.value.is_exact());
    if time.looks.cue.is_none() && (is_range || time.looks.says_when()) {
        let place = time.expect.as_ref().map_or(time.looks.spot.0.clone(), |at| at.place.clone());
        found.add(
            place,
            "expected a cue for a step with looks, found none",
            "write cue = \"a knife slides in\", or one fixed time without looks",
        );
    }
}
