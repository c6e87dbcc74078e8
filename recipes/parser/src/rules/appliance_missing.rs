use super::prelude::*;
use crate::syntax::Value;

pub(super) const RULE: Rule = Rule {
    code: "appliance-missing",
    severity: Error,
    title: "the kitchen has every appliance that a stage uses",
    why: "A second oven that no kitchen table asks for will not be there.",
    bad: r#"[kitchen]
burners = 1"#,
    good: r#"[kitchen]
ovens = 1"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let kitchen = &checked.draft.kitchen;
    let written = checked.root.get("kitchen").and_then(|node| node.as_table());
    for appliance in checked.programme().stages.iter().filter_map(|stage| stage.appliance.as_ref()) {
        let kind = appliance.value.kind;
        let key = format!("{}s", kind.word());
        // a number that cannot be read has its own complaint
        if kitchen.count(kind) == Some(0)
            && written
                .is_some_and(|table| table.get(&key).is_some_and(|node| !matches!(node.value, Value::Whole(Some(0)))))
        {
            continue;
        }
        let Some(count) = kitchen.count(kind).filter(|count| appliance.value.number > *count) else { continue };
        let message =
            format!("expected an appliance that the kitchen has, found `{}` where `{key}` is {count}", appliance.value);
        found.add(
            appliance.place.clone(),
            message,
            format!("write {key} = {} in the table [kitchen]", appliance.value.number),
        );
    }
}
