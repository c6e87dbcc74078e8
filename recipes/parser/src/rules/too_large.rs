use super::prelude::*;
use crate::syntax::LARGEST;

pub(super) const RULE: Rule = Rule {
    code: "too-large",
    severity: Error,
    title: "a file is at most 256 KiB",
    why: "A recipe is a few pages; a larger file is a mistake or an attack.",
    bad: r#""#,
    good: r#""#,
    level: Level::Text,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let size = checked.source.text.len();
    if size > LARGEST {
        found.add(
            0..0,
            format!("expected a file of at most {LARGEST} bytes, found {size}"),
            "keep one recipe in a file",
        );
    }
}
