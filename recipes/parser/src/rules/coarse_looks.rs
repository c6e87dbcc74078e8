use quantities::Span;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "coarse-looks",
    severity: Warning,
    title: "looks are no further apart than a tenth of the usual time",
    why: "The true time is known only between the last \"not yet\" and the first \"done\"; a wide gap blurs the printed range.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "40-60 min", cue = "crust is brown", look_every = "10 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "40-60 min", cue = "crust is brown", look_every = "5 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some((looks, expect)) = step.end().and_then(|end| end.looks()) else { continue };
        let Some(every) = &looks.every else { continue };
        let finest = expect.high().thousandths(100).max(Span::from_secs(30));
        if every.value > finest {
            let message =
                format!("expected looks at most {finest} apart, a tenth of the usual time, found {}", every.value);
            found.add(every.place.clone(), message, format!("write look_every = \"{finest}\", or leave it out"));
        }
    }
}
