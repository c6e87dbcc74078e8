//! What a record lacks when its trial closes, and what is within tolerance.

use alloc::{format, string::String, vec::Vec};

use recipe_model::{Amount, Ingredient, Tolerance, Until};
use trial::EndCause;

use crate::state::TrialRun;

/// What a reader of the record must know is missing.
pub(crate) fn missing(run: &TrialRun) -> Vec<String> {
    let mut lines = Vec::new();
    for (stage, state) in run.programme.stages.iter().zip(&run.stages) {
        for (i, (plan, step)) in stage.steps.iter().zip(&state.steps).enumerate() {
            let Until::Core(core) = &plan.until else { continue };
            if !(core.protects || core.in_rest) || matches!(step.ended, Some((_, EndCause::CoreHeld))) {
                continue;
            }
            // a rest after it may have brought it there; what was surely measured there counts, if anything was
            let rests = state.steps[i + 1..].iter().map(|step| step.peak_at_least.or(step.peak));
            let ends = state.steps[i..].iter().map(|step| step.core_at_end);
            let sure = rests.clone().flatten().max();
            let seen = if core.protects && sure.is_some() { sure } else { rests.chain(ends).flatten().max() };
            match seen {
                Some(peak) if peak >= core.target => {}
                Some(peak) => lines.push(format!(
                    "{}: the core was {:.1} °C at most, its target is {:.1} °C",
                    plan.id,
                    peak.degrees(),
                    core.target.degrees()
                )),
                None => lines.push(format!(
                    "{}: no core temperature, its target is {:.1} °C",
                    plan.id,
                    core.target.degrees()
                )),
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
