use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "dish-unused",
    severity: Warning,
    title: "every dish has a stage",
    why: "A dish without a stage never lands.",
    bad: r#"[[dish]]
id = "toast"
name = "Toast""#,
    good: r#"[[dish]]
id = "toast"
name = "Toast"
[[stage]]
id = "bread"
appliance = "oven"
dish = "toast"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for id in programme.dishes.iter().filter_map(|d| d.id.as_ref()) {
        let has_stage = programme.stages.iter().any(|s| s.dish.as_ref().is_some_and(|dish| dish.value == id.value));
        if !has_stage {
            let message = format!("expected a stage of the dish `{}`, found none", id.value);
            found.add(id.place.clone(), message, format!("write dish = \"{}\" in its stages", id.value));
        }
    }
}
