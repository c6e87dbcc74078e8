//! How the planner's time and values grow with steps and with resources, on made-up kitchens of one seed.

use std::{
    io::Write,
    time::{Duration, Instant},
};

use schedule::{Draft, Proven, Search};
use schedule_proof::{Limits, Threads, solve};

use crate::{Failure, Outcome};

/// Steps and resources of each line.
const SIZES: [(usize, usize); 13] = [
    (10, 6),
    (25, 6),
    (50, 6),
    (75, 6),
    (100, 6),
    (125, 6),
    (150, 6),
    (175, 6),
    (200, 6),
    (100, 2),
    (100, 4),
    (100, 12),
    (100, 24),
];

/// How long to look.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// Time for each line
    #[arg(long, default_value_t = 1.0)]
    seconds: f64,
    /// Threads: 1 or 2
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=2))]
    threads: u8,
}

/// Solves a kitchen of each size and writes a line on it.
pub(crate) fn table(args: &Args, out: &mut dyn Write) -> Result<Outcome, Failure> {
    writeln!(
        out,
        "steps  resources  build ms  first plan ms  within 1 % ms   first   value   bound  above bound %  proven  seconds"
    )?;
    let time = Duration::from_secs_f64(args.seconds.max(0.0));
    let threads = if args.threads < 2 { Threads::One } else { Threads::Two };
    let limits = Limits { evaluations: u64::MAX, conflicts: u64::MAX, threads };
    for (steps, resources) in SIZES {
        let begun = Instant::now();
        let problem = kitchen(steps, resources)
            .build()
            .map_err(|why| Failure::Unusable(format!("expected a kitchen of {steps} steps, found: {why}")))?;
        let built = begun.elapsed();
        let begun = Instant::now();
        let mut better: Vec<(Duration, i64)> = Vec::new();
        let go_on = || begun.elapsed() < time;
        let search = Search::new(&problem, 1);
        let answer = solve(search, &problem, 1, &limits, &go_on, &mut |_, value| better.push((begun.elapsed(), value)));
        let seconds = begun.elapsed().as_secs_f64();
        let ms = |at: Option<&(Duration, i64)>| at.map_or("-".into(), |at| format!("{:.2}", at.0.as_secs_f64() * 1e3));
        let value = answer.value.unwrap_or(i64::MAX);
        let near = better.iter().find(|at| at.1 as f64 <= 1.01 * value as f64);
        let above = 100.0 * (value - answer.bound) as f64 / answer.bound.max(1) as f64;
        writeln!(
            out,
            "{steps:5}  {resources:9}  {:8.2}  {:>13}  {:>13}  {:>6}  {:>6}  {:6}  {above:13.1}  {:>6}  {seconds:7.3}",
            built.as_secs_f64() * 1e3,
            ms(better.first()),
            ms(near),
            better.first().map_or("-".into(), |at| at.1.to_string()),
            answer.value.map_or("-".into(), |value| value.to_string()),
            answer.bound,
            if answer.proven == Proven::Open { "no" } else { "yes" },
        )?;
    }
    Ok(Outcome::Met)
}

/// Dishes of five steps, back from serving, each step with a longest wait to the next; hands are resource zero.
///
/// The last activity is the beginning of the cook and no step.
fn kitchen(steps: usize, resources: usize) -> Draft {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut chance = move |count: i32| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % count as u64) as i32
    };
    let mut draft = Draft::new();
    for resource in 0..resources {
        draft.resource(if resource == 0 { 1 + steps as i32 / 40 } else { 1 + resource as i32 % 3 });
    }
    let mut ends = Vec::new();
    for _ in 0..steps / 5 {
        let mut later: Option<(usize, i32)> = None;
        for step in 0..5 {
            let with_hands = step != 2;
            let duration = if with_hands { 1 + chance(8) } else { 20 + chance(50) };
            let activity = draft.activity(duration);
            match with_hands || resources < 2 {
                true => draft.needs(activity, 0, 1),
                false => draft.needs(activity, 1 + chance(resources as i32 - 1) as usize, 1),
            }
            match later {
                None => draft.weigh(activity, 5),
                Some((before, lasts)) => {
                    draft.lag(before, activity, lasts);
                    draft.lag(activity, before, -lasts - 5 - chance(20));
                }
            }
            later = Some((activity, duration));
        }
        ends.extend(later);
    }
    let begin = draft.activity(0);
    for (end, lasts) in ends {
        draft.lag(end, begin, lasts);
    }
    draft.weigh(begin, 1);
    draft
}
