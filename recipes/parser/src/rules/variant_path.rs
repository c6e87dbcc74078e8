use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "variant-path",
    severity: Error,
    title: "a variant changes what the base has",
    why: "A change that points at nothing would be cooked as the base and compared as a variant.",
    bad: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
change = [{ at = "bread.bakke.until.time", to = "15 min" }]"#,
    good: r#"[[variant]]
id = "longer"
title = "Longer"
factor = "time"
change = [{ at = "bread.bake.until.time", to = "15 min" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (resolved, _) in checked.variants {
        for fault in &resolved.faults {
            found.add(fault.place.clone(), fault.message.clone(), fault.help.clone());
        }
    }
}
