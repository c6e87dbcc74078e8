use super::prelude::*;
use crate::keys::Shape;

pub(super) const RULE: Rule = Rule {
    code: "control-letters",
    severity: Error,
    title: "texts have letters that can be shown",
    why: "A line break or a control sign in a name breaks the panel, the terminal and the record.",
    bad: r#"title = "Toast\u001b[31m""#,
    good: r#"title = "Toast""#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in checked.walk.values.iter().filter(|seen| matches!(seen.shape, Shape::Text { .. })) {
        let Some(text) = seen.node.as_text() else { continue };
        if let Some(letter) = text.trim().chars().find(|c| is_unseen(*c)) {
            let message = format!(
                "expected letters that can be shown in `{}`, found the sign U+{:04X}",
                seen.key,
                u32::from(letter)
            );
            found.add(
                seen.node.place.clone(),
                message,
                "write the text on one line, with letters, figures and punctuation only",
            );
        }
    }
}

/// Control signs, line breaks, and signs that turn the writing direction round.
fn is_unseen(letter: char) -> bool {
    letter.is_control() || matches!(letter, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}
