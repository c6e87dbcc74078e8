//! Faults put into the development curves, and what the watch makes of them.
#![allow(clippy::unwrap_used)]

use std::{collections::BTreeMap, format, io::Write as _, string::String, vec, vec::Vec};

use super::curves::{Curve, all, celsius};
use super::*;

/// A fault that begins at one moment of a curve.
#[derive(Clone, Copy, Debug)]
enum Trace {
    Stuck,
    Step(f64),
    OvenAir { lag: f64 },
    RoomAir { lag: f64 },
    Named(NoReading),
    PowerOn,
    BadContact,
}

const TRACES: [(&str, Trace); 14] = [
    ("stuck", Trace::Stuck),
    ("step of +8", Trace::Step(8.0)),
    ("step of -8", Trace::Step(-8.0)),
    ("step of +25", Trace::Step(25.0)),
    ("oven air, lag 8 s", Trace::OvenAir { lag: 8.0 }),
    ("oven air, lag 30 s", Trace::OvenAir { lag: 30.0 }),
    ("oven air, lag 80 s", Trace::OvenAir { lag: 80.0 }),
    ("room air, lag 8 s", Trace::RoomAir { lag: 8.0 }),
    ("room air, lag 30 s", Trace::RoomAir { lag: 30.0 }),
    ("room air, lag 80 s", Trace::RoomAir { lag: 80.0 }),
    ("open", Trace::Named(NoReading::Open)),
    ("short", Trace::Named(NoReading::ShortToGround)),
    ("power-on value", Trace::PowerOn),
    ("bad contact", Trace::BadContact),
];

fn secs(s: usize) -> RunTime {
    RunTime::from_millis(s as u64 * 1000)
}

fn watch(curve: &Curve) -> ProbeWatch {
    let place = if curve.family.starts_with("mw") { Place::MICROWAVE } else { Place::WET_FOOD };
    ProbeWatch::new(Sensor { power_on: Some(Celsius::whole(85)), ..Sensor::KITCHEN }, place, RunTime::START)
}

/// The curve without its noise: the mean of 21 readings.
fn smooth(curve: &Curve, at: usize) -> f64 {
    let from = at.saturating_sub(10);
    let window = &curve.readings[from..(at + 11).min(curve.readings.len())];
    window.iter().map(|c| c.degrees()).sum::<f64>() / window.len() as f64
}

/// The reading at a moment with the fault begun at `from`; the noise of the curve stays on it.
fn with_fault(curve: &Curve, trace: Trace, from: usize, at: usize) -> Reading {
    let clean = curve.readings[at];
    if at < from {
        return Ok(clean);
    }
    let noise = clean.degrees() - smooth(curve, at);
    let relax = |to: f64, lag: f64| {
        let start = smooth(curve, from);
        let value = to + (start - to) * libm::exp(-((at - from) as f64) / lag) + noise;
        Ok(celsius(libm::round(value / curve.quantum) * curve.quantum))
    };
    match trace {
        Trace::Stuck => Ok(curve.readings[from]),
        Trace::Step(by) => Ok(celsius(clean.degrees() + by)),
        Trace::OvenAir { lag } => relax(curve.air.unwrap(), lag),
        Trace::RoomAir { lag } => relax(22.0, lag),
        Trace::Named(why) => Err(why),
        Trace::PowerOn => Ok(celsius(85.0)),
        Trace::BadContact => Ok(celsius(clean.degrees() + if at.is_multiple_of(3) { -14.0 } else { 0.5 })),
    }
}

fn moments(curve: &Curve) -> Vec<usize> {
    [0.1, 0.3, 0.5, 0.7, 0.9].map(|share| (share * curve.pulled as f64) as usize).into_iter().collect()
}

fn applies(curve: &Curve, trace: Trace) -> bool {
    match trace {
        Trace::OvenAir { .. } => curve.air.is_some(),
        Trace::Stuck
        | Trace::Step(_)
        | Trace::RoomAir { .. }
        | Trace::Named(_)
        | Trace::PowerOn
        | Trace::BadContact => true,
    }
}

/// The watch looks back a minute and a half at most: it need not see all that came before a fault.
fn start(from: usize) -> usize {
    from.saturating_sub(150)
}

fn print(text: &str) {
    writeln!(std::io::stdout(), "{text}").unwrap();
}

fn median(of: &mut [u64]) -> u64 {
    of.sort_unstable();
    of.get(of.len() / 2).copied().unwrap_or(0)
}

// curves.txt, all 60, 200,025 readings: fed to the end, the rest after the pull included
#[test]
fn clean_curves_raise_no_fault() {
    let (mut readings, mut bad, mut doubtful, mut curves_with_fault) = (0, 0, 0, Vec::new());
    let mut kinds = BTreeMap::<String, usize>::new();
    for curve in all() {
        let mut watch = watch(&curve);
        let before = bad;
        for (s, core) in curve.readings.iter().enumerate() {
            if s == curve.pulled {
                watch.heated_by(Place::RESTING, secs(s));
            }
            let judged = watch.judge(Ok(*core), secs(s));
            readings += 1;
            match judged.quality {
                Quality::Good => (),
                Quality::Doubtful(doubt) => {
                    doubtful += 1;
                    let name = format!("{doubt:?}");
                    *kinds.entry(name.split('(').next().unwrap().into()).or_default() += 1;
                }
                Quality::Bad(fault) => {
                    if bad == before {
                        curves_with_fault.push(format!("{} {} {s} s {fault:?}", curve.id, curve.family));
                    }
                    bad += 1;
                }
            }
        }
    }
    print(&format!(
        "clean: {readings} readings, bad {bad}, doubtful {doubtful} {kinds:?}, curves with a fault {curves_with_fault:?}"
    ));
    assert_eq!(readings, 200_025);
    assert_eq!(bad, 0, "{curves_with_fault:?}");
    assert!(doubtful - kinds["Settling"] <= readings / 2000, "{doubtful}");
}

// the figures to reach are those of the project's fault study: in oven air 100 % within 2 s (median), in room air 85 %
#[test]
fn faults_put_into_curves_are_found() {
    let curves = all();
    let (mut traces, mut failed) = (0, vec![]);
    for (name, trace) in TRACES {
        let (mut tried, mut found, mut delays, mut missed) = (0, 0, vec![], vec![]);
        for curve in curves.iter().filter(|c| applies(c, trace)) {
            for from in moments(curve) {
                tried += 1;
                let mut watch = watch(curve);
                let until = (from + 90).min(curve.readings.len());
                let hit = (start(from)..until).find(|s| {
                    let judged = watch.judge(with_fault(curve, trace, from, *s), secs(*s));
                    *s >= from && matches!(judged.quality, Quality::Bad(_))
                });
                match hit {
                    Some(at) => {
                        found += 1;
                        delays.push((at - from) as u64);
                    }
                    None => missed.push(smooth(curve, from)),
                }
            }
        }
        traces += tried;
        let share = 100.0 * f64::from(found) / f64::from(tried);
        missed.sort_by(f64::total_cmp);
        let (low, high) = (missed.first().copied().unwrap_or(0.0), missed.last().copied().unwrap_or(0.0));
        delays.sort_unstable();
        let p90 = delays.get(delays.len() * 9 / 10).copied().unwrap_or(0);
        print(&format!(
            "{name:20} {found:3} of {tried:3} ({share:5.1} %), delay median {} s, p90 {p90} s; missed at {low:.1} to {high:.1} °C",
            median(&mut delays)
        ));
        let (least, slowest) = match trace {
            Trace::Stuck => (100.0, 61),
            Trace::Step(_) | Trace::Named(_) | Trace::PowerOn => (100.0, 0),
            Trace::BadContact => (100.0, 2),
            Trace::OvenAir { .. } => (100.0, 2),
            // what is missed was within 15 °C of the room when it was pulled out
            Trace::RoomAir { lag } => (if lag < 10.0 { 85.0 } else { 50.0 }, 12),
        };
        if matches!(trace, Trace::RoomAir { .. }) && high > 37.0 {
            failed.push(name);
        }
        if !(share >= least && median(&mut delays) <= slowest) {
            failed.push(name);
        }
    }
    assert!(traces >= 40, "{traces}");
    assert!(failed.is_empty(), "{failed:?}");
}

/// The mean of the readings of the last 10 s that count for a target, begun anew after every fault.
#[derive(Default)]
struct Mean(Vec<(usize, f64)>);

impl Mean {
    fn take(&mut self, judged: &Judged, at: usize) -> Option<f64> {
        if let Some(from) = judged.suspect_from {
            self.0.retain(|(s, _)| secs(*s) < from);
        }
        match (judged.for_target(), judged.quality) {
            (Some(core), _) => self.0.push((at, core.degrees())),
            (None, Quality::Bad(_)) => self.0.clear(),
            (None, Quality::Good | Quality::Doubtful(_)) => (),
        }
        self.0.retain(|(s, _)| at - s < 10);
        (self.0.len() >= 8).then(|| self.0.iter().map(|(_, core)| core).sum::<f64>() / self.0.len() as f64)
    }
}

// every fault at moments up to five degrees below the target, held for six minutes, on every sixth curve to the end: the mean of 10 s of good readings
// never reaches the target while the food at the tip is more than half a degree below it
#[test]
fn a_fault_never_reaches_a_target() {
    let mut traces = 0;
    let mut reached_later = 0;
    for (i, curve) in all().into_iter().enumerate() {
        let to_the_end = i.is_multiple_of(6);
        let moments: &[f64] = if to_the_end { &[0.02, 0.2, 0.5, 0.8, 0.98, 1.0] } else { &[0.1, 0.6, 1.0] };
        for (name, trace) in TRACES.into_iter().filter(|(_, trace)| applies(&curve, *trace)) {
            for share in moments {
                // a probe that is off from the very start cannot be told from one in other food
                let from = ((share * curve.at_5_below) as usize).max(10);
                let (mut watch, mut mean) = (watch(&curve), Mean::default());
                traces += 1;
                let until = if to_the_end { curve.pulled } else { curve.pulled.min(from + 360) };
                for s in start(from)..until {
                    let judged = watch.judge(with_fault(&curve, trace, from, s), secs(s));
                    if mean.take(&judged, s).is_some_and(|mean| mean >= curve.target) {
                        reached_later += 1;
                        let truth = smooth(&curve, s) - curve.offset;
                        assert!(
                            truth >= curve.target - 0.5,
                            "{} {name} from {from} s: reached at {s} s with the tip at {truth:.2} of {}",
                            curve.id,
                            curve.target
                        );
                        break;
                    }
                }
            }
        }
    }
    print(&format!("{traces} fault traces, none reached a target early; {reached_later} reached it later, in truth"));
    assert!(traces >= 2500);
}

// the same rule on the clean curves: without it the tests of faults would pass for a watch that believes nothing
#[test]
fn clean_curves_reach_their_targets() {
    let mut late = vec![];
    for curve in all() {
        let (mut watch, mut mean) = (watch(&curve), Mean::default());
        let reached = (0..curve.readings.len()).find(|s| {
            if *s == curve.pulled {
                watch.heated_by(Place::RESTING, secs(*s));
            }
            let judged = watch.judge(Ok(curve.readings[*s]), secs(*s));
            mean.take(&judged, *s).is_some_and(|mean| mean >= curve.target)
        });
        let reached = reached.unwrap_or_else(|| panic!("{} {} never", curve.id, curve.family));
        late.push(reached as f64 - curve.at_target);
    }
    late.sort_by(f64::total_cmp);
    print(&format!(
        "clean targets: 60 reached, s after truth p10 {:.0}, median {:.0}, p90 {:.0}",
        late[6], late[30], late[54]
    ));
    assert!(late[30].abs() < 40.0, "{late:?}");
}

// pulled out into hot or room air within the last five degrees, where a second of belief would be enough
#[test]
fn pulled_out_just_below_the_target_never_reaches_it() {
    let mut traces = 0;
    for curve in all() {
        for lag in [4.0, 8.0, 30.0, 80.0] {
            let Some(trace) = curve.air.map(|_| Trace::OvenAir { lag }) else { continue };
            for share in [0.2, 0.4, 0.6, 0.8, 0.9] {
                let from = (curve.at_5_below + share * (curve.at_target - curve.at_5_below)) as usize;
                let (mut watch, mut mean) = (watch(&curve), Mean::default());
                traces += 1;
                for s in start(from)..curve.pulled {
                    let judged = watch.judge(with_fault(&curve, trace, from, s), secs(s));
                    if mean.take(&judged, s).is_some_and(|mean| mean >= curve.target) {
                        let truth = smooth(&curve, s) - curve.offset;
                        assert!(truth >= curve.target - 0.5, "{} lag {lag} from {from}: {s} s, {truth:.2}", curve.id);
                        break;
                    }
                }
            }
        }
    }
    assert_eq!(traces, 800);
}

#[test]
fn a_single_wild_reading_is_passed_over_and_the_next_is_good() {
    for curve in all() {
        for by in [-30.0, -12.0, 12.0, 40.0] {
            let mut watch = watch(&curve);
            let at = curve.pulled / 2;
            for s in 0..at + 3 {
                let clean = curve.readings[s];
                let reading = if s == at { celsius(clean.degrees() + by) } else { clean };
                let judged = watch.judge(Ok(reading), secs(s));
                if s == at {
                    assert!(matches!(judged.quality, Quality::Bad(_)), "{} {judged:?}", curve.id);
                }
                if s > at {
                    assert_eq!(judged.quality, Quality::Good, "{} {s} {judged:?}", curve.id);
                }
            }
        }
    }
}

#[test]
fn a_probe_that_is_put_back_is_believed_again() {
    let mut waits = vec![];
    for curve in all() {
        let (from, back) = (curve.pulled / 2, curve.pulled / 2 + 40);
        let mut watch = watch(&curve);
        let mut wait = None;
        for s in 0..(back + 120).min(curve.pulled) {
            let trace = Trace::RoomAir { lag: 8.0 };
            let reading = if s < back {
                with_fault(&curve, trace, from, s)
            } else {
                let out = with_fault(&curve, trace, from, back).unwrap();
                let left = libm::exp(-((s - back) as f64) / 5.0);
                let clean = curve.readings[s].degrees();
                Ok(celsius(libm::round((clean + (out.degrees() - clean) * left) / curve.quantum) * curve.quantum))
            };
            let judged = watch.judge(reading, secs(s));
            if s >= back && judged.quality == Quality::Good {
                wait.get_or_insert((s - back) as u64);
            }
        }
        if curve.pulled > back + 120 {
            waits.push(wait.unwrap_or_else(|| panic!("{} {} never came back", curve.id, curve.family)));
        }
    }
    let n = waits.len();
    print(&format!("put back: {n} curves, believed again after {} s (median)", median(&mut waits)));
    assert!(n >= 40 && median(&mut waits) <= 30);
}

#[test]
fn hot_air_is_never_taken_for_food_however_long_it_lasts() {
    for curve in all().iter().filter(|c| c.air.is_some()) {
        let mut watch = watch(curve);
        let from = curve.pulled / 3;
        for s in 0..curve.pulled {
            let judged = watch.judge(with_fault(curve, Trace::OvenAir { lag: 30.0 }, from, s), secs(s));
            if s > from + 20 {
                assert!(judged.for_target().is_none(), "{} {s} {judged:?}", curve.id);
            }
        }
    }
}

#[test]
fn a_true_85_is_believed_and_a_power_on_85_is_not() {
    let mut watch = ProbeWatch::new(Sensor::ONE_WIRE, Place::WET_FOOD, RunTime::START);
    for s in 0..600usize {
        // a quiet rise through 85.0000 in sixteenths
        let sixteenths = libm::round((80.0 + s as f64 * 0.02) * 16.0);
        let judged = watch.judge(Ok(celsius(sixteenths / 16.0)), secs(s));
        if s > 10 {
            assert_eq!(judged.quality, Quality::Good, "{s}");
        }
    }
    let mut fresh = ProbeWatch::new(Sensor::ONE_WIRE, Place::WET_FOOD, RunTime::START);
    for s in 0..5 {
        let judged = fresh.judge(Ok(celsius(85.0)), secs(s));
        assert_eq!(judged.quality, Quality::Bad(Fault::Named(NoReading::PowerOnValue)));
        assert_eq!(judged.value, None);
    }
}

#[test]
fn a_quiet_probe_in_cold_food_is_doubtful_but_not_stuck() {
    let mut watch = ProbeWatch::new(Sensor::ONE_WIRE, Place::WET_FOOD, RunTime::START);
    for s in 0..900 {
        let judged = watch.judge(Ok(celsius(4.0625)), secs(s));
        assert!(!matches!(judged.quality, Quality::Bad(_)), "{s}");
        assert_eq!(matches!(judged.quality, Quality::Doubtful(Doubt::NeverMoved(_))), s >= 60, "{s}");
    }
    assert!(watch.latest(secs(899)).unwrap().for_estimate().is_some());
}

#[test]
fn a_reading_grows_old() {
    let mut watch = ProbeWatch::new(Sensor::KITCHEN, Place::WET_FOOD, RunTime::START);
    assert_eq!(watch.latest(secs(3)), None);
    for s in 0..30 {
        watch.judge(Ok(celsius(20.0 + s as f64 * 0.05)), secs(s));
    }
    assert_eq!(watch.latest(secs(32)).unwrap().quality, Quality::Good);
    assert_eq!(watch.latest(secs(36)).unwrap().quality, Quality::Doubtful(Doubt::Old(Span::from_secs(7))));
    let silent = watch.latest(secs(45)).unwrap();
    assert_eq!(silent.quality, Quality::Bad(Fault::Silent(Span::from_secs(16))));
    assert_eq!(silent.for_target(), None);
}

#[test]
fn the_air_of_an_oven_may_move_as_it_likes() {
    let mut watch = ProbeWatch::new(Sensor::KITCHEN, Place::Air, RunTime::START);
    for (s, t) in [20.0, 90.0, 180.0, 140.0, 140.0].into_iter().enumerate() {
        assert_eq!(watch.judge(Ok(celsius(t)), secs(s)).quality, Quality::Good);
    }
    assert!(matches!(watch.judge(Ok(celsius(700.0)), secs(9)).quality, Quality::Bad(_)));
}

#[test]
fn a_moved_probe_settles_anew() {
    let curve = &all()[0];
    let mut watch = watch(curve);
    for s in 0..500 {
        watch.judge(Ok(curve.readings[s]), secs(s));
    }
    watch.moved(secs(500));
    let judged = watch.judge(Ok(celsius(60.0)), secs(500));
    assert_eq!(judged.quality, Quality::Doubtful(Doubt::Settling));
    let judged: Vec<_> = (501..512).map(|s| watch.judge(Ok(celsius(60.0)), secs(s)).quality).collect();
    assert_eq!(judged.last(), Some(&Quality::Good), "{judged:?}");
}

// sampled every 0.75 s as by a one-wire bus, and every 3 s: the same verdicts
#[test]
fn other_intervals_raise_no_fault_and_find_hot_air() {
    for (every, slowest) in [(750u64, 5_000u64), (2_000, 10_000), (3_000, 12_000)] {
        for curve in all().iter().filter(|c| c.air.is_some()) {
            let from = curve.pulled / 2;
            let mut watch = watch(curve);
            let mut found = None;
            for i in 0.. {
                let ms = i * every;
                let s = (ms / 1000) as usize;
                if s >= from + 60 {
                    break;
                }
                let trace = Trace::OvenAir { lag: 80.0 };
                let judged = watch.judge(with_fault(curve, trace, from, s), RunTime::from_millis(ms));
                if matches!(judged.quality, Quality::Bad(_)) {
                    assert!(s >= from, "{} every {every} ms: {s} s {judged:?}", curve.id);
                    found.get_or_insert(ms - from as u64 * 1000);
                }
            }
            let found = found.unwrap_or_else(|| panic!("{} every {every} ms: not found", curve.id));
            assert!(found <= slowest, "{} every {every} ms: {found} ms", curve.id);
        }
    }
}

#[test]
fn a_watch_is_small() {
    assert!(size_of::<ProbeWatch>() <= 4096, "{}", size_of::<ProbeWatch>());
}
