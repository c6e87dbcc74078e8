use super::prelude::*;
use crate::syntax::{SyntaxFault, too_deep};

pub(super) const RULE: Rule = Rule {
    code: "too-deep",
    severity: Error,
    title: "tables nest at most 16 deep",
    why: "No recipe needs more, and a deeper file is a mistake or an attack.",
    bad: r#"title = [[[[[[[[[[[[[[[[[["Toast"]]]]]]]]]]]]]]]]]]"#,
    good: r#"title = "Toast""#,
    level: Level::Text,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let help = "write the value itself, without the brackets round it";
    if let Some(place) = too_deep(checked.source.text) {
        found.add(place, "expected a key of at most 16 parts, found more", "write a key of one part");
    }
    // one fault is enough: the rest of a nest says the same
    if let Some(fault) = checked.faults.iter().find(|fault| is_one(fault)) {
        found.add(fault.place.clone(), "expected at most 16 tables or lists inside each other, found more", help);
    }
}

/// Whether the reader gave up because of depth.
pub(super) fn is_one(fault: &SyntaxFault) -> bool {
    fault.message.starts_with("cannot recurse") || fault.message.starts_with("expected at most")
}
