use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "duplicate-key",
    severity: Error,
    title: "a key stands once in its table",
    why: "Which of two values was meant cannot be told.",
    bad: r#"title = "Toast"
title = "Toast, dark""#,
    good: r#"title = "Toast, dark""#,
    level: Level::Text,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for fault in checked.faults.iter().filter(|fault| fault.is_duplicate) {
        let key = checked.source.excerpt(&fault.place);
        let help = match key.as_str() {
            "stage" | "step" | "ingredient" | "dish" | "landing" | "variant" => {
                format!("write [[{key}]] in double brackets for each of them")
            }
            _ => format!("leave one `{key}`"),
        };
        found.add(fault.place.clone(), format!("expected `{key}` once, found it again"), help);
    }
}
