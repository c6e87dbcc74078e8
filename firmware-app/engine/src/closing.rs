//! What a record lacks when its trial closes, and what is within tolerance.

use alloc::{format, string::String, vec::Vec};

use recipe_model::{Amount, Ingredient, StepRef, Tolerance, Until};
use trial::EndCause;

use crate::state::{StepRun, TrialRun};

/// What a reader of the record must know is missing.
pub(crate) fn missing(run: &TrialRun) -> Vec<String> {
    let mut lines = Vec::new();
    for (at, _, plan) in run.programme.steps() {
        let Until::Core(core) = &plan.until else { continue };
        let step = step_at(run, at);
        if !(core.protects || core.in_rest) || matches!(step.ended, Some((_, EndCause::CoreHeld))) {
            continue;
        }
        // a rest after it may have brought it there; what was surely measured there counts, if anything was
        let rests = run.programme.steps().map(|(rest, ..)| rest);
        let rests = rests.filter(|rest| run.programme.rested_from(*rest) == Some(at)).map(|rest| step_at(run, rest));
        let rests: Vec<&StepRun> = rests.collect();
        let rested = rests.iter().filter_map(|rest| rest.peak_at_least.or(rest.peak)).max();
        let ends = rests.iter().chain([&step]).filter_map(|step| step.core_at_end).max();
        let seen = if core.protects && rested.is_some() { rested } else { rested.max(ends) };
        match seen {
            Some(peak) if peak >= core.target => {}
            Some(peak) => lines.push(format!(
                "{}: the core was {:.1} °C at most, its target is {:.1} °C",
                plan.id,
                peak.degrees(),
                core.target.degrees()
            )),
            None => {
                lines.push(format!("{}: no core temperature, its target is {:.1} °C", plan.id, core.target.degrees()))
            }
        }
    }
    let unweighed: Vec<&str> = run
        .programme
        .ingredients
        .iter()
        .filter(|ingredient| {
            matches!(ingredient.amount, Amount::Mass(_)) && !run.common.weighed.contains(&ingredient.id)
        })
        .map(|ingredient| ingredient.id.as_str())
        .collect();
    if !unweighed.is_empty() {
        lines.push(format!("not weighed: {}", unweighed.join(", ")));
    }
    lines
}

fn step_at(run: &TrialRun, at: StepRef) -> &StepRun {
    &run.stages[usize::from(at.stage)].steps[usize::from(at.step)]
}

/// Whether an amount, in thousandths of grams, millilitres or pieces, is within tolerance.
pub(crate) fn within(ingredient: &Ingredient, thousandths: u64) -> bool {
    // grams and millilitres are kept in millionths
    let wanted = match &ingredient.amount {
        Amount::Mass(mass) => mass.smallest() / 1000,
        Amount::Volume(volume) => volume.smallest() / 1000,
        Amount::Count(count, _) => u64::from(*count) * 1000,
    };
    let room = match ingredient.tolerance {
        Tolerance::Thousandths(share) => wanted.saturating_mul(u64::from(share)) / 1000,
        Tolerance::Mass(mass) => mass.smallest() / 1000,
    };
    wanted.abs_diff(thousandths) <= room
}
