use recipe_model::ApplianceKind;

use super::prelude::*;
use crate::draft::DraftSetting;

pub(super) const RULE: Rule = Rule {
    code: "two-temperatures",
    severity: Warning,
    title: "an oven has one temperature at a time",
    why: "Two stages that overlap in one oven at two settings cannot both be right.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
setting = { heat = "200 °C" }
until = { time = "12 min" }
[[stage]]
id = "tart"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the tart."
setting = { heat = "160 °C" }
until = { time = "30 min" }"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
setting = { heat = "200 °C" }
until = { time = "12 min" }
[[stage]]
id = "tart"
appliance = "oven"
begin = { after = "bread.bake" }
[[stage.step]]
id = "bake"
do = "Bake the tart."
setting = { heat = "160 °C" }
until = { time = "30 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    let mut baked = Vec::new();
    for (at, stage, step) in programme.steps() {
        let oven = stage.appliance.as_ref().map(|at| at.value).filter(|a| a.kind == ApplianceKind::Oven);
        if let (Some(oven), Some(DraftSetting::Heat { at: heat, .. }), Some(time)) =
            (oven, &step.setting, checked.plan.times.get(&at))
        {
            baked.push((oven, heat, *time, at));
        }
    }
    for (i, (oven, heat, (start, end), at)) in baked.iter().enumerate() {
        let clash = baked[..i].iter().find(|(o, h, (s, e), other)| {
            o == oven && other.stage != at.stage && h.value != heat.value && s < end && start < e
        });
        if let Some((_, other_heat, _, other)) = clash {
            let message = format!(
                "expected one temperature of `{oven}` at a time, found {} beside {} of `{}`",
                heat.value,
                other_heat.value,
                programme.name(*other)
            );
            found.add(
                heat.place.clone(),
                message,
                format!("begin it after `{}`, use another oven, or agree on one temperature", programme.name(*other)),
            );
        }
    }
}
