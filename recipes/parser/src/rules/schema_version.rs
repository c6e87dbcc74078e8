use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "schema-version",
    severity: Error,
    title: "the file is of a version that this program reads",
    why: "A newer file may say things that an older program would pass over.",
    bad: r#"schema = 2"#,
    good: r#"schema = 1"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    if let Some(schema) = checked.draft.schema.as_ref().filter(|schema| schema.value != 1) {
        let help = if schema.value > 1 {
            "use a newer program for this file, or write schema = 1"
        } else {
            "write schema = 1"
        };
        found.add(
            schema.place.clone(),
            format!("expected version 1 of the recipe format, found {}", schema.value),
            help,
        );
    }
}
