use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "looks-order",
    severity: Error,
    title: "the first look comes before the last moment",
    why: "A window that closes before it opens asks for no look at all.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown", first_look = "15 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-14 min", cue = "crust is brown", first_look = "9 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some((looks, expect)) = step.end().and_then(|end| end.looks()) else { continue };
        let window = looks.window(expect);
        let place =
            looks.first.as_ref().or(looks.no_later.as_ref()).map_or(looks.spot.0.clone(), |at| at.place.clone());
        if window.first > window.no_later {
            let message = format!("expected the first look no later than {}, found {}", window.no_later, window.first);
            found.add(place, message, format!("write a first look before {}, or a later last moment", window.no_later));
        } else if let Some(last) = looks.no_later.as_ref().filter(|last| last.value < expect.low()) {
            let message =
                format!("expected the last moment not before the usual time of {expect}, found {}", last.value);
            found.add(last.place.clone(), message, format!("write {} or later", expect.high()));
        }
    }
}
