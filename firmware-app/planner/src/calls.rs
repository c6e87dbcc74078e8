//! What calls the cook's hands in the middle of something else.

use alloc::{format, string::String, vec::Vec};

use quantities::{RunTime, Span};
use recipe_model::{Hands, Step, Until};

use crate::{
    load::ShortCall,
    plan::Plan,
    project::Standing,
    recipes::{Planning, Source, Wish},
};

/// How long the hands are away, common practice, no source: a turn of what is in the oven or pan, food that goes in or
/// comes out, a look, a stir.
const TURN: Span = Span::from_secs(60);
const CARRY: Span = Span::from_secs(30);
const LOOK: Span = Span::from_secs(20);
const STIR: Span = Span::from_secs(10);

impl Planning {
    /// The short calls of the steps that otherwise get on by themselves: food in and out, looks, turns, rhythms, by the
    /// expected times of a plan. What has begun has no start any more.
    pub fn short_calls(&self, wishes: &[Wish<'_>], plan: &Plan) -> Vec<ShortCall> {
        let mut calls = Vec::new();
        for (activity, source) in self.sources.iter().enumerate() {
            let (Source::Step { wish, step: at }, Some(planned)) = (source, plan.activities.get(activity)) else {
                continue;
            };
            let Some(step) = wishes.get(*wish).and_then(|wish| wish.programme.step(*at)) else { continue };
            let standing = self.project.activities[activity].standing;
            if matches!(standing, Standing::Ended { .. }) {
                continue;
            }
            let name = &self.project.activities[activity].name;
            let mut call = |at: RunTime, text: String, lasts: Span| {
                if at >= self.project.now {
                    calls.push(ShortCall { at, activity, text, lasts });
                }
            };
            let heats = self.appliances[activity].kind.heats();
            let alone = step.hands == Hands::Free && !matches!(step.until, Until::Heat { .. });
            // what goes on in the same pan is neither put in nor taken out; the end of the step before is the call
            let steps = &wishes[*wish].programme.stages[usize::from(at.stage)].steps;
            let (first, next) = (at.step == 0, steps.get(usize::from(at.step) + 1));
            if heats && alone && first && standing == Standing::Open {
                call(planned.start, format!("{name}: in"), CARRY);
            }
            inside(step, planned.start, planned.end, &mut call, name);
            let there_anyway = next.is_some_and(|next| next.hands == Hands::Busy && next.begin.is_empty());
            if heats && alone && !there_anyway {
                call(planned.end, format!("{name}: {}", lower(&step.then)), CARRY);
            }
        }
        calls.sort_by_key(|call| (call.at, call.activity));
        // what comes out makes room for what goes in: one after the other
        for next in 1..calls.len() {
            let (before, after) = (&calls[next - 1], &calls[next]);
            if before.at == after.at && before.lasts == CARRY && after.lasts == CARRY {
                calls[next].at = calls[next].at + CARRY;
            }
        }
        calls
    }
}

fn inside(step: &Step, start: RunTime, end: RunTime, call: &mut dyn FnMut(RunTime, String, Span), name: &str) {
    let takes = end.since(start);
    if let Some(half) = &step.inside.half {
        call(start + takes / 2, format!("{name}: {}", lower(&half.text)), TURN);
    }
    for timed in &step.inside.timed {
        if timed.at < takes {
            call(start + timed.at, format!("{name}: {}", lower(&timed.text)), TURN);
        }
    }
    for rhythm in &step.inside.rhythms {
        let every = rhythm.every.max(Span::from_secs(1));
        let mut at = every;
        while at < takes {
            call(start + at, format!("{name}: {}", lower(&rhythm.text)), STIR.min(every));
            at += every;
        }
    }
    if let Some(looks) = step.until.looks() {
        let mut at = looks.window.first;
        while at < takes {
            call(start + at, format!("{name}: look"), LOOK);
            at += looks.window.every.max(Span::from_secs(1));
        }
    }
    if let Until::Rounds { each, .. } = &step.until {
        let mut at = *each;
        while at < takes && !each.is_zero() {
            call(start + at, format!("{name}: look"), LOOK);
            at += *each;
        }
    }
}

/// As a sentence goes on: the verb of a recipe stands in capitals.
fn lower(text: &str) -> String {
    let is_verb = |word: &str| word.chars().all(|letter| !letter.is_lowercase());
    let words: Vec<String> =
        text.split(' ').map(|word| if is_verb(word) { word.to_lowercase() } else { word.into() }).collect();
    words.join(" ")
}
