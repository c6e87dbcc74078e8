use quantities::Fault;

use super::prelude::*;
use super::quantity;
use crate::{keys::Shape, read::count_range};

pub(super) const RULE: Rule = Rule {
    code: "unread-quantity",
    severity: Error,
    title: "every quantity is one that can be read",
    why: "`12:30`, `1,000 g` and `5 m` can be two things; `74°` and `soon` are none.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12:30" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min 30 s" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    quantity::each(checked, found, |fault| !matches!(fault, Fault::NoUnit | Fault::Negative | Fault::EndsSwapped));
    for seen in checked.walk.values.iter().filter(|seen| matches!(seen.shape, Shape::Counts)) {
        let Some(text) = seen.node.as_text() else { continue };
        let is_two_numbers = text.split(['-', '\u{2013}']).all(|end| end.trim().parse::<u16>().is_ok());
        if count_range(text).is_none() && !(is_two_numbers && text.split(['-', '\u{2013}']).count() == 2) {
            let message = format!("expected a range of whole numbers, found `{}`", crate::source::shortened(text));
            found.add(seen.node.place.clone(), message, "write it like 3-6");
        }
    }
}
