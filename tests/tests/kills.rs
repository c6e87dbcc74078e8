//! The station is killed at any moment, again and again, and starts again.
//!
//! `TALLYHOB_KILLS` says how often (200), `TALLYHOB_KILL_SEED` with which chance.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{
    collections::BTreeMap,
    path::Path,
    time::{Duration, Instant},
};

use hardware::{
    ProbeId,
    fake_w1::{FakeW1, Shown},
};
use quantities::{Celsius, RunTime, Span};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use recipe_model::{Recipe, Until};
use station_tests::{
    data,
    facts::{entries_of, is_closed, journal_of, running, trials},
    station::{Said, Station, output_of},
};
use tallyhob::run::tell;
use trial::{Dark, Fact, Stamped, TrialId};

/// So many stations are killed side by side, each with a folder of its own.
const STATIONS: usize = 4;
/// The longest that a station lives.
const LIFE_MS: u64 = 1_400;
/// How often a key is pressed.
const PRESS_EVERY: Duration = Duration::from_millis(110);
/// The longest that a station stays dark.
const DARK_MS: u64 = 150;
/// The run's clock may fall behind the boot clock by this much with each restart, and by this much once: a fact is
/// written a little after its moment, and that little is lost if the power goes just then. A dark time that is not
/// counted adds up to more.
const BEHIND_EACH_RESTART: Span = Span::from_millis(40);
const BEHIND_ONCE: Span = Span::from_millis(250);

/// What one station went through.
#[derive(Debug, Default)]
struct Tally {
    kills: usize,
    /// Kills that came while a step was running.
    in_a_step: usize,
    /// Kills before the station had said anything.
    silent: usize,
    /// Presses whose outcome was told.
    acknowledged: usize,
    restarts: usize,
    closed: usize,
    /// From the start of the program to its first word about the trial, in milliseconds.
    back_ms: Vec<u128>,
    /// How far the run's clock fell behind, for each restart.
    behind_ms: Vec<f64>,
}

#[test]
fn what_was_told_survives_a_kill_at_any_moment() {
    let count = |name: &str, usual: u64| std::env::var(name).ok().map_or(usual, |text| text.parse().unwrap());
    let kills = usize::try_from(count("TALLYHOB_KILLS", 200)).unwrap();
    let seed = count("TALLYHOB_KILL_SEED", 20_261_125);
    let recipe = {
        let path = data("four-lanes.toml");
        recipe_parser::parse("four-lanes", &std::fs::read_to_string(path).unwrap()).recipe.unwrap()
    };
    let tallies: Vec<Tally> = std::thread::scope(|scope| {
        let each = kills.div_ceil(STATIONS);
        let stations: Vec<_> = (0..STATIONS as u64)
            .map(|n| {
                let recipe = &recipe;
                scope.spawn(move || killed_again_and_again(recipe, seed + n, each))
            })
            .collect();
        stations.into_iter().map(|station| station.join().unwrap()).collect()
    });
    let sum = |of: fn(&Tally) -> usize| tallies.iter().map(of).sum::<usize>();
    let all = sum(|tally| tally.kills);
    let in_a_step = sum(|tally| tally.in_a_step);
    let mut back: Vec<u128> = tallies.iter().flat_map(|tally| tally.back_ms.clone()).collect();
    back.sort_unstable();
    let behind = tallies.iter().flat_map(|tally| tally.behind_ms.clone()).fold(0.0, f64::max);
    let middle = back.get(back.len() / 2).copied().unwrap_or_default();
    let told = format!(
        "{all} kills with seed {seed}: {in_a_step} in a running step, {} before a word, {} restarts, {} acknowledged presses kept, {} trials closed; back after {middle} ms in the middle and {} ms at most; clock behind by {behind:.1} ms a restart at most",
        sum(|tally| tally.silent),
        sum(|tally| tally.restarts),
        sum(|tally| tally.acknowledged),
        sum(|tally| tally.closed),
        back.last().copied().unwrap_or_default(),
    );
    {
        use std::io::Write;
        writeln!(std::io::stderr(), "{told}").unwrap();
    }
    assert!(all >= kills, "{told}");
    assert!(in_a_step * 10 >= all * 7, "most kills have to hit a running step: {told}");
    assert!(sum(|tally| tally.acknowledged) >= all / 4, "{told}");
    assert!(sum(|tally| tally.restarts) * 2 >= all, "{told}");
}

fn killed_again_and_again(recipe: &Recipe, seed: u64, kills: usize) -> Tally {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    let shown = Shown::Temperature(Celsius::whole(60));
    FakeW1::new(&home.join("w1")).show(&ProbeId::new("28-0316a2795c02").unwrap(), &shown).unwrap();
    let mut tally = Tally::default();
    let mut known: BTreeMap<TrialId, Vec<Stamped>> = BTreeMap::new();
    while tally.kills < kills {
        let name = format!("seed {seed}, kill {}", tally.kills + 1);
        let open = known.iter().find(|(_, facts)| !facts.is_empty() && !is_closed(&entries_of(facts)));
        let open = open.map(|(trial, _)| trial.clone());
        std::thread::sleep(Duration::from_millis(rng.random_range(0..DARK_MS)));
        let said = live(home, open.is_none(), &mut rng, &mut tally);
        assert_eq!(said.status.code(), None, "{name}: it ended by itself: {}", said.errors());
        tally.kills += 1;
        for line in &said.lines {
            let bad = line.text.contains("panicked") || line.text.contains("ERROR");
            assert!(!bad, "{name}: {}", said.errors());
        }
        let mut new_trials = 0;
        let mut any_running = false;
        for trial in trials(home) {
            let file = journal_of(home, &trial);
            assert!(file.is_sound(), "{name}: {trial} lost something: {:?}", file.lost);
            let facts = file.facts().unwrap();
            let before = known.get(&trial).map_or(&[][..], Vec::as_slice);
            assert_eq!(facts.get(..before.len()), Some(before), "{name}: what was on record of {trial} has changed");
            let lives = open.as_ref().is_none_or(|open| *open == trial) && (open.is_some() || before.is_empty());
            if lives {
                new_trials += 1;
                let taken_up = open.is_some();
                whole(&name, &facts);
                told_is_on_record(&name, &said, &facts, before.len(), &mut tally);
                if taken_up && facts.len() > before.len() {
                    let first = &facts[before.len()];
                    assert!(matches!(first.entry.fact, Fact::PowerOff { .. }), "{name}: first came {first:?}");
                    tally.restarts += 1;
                }
                on_time(&name, recipe, &facts);
                right_clock(&name, &facts, &mut tally);
                any_running = !is_closed(&entries_of(&facts)) && !running(&entries_of(&facts)).is_empty();
                tally.closed += usize::from(is_closed(&entries_of(&facts)));
            } else {
                assert_eq!(facts.len(), before.len(), "{name}: {trial} is not open, and grew");
            }
            known.insert(trial, facts);
        }
        assert!(new_trials <= 1, "{name}: {new_trials} trials at once");
        tally.in_a_step += usize::from(any_running);
    }
    finished(home, &known);
    tally
}

/// One life of the station: keys are pressed until it is killed at a moment nobody chose.
fn live(home: &Path, new: bool, rng: &mut ChaCha8Rng, tally: &mut Tally) -> Said {
    let folder = |name: &str| home.join(name).to_str().unwrap().to_owned();
    let recipe = data("four-lanes.toml").to_str().unwrap().to_owned();
    let (w1, hwmon) = (folder("w1"), folder("hwmon"));
    let mut args: Vec<&str> = if new { vec!["cook", &recipe, "--plain"] } else { vec!["serve"] };
    args.extend(["--real", "--keys", "-", "--w1-root", &w1, "--hwmon-root", &hwmon]);
    let mut station = Station::start(home, args);
    let end = station.started() + Duration::from_millis(rng.random_range(5..LIFE_MS));
    loop {
        let left = end.saturating_duration_since(Instant::now());
        if left.is_zero() {
            break;
        }
        std::thread::sleep(left.min(PRESS_EVERY));
        // the pedal answers what is asked first; a lane key now and then opens a lane or ends its step early
        let key = match rng.random_range(0..8) {
            0 => ["1", "2", "3", "4"][rng.random_range(0..4)],
            _ => "p",
        };
        station.press(key);
    }
    let started = station.started();
    let said = station.kill();
    match said.lines.iter().find(|line| is_told(&line.text)) {
        Some(first) => tally.back_ms.push(first.at.duration_since(started).as_millis()),
        None => tally.silent += 1,
    }
    said
}

/// A line about a fact begins with the time of the trial.
fn is_told(line: &str) -> bool {
    let time = line.trim_start().split("  ").next().unwrap_or_default();
    !time.is_empty() && time.contains(':') && time.bytes().all(|byte| byte.is_ascii_digit() || byte == b':')
}

/// Numbers without a gap, time that never goes back, no step begun or ended twice.
fn whole(name: &str, facts: &[Stamped]) {
    for (expected, stamped) in (0..).zip(facts) {
        assert_eq!(stamped.entry.seq, expected, "{name}");
    }
    for pair in facts.windows(2) {
        assert!(pair[0].entry.at <= pair[1].entry.at, "{name}: time went back: {pair:?}");
    }
    let mut times: BTreeMap<(&str, bool), usize> = BTreeMap::new();
    for stamped in facts {
        if let Fact::StepBegan { step, .. } = &stamped.entry.fact {
            *times.entry((step.as_str(), true)).or_default() += 1;
        }
        if let Fact::StepEnded { step, .. } = &stamped.entry.fact {
            *times.entry((step.as_str(), false)).or_default() += 1;
            assert!(times.contains_key(&(step.as_str(), true)), "{name}: {step} ended before it began");
        }
    }
    for ((step, began), count) in times {
        assert_eq!(count, 1, "{name}: {step} {} more than once", if began { "began" } else { "ended" });
    }
}

/// The lines of a life are those of its facts from the first on: nothing was told that is not on record, and nothing
/// was told out of order.
fn told_is_on_record(name: &str, said: &Said, facts: &[Stamped], before: usize, tally: &mut Tally) {
    let opened = facts.first().map_or(RunTime::START, |first| first.entry.at);
    let new = &facts[before..];
    let on_record: Vec<(String, bool)> = new
        .iter()
        .filter_map(|stamped| Some((tell::line(&stamped.entry, opened)?, stamped.entry.action.is_some())))
        .collect();
    let told: Vec<&str> = said.lines.iter().map(|line| line.text.as_str()).filter(|line| is_told(line)).collect();
    for (i, line) in told.iter().enumerate() {
        let kept = on_record.get(i).map(|(line, _)| line.as_str());
        assert_eq!(kept, Some(*line), "{name}: line {i} was told, the record has the left one in its place");
    }
    tally.acknowledged += on_record[..told.len()].iter().filter(|(_, pressed)| *pressed).count();
}

/// A step is due at its begin and its planned time, or at the moment the power came back if that was later.
fn on_time(name: &str, recipe: &Recipe, facts: &[Stamped]) {
    let lights: Vec<RunTime> = facts
        .iter()
        .filter(|stamped| matches!(stamped.entry.fact, Fact::PowerOff { .. }))
        .map(|stamped| stamped.entry.at)
        .collect();
    for (_, _, plan) in recipe.base.steps() {
        // a turn at half-time moves the end; the other times are fixed
        let Until::Time { expect, looks: None } = &plan.until else { continue };
        if plan.inside.half.is_some() {
            continue;
        }
        let at = |wanted: &dyn Fn(&Fact) -> bool| {
            facts.iter().find(|stamped| wanted(&stamped.entry.fact)).map(|stamped| stamped.entry.at)
        };
        let began = at(&|fact| matches!(fact, Fact::StepBegan { step, .. } if *step == plan.id));
        let due = at(&|fact| matches!(fact, Fact::StepDue { step } if *step == plan.id));
        let ended = at(&|fact| matches!(fact, Fact::StepEnded { step, .. } if *step == plan.id));
        let Some(began) = began else { continue };
        let planned = began + expect.high();
        match due {
            Some(due) => {
                let back = lights.iter().copied().find(|light| *light >= planned);
                let right = due == planned || Some(due) == back;
                assert!(
                    right,
                    "{name}: {} due at {due:?}, expected {planned:?} or the power back at {back:?}",
                    plan.id
                );
            }
            None => {
                let last = facts.last().map_or(planned, |last| last.entry.at);
                let over = ended.unwrap_or(last);
                assert!(over <= planned, "{name}: {} was never due, and went on to {over:?}", plan.id);
            }
        }
    }
}

/// The clock of the run goes on with the boot clock across all restarts.
fn right_clock(name: &str, facts: &[Stamped], tally: &mut Tally) {
    let offset = |stamped: &Stamped| stamped.stamp.boot_ms as f64 - stamped.entry.at.millis() as f64;
    // an entry is written a little after its moment: the smallest difference of the first life is that of the clocks
    let first_life = facts.iter().take_while(|stamped| !matches!(stamped.entry.fact, Fact::PowerOff { .. }));
    let Some(first) = first_life.map(offset).reduce(f64::min) else { return };
    let mut restarts = 0u32;
    for pair in facts.windows(2) {
        let Fact::PowerOff { dark } = &pair[1].entry.fact else { continue };
        restarts += 1;
        let Dark::Known(dark) = dark else { panic!("{name}: within one boot the dark time is known, found {dark:?}") };
        let by_boot = pair[1].stamp.boot_ms.saturating_sub(pair[0].stamp.boot_ms);
        // the last entry of a journal may be a sign of life, which is no fact
        assert!(dark.millis() <= by_boot + 1, "{name}: dark for {dark:?}, {by_boot} ms by the boot clock");
        let behind = offset(&pair[1]) - first;
        let most = (BEHIND_ONCE + BEHIND_EACH_RESTART * u64::from(restarts)).millis() as f64;
        assert!(
            (-1.0..=most).contains(&behind),
            "{name}: after {restarts} restarts the clock is behind by {behind} ms"
        );
        tally.behind_ms.push(behind / f64::from(restarts));
    }
}

/// What is left goes out whole, and the index knows it.
fn finished(home: &Path, known: &BTreeMap<TrialId, Vec<Stamped>>) {
    output_of(home, ["rebuild"]);
    let listed = output_of(home, ["trials", "--json"]);
    for (trial, facts) in known.iter().filter(|(_, facts)| !facts.is_empty()) {
        let export = output_of(home, ["export", trial.as_str()]);
        let import = journal::export::Import::read(&export).unwrap();
        assert_eq!(import.facts(), facts.len(), "{trial}");
        assert!(listed.contains(trial.as_str()), "{trial} is not in the index: {listed}");
    }
}
