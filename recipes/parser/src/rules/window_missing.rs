use super::prelude::*;
use crate::draft::{DraftEnd, DraftTime};

pub(super) const RULE: Rule = Rule {
    code: "window-missing",
    severity: Error,
    title: "a cue on a fixed time says its window",
    why: "With one time the first look would also be the last moment.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min", cue = "crust is brown" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min", cue = "crust is brown", first_look = "10 min", no_later_than = "14 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        match step.end() {
            Some(DraftEnd::Time(time)) => of_time(time, found),
            Some(DraftEnd::Core(core)) => core.fallback.iter().for_each(|time| of_time(time, found)),
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
    let Some(expect) = time.expect.as_ref().filter(|at| at.value.is_exact() && time.looks.cue.is_some()) else {
        return;
    };
    if time.looks.first.is_none() || time.looks.no_later.is_none() {
        let message =
            format!("expected a range or a window for a step with a cue, found the fixed time {}", expect.value);
        found.add(expect.place.clone(), message, "write a range like 10-14 min, or first_look and no_later_than");
    }
}
