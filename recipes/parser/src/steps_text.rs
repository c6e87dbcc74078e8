use core::fmt::Write;

use quantities::Span;
use recipe_model::{Anchor, Begin, Edge, Looks, Programme, Step, Until};

/// A programme as a list of its steps, one a line, for golden files and for showing what a variant changes. The same
/// programme always gives the same bytes.
pub fn steps_text(programme: &Programme) -> String {
    let mut out = String::new();
    for ingredient in &programme.ingredients {
        let amount = match &ingredient.amount {
            recipe_model::Amount::Mass(mass) => mass.to_string(),
            recipe_model::Amount::Volume(volume) => volume.to_string(),
            recipe_model::Amount::Count(count, word) => format!("{count} {word}"),
        };
        let _ = writeln!(out, "+ {}: {amount} {}", ingredient.id, ingredient.name);
    }
    for stage in &programme.stages {
        let begin = begins(programme, &stage.begin);
        let _ = writeln!(out, "{} ({}){begin}", stage.id, stage.appliance);
        for step in &stage.steps {
            let _ = writeln!(out, "  {}: {}{}", step.id, until(step), begins(programme, &step.begin));
        }
    }
    out
}

fn until(step: &Step) -> String {
    match &step.until {
        Until::Time { expect, looks } => format!("{expect}{}", looks.as_ref().map_or(String::new(), look)),
        Until::Core(core) => {
            let points = if core.points > 1 { format!(" in {} places", core.points) } else { String::new() };
            let rest = if core.in_rest { ", in the rest if it will come there" } else { "" };
            format!("core {} for {}{points}{rest}, usually {}", core.target, core.hold, core.expect)
        }
        Until::Cue { expect, looks } => format!("usually {expect}{}", look(looks)),
        Until::Cook { expect } => format!("cook {expect}"),
        Until::Heat { at, expect, .. } => format!("heat to {at}, usually {expect}"),
        Until::Rest { planned, least, .. } => format!("rest {planned}, at least {least}"),
        Until::Rounds { count, each, cue } => format!("{}-{} rounds of {each} until {cue}", count.low(), count.high()),
    }
}

fn look(looks: &Looks) -> String {
    let window = looks.window;
    format!(" until {}, look at {} every {} to {}", looks.cue, window.first, window.every, window.no_later)
}

fn begins(programme: &Programme, begins: &[Begin]) -> String {
    let name = |at| programme.step(at).map_or("?", |step| step.id.as_str());
    let mut out = String::new();
    for begin in begins {
        let _ = match &begin.anchor {
            Anchor::Step { step, edge: Edge::End, wait } => write!(out, ", {}after {}", pause(*wait), name(*step)),
            Anchor::Step { step, edge: Edge::Start, wait } => write!(out, ", {}with {}", pause(*wait), name(*step)),
            Anchor::Event { event, wait } => write!(out, ", {}after {event}", pause(*wait)),
            Anchor::BeforeEnd { step, lead } => write!(out, ", {lead} before the end of {}", name(*step)),
        };
        if let Some(within) = begin.within {
            let _ = write!(out, " within {within}");
        }
    }
    out
}

fn pause(wait: Span) -> String {
    if wait.is_zero() { String::new() } else { format!("{wait} ") }
}
