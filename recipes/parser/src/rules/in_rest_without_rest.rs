use super::prelude::*;
use super::rest_too_short::asked;
use crate::draft::{DraftEnd, DraftStep};

pub(super) const RULE: Rule = Rule {
    code: "in-rest-without-rest",
    severity: Error,
    title: "a target that is left to the rest has that rest next, with the same probe",
    why: "The food is called before it is there: only the rest can measure whether it came there.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
until = { core = "63 °C", in_rest = true, probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
until = { core = "63 °C", in_rest = true, probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", probe = "core" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for (at, stage, step) in programme.steps() {
        let Some(core) = step.core().filter(|core| core.is_left_to_rest()) else { continue };
        let (Some(in_rest), Some(probe)) = (&core.in_rest, &core.probe) else { continue };
        let probe = &probe.value;
        let next = stage.steps.get(usize::from(at.step) + 1);
        let own_name = step.id.as_ref().map_or("?", |id| id.value.as_str());
        let next_name = next.and_then(|next| next.id.as_ref()).map_or("?", |id| id.value.as_str());
        let stage = stage.id.as_ref().map_or("", |id| id.value.as_str());
        let add = || {
            let least = asked(step).map_or(String::new(), |asked| format!(", least = \"{asked}\""));
            format!(
                "add a step to `{stage}` right after `{own_name}` with until = {{ rest = \"10 min\"{least}, probe = \"{probe}\" }}, or leave in_rest out"
            )
        };
        let (seen, help) = match next.map(rest_of) {
            None => ("no step after it in its stage".to_owned(), add()),
            Some(None) => (format!("`{stage}.{next_name}`, which is no rest"), add()),
            Some(Some(Some(measured))) if measured == probe => continue,
            Some(Some(Some(other))) => (
                format!("`{stage}.{next_name}` with the probe `{other}`"),
                format!("write probe = \"{probe}\" in `{stage}.{next_name}`, or leave in_rest out"),
            ),
            Some(Some(None)) => (
                format!("`{stage}.{next_name}` without a probe"),
                format!("write probe = \"{probe}\" in `{stage}.{next_name}`, or leave in_rest out"),
            ),
        };
        let name = programme.name(at);
        let message = format!("expected a rest with the probe `{probe}` right after `{name}`, found {seen}");
        found.add(in_rest.place.clone(), message, help);
    }
}

/// The probe of a rest, if the step is one and if it has one.
fn rest_of(step: &DraftStep) -> Option<Option<&String>> {
    match step.end()? {
        DraftEnd::Rest { probe, .. } => Some(probe.as_ref().map(|at| &at.value)),
        DraftEnd::Time(_)
        | DraftEnd::Core(_)
        | DraftEnd::Cue { .. }
        | DraftEnd::Cook { .. }
        | DraftEnd::Heat { .. }
        | DraftEnd::Rounds { .. } => None,
    }
}
