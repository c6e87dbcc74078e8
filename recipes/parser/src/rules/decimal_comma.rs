use super::prelude::*;
use crate::syntax::SyntaxFault;

pub(super) const RULE: Rule = Rule {
    code: "decimal-comma",
    severity: Error,
    title: "a quantity stands in quotes, also with a decimal comma",
    why: "TOML ends the number at the comma, so the rest would be lost.",
    bad: r#"[kitchen]
ovens = 1
microwave_power = 800,5"#,
    good: r#"[kitchen]
ovens = 1
microwave_power = "800,5 W""#,
    level: Level::Text,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for fault in checked.faults.iter().filter(|fault| is_one(checked, fault)) {
        let (before, after) = around(checked, fault);
        let place = fault.place.start - before.len()..fault.place.start + 1 + after.len();
        let message = format!("expected a quantity in quotes with its unit, found `{before},{after}`");
        found.add(place, message, format!("write it like \"{before},{after} °C\""));
    }
}

/// Whether the reader stumbled over the comma of a number.
pub(super) fn is_one(checked: &Checked<'_>, fault: &SyntaxFault) -> bool {
    let (before, after) = around(checked, fault);
    let is_comma = checked.source.text.get(fault.place.start..).is_some_and(|rest| rest.starts_with(','));
    is_comma && fault.message.starts_with("unexpected key or value") && !before.is_empty() && !after.is_empty()
}

/// The digits on both sides of the fault.
fn around<'a>(checked: &Checked<'a>, fault: &SyntaxFault) -> (&'a str, &'a str) {
    let text = checked.source.text;
    let before = text.get(..fault.place.start).unwrap_or("");
    let after = text.get(fault.place.start + 1..).unwrap_or("");
    let digits = |c: char| c.is_ascii_digit();
    let before = &before[before.trim_end_matches(digits).len()..];
    (before, &after[..after.len() - after.trim_start_matches(digits).len()])
}
