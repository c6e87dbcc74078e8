//! Prints how time and memory grow with steps and with resources, on made-up kitchens from a seed.

use std::io::Write;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use schedule::{Draft, Proven, Search};
use schedule_proof::{Limits, Threads, solve};

fn main() -> ExitCode {
    let mut out = std::io::stdout();
    match table(&mut out) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::from(1),
    }
}

fn table(out: &mut impl Write) -> std::io::Result<()> {
    writeln!(
        out,
        "steps  resources  build ms  first ms  evaluations/s  value 0.05 s  value 1 s  proven  seconds"
    )?;
    for (steps, resources) in [
        (10, 6),
        (25, 6),
        (50, 6),
        (75, 6),
        (100, 6),
        (150, 6),
        (200, 6),
        (100, 2),
        (100, 4),
        (100, 12),
        (100, 24),
    ] {
        let draft = kitchen(steps, resources);
        let begun = Instant::now();
        let Ok(problem) = draft.build() else {
            writeln!(out, "{steps:5}  {resources:9}  refused")?;
            continue;
        };
        let mut search = Search::new(&problem, 1);
        let built = begun.elapsed();
        search.improve(1, &mut || true);
        let first = begun.elapsed();
        let progress = search.improve(u64::MAX, &mut || {
            begun.elapsed() < Duration::from_millis(50)
        });
        let rate = progress.evaluations as f64 / begun.elapsed().as_secs_f64();
        let limits = Limits {
            evaluations: u64::MAX,
            conflicts: u64::MAX,
            threads: Threads::Two,
        };
        let begun = Instant::now();
        let go_on = || begun.elapsed() < Duration::from_secs(1);
        let answer = solve(
            Search::new(&problem, 1),
            &problem,
            1,
            &limits,
            &go_on,
            &mut |_, _| {},
        );
        let text = |value: Option<i64>| value.map_or(String::from("-"), |value| value.to_string());
        writeln!(
            out,
            "{:5}  {resources:9}  {:8.2}  {:8.2}  {rate:13.0}  {:>12}  {:>9}  {:>6}  {:7.3}",
            problem.len(),
            built.as_secs_f64() * 1e3,
            first.as_secs_f64() * 1e3,
            text(progress.value),
            text(answer.value),
            if answer.proven == Proven::Open {
                "no"
            } else {
                "yes"
            },
            begun.elapsed().as_secs_f64(),
        )?;
    }
    Ok(())
}

/// Dishes of five steps, back from serving, each step with a longest wait to the next; hands are resource zero.
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
        draft.resource(if resource == 0 {
            1 + steps as i32 / 40
        } else {
            1 + resource as i32 % 3
        });
    }
    let mut ends = Vec::new();
    for _ in 0..steps / 5 {
        let mut later: Option<(usize, i32)> = None;
        for step in 0..5 {
            let with_hands = step != 2;
            let duration = if with_hands {
                1 + chance(8)
            } else {
                20 + chance(50)
            };
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
