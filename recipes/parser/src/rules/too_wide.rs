use face::Limit;

use super::prelude::*;
use crate::{
    build::{is_taken_away, usual_then},
    draft::{At, DraftSetting},
    syntax::Place,
};

pub(super) const RULE: Rule = Rule {
    code: "too-wide",
    severity: Error,
    title: "every word fits its place on the panel",
    why: "No text is cut at the stove; a word that does not fit is refused here.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
lane = "Left oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
lane = "Left"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for stage in &checked.programme().stages {
        if let Some(lane) = &stage.lane {
            fit(found, Limit::LaneName, &lane.value, &lane.place, "lane name");
        }
        let (Some(label), Some(appliance)) = (stage.label(), &stage.appliance) else { continue };
        for step in &stage.steps {
            let (then, place) = match &step.then {
                Some(then) => (then.value.as_str(), &then.place),
                None => (usual_then(appliance.value.kind, is_taken_away(step, stage)), &label.place),
            };
            let call = format!("{then} {}", label.value);
            fit(found, Limit::BandLabelLate, &call, place, "call at the end");
            fit(found, Limit::AlertPair, &call, place, "call at the end");
            if let Some(name) = &step.name {
                fit(found, Limit::BandLabel, &name.value, &name.place, "step name");
            }
            if let Some(DraftSetting::Level(level)) = &step.setting {
                fit(found, Limit::Setting, &level.value, &level.place, "setting");
            }
            if let Some(cue) = step.end().and_then(|end| end.cue()) {
                fit(found, Limit::Question, &cue.value, &cue.place, "cue");
            }
            let inside = step
                .every
                .iter()
                .map(|r| &r.text)
                .chain(step.timed.iter().map(|t| &t.text))
                .chain(step.branches.iter().map(|b| &b.text));
            let inside: Vec<&At<String>> = inside.flatten().chain(&step.half).collect();
            for text in inside {
                fit(found, Limit::BandLabel, &text.value, &text.place, "call inside the step");
            }
            for see in step.marks.iter().filter_map(|mark| mark.see.as_ref()) {
                fit(found, Limit::Question, &see.value, &see.place, "event");
            }
        }
    }
}

fn fit(found: &mut Findings<'_>, limit: Limit, text: &str, place: &Place, what: &str) {
    let Err(wide) = face::fits(limit, text) else { return };
    let lines = if limit.place().lines > 1 { " a line, two lines" } else { "" };
    let message = format!(
        "expected a {what} of at most {} px{lines} on the panel, found `{text}` with {} px",
        wide.room, wide.width
    );
    // a pair of complaints about one text says nothing more than one
    if found.list.last().is_none_or(|last| last.span != *place) {
        found.add(place.clone(), message, "write a shorter word");
    }
}
