use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "two-controls",
    severity: Error,
    title: "one variant at most is the control",
    why: "Every variant is compared with one control.",
    bad: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
control = true
change = [{ at = "bread.bake.until.time", to = "15 min" }]
[[variant]]
id = "shorter"
title = "Shorter"
factor = "time"
control = true
change = [{ at = "bread.bake.until.time", to = "9 min" }]"#,
    good: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
control = true
change = [{ at = "bread.bake.until.time", to = "15 min" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let controls = checked.draft.variants.iter().filter_map(|v| v.control.as_ref()).filter(|at| at.value);
    for second in controls.skip(1) {
        found.add(
            second.place.clone(),
            "expected one control, found another",
            "leave control = true at one variant; without any, the base is the control",
        );
    }
}
