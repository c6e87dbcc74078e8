use quantities::Fault;

use super::prelude::*;
use super::quantity;
use crate::keys::Shape;

pub(super) const RULE: Rule = Rule {
    code: "ends-swapped",
    severity: Error,
    title: "a range goes from low to high",
    why: "Swapped ends are a slip in one of the two numbers; which one cannot be told.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "15-12 min", cue = "crust is brown" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12-15 min", cue = "crust is brown" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    quantity::each(checked, found, |fault| fault == Fault::EndsSwapped);
    for seen in checked.walk.values.iter().filter(|seen| matches!(seen.shape, Shape::Counts)) {
        let Some(text) = seen.node.as_text() else { continue };
        let ends: Vec<u16> = text.split(['-', '\u{2013}']).filter_map(|end| end.trim().parse().ok()).collect();
        if let [low, high] = ends[..]
            && low > high
        {
            let message = format!("expected a range from low to high, found `{text}`");
            found.add(seen.node.place.clone(), message, format!("write {high}-{low}"));
        }
    }
}
