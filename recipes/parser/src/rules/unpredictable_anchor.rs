use super::prelude::*;
use crate::draft::{DraftEnd, Hook};

pub(super) const RULE: Rule = Rule {
    code: "unpredictable-anchor",
    severity: Warning,
    title: "a lead hangs on a step whose end can be predicted",
    why: "The end of an open step is a guess, so what starts before it starts at a guess.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { cue = "crust is brown", expect = "10-12 min", look_every = "1 min", limit = "15 min" }
[[stage]]
id = "pan"
appliance = "burner"
begin = { before = "bread.bake", lead = "2 min" }
[[stage.step]]
id = "heat"
do = "Heat the pan."
until = { time = "3 min" }"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "10-12 min", cue = "crust is brown" }
[[stage]]
id = "pan"
appliance = "burner"
begin = { before = "bread.bake", lead = "2 min" }
[[stage.step]]
id = "heat"
do = "Heat the pan."
until = { time = "3 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for (_, begin) in programme.begins().filter(|(_, begin)| begin.hook == Hook::Before) {
        let Some(on) = programme.anchor(begin) else { continue };
        let is_open = match programme.step(on).and_then(|step| step.end()) {
            Some(DraftEnd::Cue { .. } | DraftEnd::Cook { .. } | DraftEnd::Rounds { .. }) => true,
            Some(DraftEnd::Heat { probe, .. }) => probe.is_none(),
            Some(DraftEnd::Time(_) | DraftEnd::Core(_) | DraftEnd::Rest { .. }) | None => false,
        };
        if is_open {
            let message =
                format!("expected a step whose end can be predicted, found the open step `{}`", programme.name(on));
            let help = format!(
                "write begin = {{ with = \"{}\", wait = … }}, or end that step by time or core",
                begin.target.value
            );
            found.add(begin.target.place.clone(), message, help);
        }
    }
}
