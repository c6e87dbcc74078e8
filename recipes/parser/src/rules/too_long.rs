use super::prelude::*;
use crate::keys::Shape;

pub(super) const RULE: Rule = Rule {
    code: "too-long",
    severity: Error,
    title: "titles, names and texts keep to a length",
    why: "A title has to fit a list row and a heading; a text has to be read at the stove.",
    bad: r#"title = "Toast of the day before yesterday with everything that was left over in the larder""#,
    good: r#"title = "Toast with everything""#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in &checked.walk.values {
        let (Shape::Text { most }, Some(text)) = (seen.shape, seen.node.as_text()) else { continue };
        let letters = text.chars().count();
        if letters > *most {
            let message = format!("expected at most {most} letters for `{}`, found {letters}", seen.key);
            found.add(seen.node.place.clone(), message, format!("leave out {} letters", letters - most));
        }
    }
}
