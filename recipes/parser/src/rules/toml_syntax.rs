use super::prelude::*;
use crate::syntax::SyntaxFault;

pub(super) const RULE: Rule = Rule {
    code: "toml-syntax",
    severity: Error,
    title: "the file is TOML",
    why: "What cannot be read cannot be checked.",
    bad: r#"title = "Toast"#,
    good: r#"title = "Toast""#,
    level: Level::Text,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for fault in checked.faults {
        if !super::decimal_comma::is_one(checked, fault) && !fault.is_duplicate && !super::too_deep::is_one(fault) {
            let (message, help) = explained(checked, fault);
            // a line end of two signs is stumbled over twice
            let line = checked.source.line_and_column(fault.place.start).0;
            if found.list.last().is_none_or(|last| last.line != line || last.message != message) {
                found.add(fault.place.clone(), message, help);
            }
        }
    }
}

/// Whether a header is not closed, so that the keys after it cannot be told from those of the table before.
pub(super) fn is_header_fault(fault: &SyntaxFault) -> bool {
    fault.message.starts_with("unclosed table") || fault.message.starts_with("unclosed array table")
}

/// The fault in a cook's words; what is not known here is said as the TOML reader says it.
fn explained(checked: &Checked<'_>, fault: &SyntaxFault) -> (String, String) {
    let text = checked.source.excerpt(&fault.place);
    let message = fault.message.as_str();
    let says = |start: &str| message.starts_with(start);
    let is_word = text.starts_with(|c: char| c.is_alphanumeric());
    if says("string values must be quoted") && text.is_empty() {
        (
            "expected a value after `=`, found none".into(),
            "write the value, in quotes if it is a text or a quantity".into(),
        )
    } else if says("string values must be quoted") || says("invalid") && is_word && !says("invalid unquoted key") {
        let bare = text.trim_matches(['“', '”', '„', '’', '‘', '`', '\'', ';', ',']);
        (format!("expected a text in straight quotes, found `{text}`"), format!("write \"{bare}\""))
    } else if says("invalid basic string") || says("invalid literal string") || says("invalid multi-line") {
        (
            "expected the closing quote of this text, found the end of the line".into(),
            "write a straight quote at the end of the text".into(),
        )
    } else if says("unexpected key or value") {
        (
            "expected the end of the line after the value, found more".into(),
            "write one key and one value a line, and the whole value in quotes".into(),
        )
    } else if says("key with no value") {
        ("expected `=` and a value after the key, found none".into(), "write it like id = \"loin\"".into())
    } else if says("invalid unquoted key") && text == ":" {
        ("expected `=` between the key and its value, found `:`".into(), "write it like id = \"loin\"".into())
    } else if says("invalid unquoted key") && text.chars().all(char::is_control) {
        ("expected a key, found a sign that cannot be shown".into(), "write it like id = \"loin\"".into())
    } else if says("invalid unquoted key") {
        (
            format!("expected a key of letters, digits, `-` and `_`, found `{text}`"),
            "write it like id = \"loin\"".into(),
        )
    } else if is_header_fault(fault) {
        (
            "expected `]` at the end of the header, found the end of the line".into(),
            "write [[stage]] with as many closing brackets as opening ones".into(),
        )
    } else if says("unclosed inline table") {
        (
            "expected `}` that closes this table, found none before the next key".into(),
            "write `}` at the end of the table".into(),
        )
    } else if says("unclosed array") {
        (
            "expected `]` that closes this list, found none before the next key".into(),
            "write `]` at the end of the list".into(),
        )
    } else if says("missing comma") {
        ("expected a comma between two values, found none".into(), "write a comma, or close the bracket before".into())
    } else if says("missing escaped value") {
        ("expected a letter that has a meaning after `\\`, found another".into(), "write \\\\ for a backslash".into())
    } else {
        (format!("expected TOML, found something else: {message}"), "write it like key = \"value\"".into())
    }
}
