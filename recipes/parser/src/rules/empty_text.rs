use super::prelude::*;
use crate::keys::Shape;

pub(super) const RULE: Rule = Rule {
    code: "empty-text",
    severity: Error,
    title: "no text is empty",
    why: "An empty name or instruction says nothing at the stove.",
    bad: r#"title = " ""#,
    good: r#"title = "Toast""#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in &checked.walk.values {
        let is_text = matches!(seen.shape, Shape::Text { .. } | Shape::Id | Shape::Reference);
        if is_text && seen.node.as_text().is_some_and(|text| text.trim().is_empty()) {
            found.add(
                seen.node.place.clone(),
                format!("expected words for `{}`, found nothing", seen.key),
                "write the words, or leave the key out",
            );
        }
    }
}
