use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "gap-shorter-than-wait",
    severity: Error,
    title: "the longest gap is at least the pause",
    why: "A step that waits longer than it may wait is always too late.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage.step]]
id = "glaze"
do = "Brush it with butter."
begin = { after = "bread.bake", wait = "5 min", within = "3 min" }
until = { cook = "2 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage.step]]
id = "glaze"
do = "Brush it with butter."
begin = { after = "bread.bake", wait = "2 min", within = "3 min" }
until = { cook = "2 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, begin) in checked.programme().begins() {
        if let (Some(wait), Some(within)) = (&begin.wait, &begin.within)
            && within.value < wait.value
        {
            let message = format!("expected a gap of at least the pause of {}, found {}", wait.value, within.value);
            found.add(within.place.clone(), message, format!("write within = \"{}\" or more", wait.value));
        }
    }
}
