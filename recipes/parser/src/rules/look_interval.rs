use quantities::Span;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "look-interval",
    severity: Error,
    title: "looks have an interval that fits their window",
    why: "An interval of zero asks without end; one longer than the window asks once and then too late.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown", look_every = "0 s" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown", look_every = "1 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some((looks, expect)) = step.end().and_then(|end| end.looks()) else { continue };
        let Some(every) = &looks.every else { continue };
        let window = looks.window(expect);
        let room = window.no_later.saturating_sub(window.first);
        if every.value < Span::from_secs(1) {
            found.add(
                every.place.clone(),
                format!("expected an interval of looks of 1 s or more, found {}", every.value),
                "write look_every = \"1 min\"",
            );
        } else if every.value > room && !room.is_zero() {
            let message = format!(
                "expected an interval of at most {room}, from the first look to the last moment, found {}",
                every.value
            );
            found.add(every.place.clone(), message, format!("write {room} or less"));
        }
    }
}
