//! A cook with a real clock: readings come out of files, presses out of a pipe.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{
    path::Path,
    sync::atomic::{AtomicBool, Ordering},
    time::{Duration, Instant},
};

use hardware::{
    ProbeId,
    fake_w1::{FakeW1, Shown},
};
use quantities::{Celsius, NoReading, RunTime, Span};
use station_tests::{
    data,
    facts::{began, ended, entries_of, facts_in, first},
    reference::{Counts, Holding, Row, SETTLING, Target, holding, rows},
    station::{Station, output_of},
};
use trial::{AlertKind, DoneTime, EndCause, Entry, Fact};

const PROBE: &str = "28-0316a2795c01";
/// How often the made-up sensor is brought up to date; the station reads it each second.
const SENSOR_EVERY: Duration = Duration::from_millis(100);

/// Seconds and degrees, straight in between.
type Curve = [(f64, f64)];

fn celsius(curve: &Curve, at: Duration) -> Celsius {
    let at = at.as_secs_f64();
    let pair = curve.windows(2).find(|pair| at < pair[1].0).unwrap_or_else(|| panic!("the curve ends before {at} s"));
    let ((from, low), (to, high)) = (pair[0], pair[1]);
    Celsius::from_degrees(low + (high - low) * (at - from) / (to - from)).unwrap()
}

/// Shows a curve in real time until told to stop; between two moments the sensor is unplugged.
fn play(root: &Path, began: Instant, curve: &Curve, unplugged: Option<(f64, f64)>, stop: &AtomicBool) {
    let (tree, probe) = (FakeW1::new(root), ProbeId::new(PROBE).unwrap());
    while !stop.load(Ordering::Relaxed) {
        let at = began.elapsed();
        let shown = match unplugged {
            Some((from, to)) if (from..to).contains(&at.as_secs_f64()) => Shown::Missing,
            Some(_) | None => Shown::Temperature(celsius(curve, at)),
        };
        tree.show(&probe, &shown).unwrap();
        std::thread::sleep(SENSOR_EVERY);
    }
}

/// Lets the sensor be there before the station looks for it.
fn plug_in(root: &Path, curve: &Curve) {
    let shown = Shown::Temperature(celsius(curve, Duration::ZERO));
    FakeW1::new(root).show(&ProbeId::new(PROBE).unwrap(), &shown).unwrap();
}

fn real(home: &Path, recipe: &str) -> Station {
    let folder = |name: &str| home.join(name).to_str().unwrap().to_owned();
    let recipe = data(recipe).to_str().unwrap().to_owned();
    let (w1, hwmon) = (folder("w1"), folder("hwmon"));
    let args = ["cook", &recipe, "--real", "--plain", "--keys", "-", "--w1-root", &w1, "--hwmon-root", &hwmon];
    Station::start(home, args)
}

fn ms(entry: &Entry) -> i64 {
    i64::try_from(entry.at.millis()).unwrap()
}

fn crossings(entries: &[Entry]) -> Vec<i64> {
    entries.iter().filter(|entry| matches!(entry.fact, Fact::TargetCrossed { .. })).map(ms).collect()
}

#[test]
fn a_loaf_is_done_with_the_reading_that_fills_its_hold_and_not_one_sooner() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    // a tenth of a degree a second, as fast as a small piece heats; at its target after 30 s
    let curve = [(0.0, 91.0), (60.0, 97.0), (200.0, 101.0)];
    let stop = AtomicBool::new(false);
    let began_at = Instant::now();
    plug_in(&home.join("w1"), &curve);
    let (start, begins, ends, said) = std::thread::scope(|scope| {
        scope.spawn(|| play(&home.join("w1"), began_at, &curve, None, &stop));
        let mut station = real(home, "held-loaf.toml");
        let start = station.wait_for("Loaf for the clock (base)", Duration::from_secs(20));
        let begins = station.press_until("1", "begins  loaf.bake", Duration::from_secs(5));
        let ends = station.wait_for("ends    loaf.bake", Duration::from_secs(40));
        // the loaf is taken out; with that the trial is over
        station.press_until("1", "all done", Duration::from_secs(20));
        let said = station.end(Duration::from_secs(20));
        stop.store(true, Ordering::Relaxed);
        (start, begins, ends, said)
    });
    assert!(said.ended_with(0), "{}\n{}", said.errors(), said.out);

    let entries = entries_of(&facts_in(&output_of(home, ["export"])));
    let table = output_of(home, ["export", "--format", "csv", "--readings"]);
    let readings = rows(&table, "core");
    let begin = began(&entries, "loaf.bake").unwrap();
    let target = Target { celsius: 940_000, hold_ms: 4_000, hysteresis: 5_000, counts: Counts::Line };
    let counted: Vec<Row> = readings.iter().copied().filter(|row| row.at_ms > ms(begin)).skip(SETTLING).collect();
    let Holding { crossed, held } = holding(&counted, ms(begin), target);
    assert_eq!(crossed.len(), 1, "{readings:?}");
    assert_eq!(crossings(&entries), crossed);
    let end = ended(&entries, "loaf.bake").unwrap();
    assert_eq!(Some(ms(end)), held, "the reading that fills the hold: {readings:?}");
    let Fact::StepEnded { cause, ran, done, core_celsius, .. } = &end.fact else { unreachable!("it was looked for") };
    assert_eq!(*cause, EndCause::CoreHeld);
    assert_eq!(*done, DoneTime::Exact { at: RunTime::from_millis(u64::try_from(crossed[0]).unwrap()) });
    assert_eq!(*ran, end.at.since(begin.at));
    let last = readings.iter().find(|row| Some(row.at_ms) == held).unwrap();
    assert_eq!(core_celsius.map(|core| i64::from(core.ten_thousandths())), last.celsius);
    // no reading is missing and none is made up: one a second
    let gaps = readings.windows(2).map(|pair| pair[1].at_ms - pair[0].at_ms);
    assert!(gaps.clone().all(|gap| (900..2_500).contains(&gap)), "{:?}", gaps.collect::<Vec<_>>());

    // what the table of steps says is what the clock of this test saw
    let mut steps =
        csv::Reader::from_reader(output_of(home, ["export", "--format", "csv"]).into_bytes().leak() as &[u8]);
    let heads = steps.headers().unwrap().clone();
    let row = steps.records().next().unwrap().unwrap();
    let cell = |name: &str| &row[heads.iter().position(|head| head == name).unwrap()];
    let cell_ms = |name: &str| (cell(name).parse::<f64>().unwrap() * 1000.0).round() as i64;
    assert_eq!((cell("step"), cell("cause")), ("loaf.bake", "core_held"));
    assert_eq!((cell_ms("began_s"), cell_ms("ended_s")), (ms(begin), ms(end)));
    assert_eq!(cell_ms("ran_s"), ms(end) - ms(begin));
    for (line, entry) in [(begins, begin), (ends, end)] {
        let seen = i64::try_from(line.at.duration_since(start.at).as_millis()).unwrap();
        assert!((seen - ms(entry)).abs() < 1_000, "seen at {seen} ms, on record at {} ms", ms(entry));
    }
}

#[test]
fn an_unplugged_probe_never_ends_a_step_and_counts_again_when_it_is_back() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    let curve = [(0.0, 57.0), (25.0, 61.5), (200.0, 86.0)];
    let (out_s, back_s) = (12.0, 23.0);
    let stop = AtomicBool::new(false);
    let began_at = Instant::now();
    plug_in(&home.join("w1"), &curve);
    let (start, lost, back, ends) = std::thread::scope(|scope| {
        scope.spawn(|| play(&home.join("w1"), began_at, &curve, Some((out_s, back_s)), &stop));
        let mut station = real(home, "pulled-probe.toml");
        let start = station.wait_for("Pork for the pulled probe (base)", Duration::from_secs(20));
        station.press_until("1", "begins  pork.roast", Duration::from_secs(5));
        let lost = station.wait_for("PROBE LOST core in pork.roast: unplugged", Duration::from_secs(30));
        let back = station.wait_for("probe   core in pork.roast is back", Duration::from_secs(30));
        let ends = station.wait_for("ends    pork.roast", Duration::from_secs(60));
        // the rest takes three minutes: the station is told to stop, and the record stays open
        let said = station.terminate(Duration::from_secs(20));
        stop.store(true, Ordering::Relaxed);
        assert!(said.ended_with(1), "{}\n{}", said.errors(), said.out);
        (start, lost, back, ends)
    });
    assert!(lost.at < back.at && back.at < ends.at, "the step went on while the probe was out");

    let entries = entries_of(&facts_in(&output_of(home, ["export"])));
    let readings = rows(&output_of(home, ["export", "--format", "csv", "--readings"]), "core");
    let begin = began(&entries, "pork.roast").unwrap();
    let end = ended(&entries, "pork.roast").unwrap();
    let lost = first(&entries, |fact| matches!(fact, Fact::ProbeLost { .. })).unwrap();
    let back = first(&entries, |fact| matches!(fact, Fact::ProbeBack { .. })).unwrap();
    let out: Vec<&Row> = readings.iter().filter(|row| row.celsius.is_none()).collect();
    assert!((9..=13).contains(&out.len()), "the table shows the seconds without a probe: {readings:?}");
    assert!(lost.at < back.at && back.at < end.at);
    // a probe that names its fault is waited for two seconds
    let waited = ms(lost) - out[0].at_ms;
    assert!((2_000..3_500).contains(&waited), "lost {waited} ms after the first bad reading");
    let Fact::ProbeLost { why, last_celsius, .. } = &lost.fact else { unreachable!("it was looked for") };
    assert_eq!(*why, NoReading::Unplugged);
    let last_good = readings.iter().rfind(|row| row.celsius.is_some() && row.at_ms < out[0].at_ms).unwrap();
    assert_eq!(last_celsius.map(|core| i64::from(core.ten_thousandths())), last_good.celsius);
    let alerts = |wanted: AlertKind| {
        first(&entries, |fact| matches!(fact, Fact::AlertRaised { kind, .. } if *kind == wanted)).unwrap().at
    };
    assert_eq!(alerts(AlertKind::ProbeLost), lost.at);
    assert_eq!(alerts(AlertKind::WasLost), back.at);

    // nothing that ends a step came while it was out, though the food went through its target
    let while_out = entries.iter().filter(|entry| entry.at > lost.at && entry.at < back.at);
    for entry in while_out {
        let ends = matches!(entry.fact, Fact::StepEnded { .. } | Fact::TargetCrossed { .. } | Fact::StepDue { .. });
        assert!(!ends, "{entry:?}");
    }
    // from there the target counts as the mean of ten seconds, less two standard deviations of a probe that nobody checked:
    // half of 0.5 °C, and a tenth for a year's drift
    let target = Target { celsius: 630_000, hold_ms: 5_000, hysteresis: 5_000, counts: Counts::MeanLess(5_386) };
    let since_back: Vec<Row> = readings.iter().copied().filter(|row| row.at_ms > out[out.len() - 1].at_ms).collect();
    let steady = ms(back) - since_back[0].at_ms;
    assert!((5_000..7_000).contains(&steady), "believed after {steady} ms");
    let told: Vec<Row> = since_back.iter().copied().filter(|row| row.at_ms > ms(back)).collect();
    let held = holding(&told, ms(back), target);
    assert_eq!(crossings(&entries), held.crossed, "{readings:?}");
    assert_eq!(Some(ms(end)), held.held, "{readings:?}");
    let Fact::StepEnded { cause, ran, .. } = &end.fact else { unreachable!("it was looked for") };
    assert_eq!((*cause, *ran), (EndCause::CoreHeld, end.at.since(begin.at)));
    assert!(*ran >= Span::from_secs(25), "{ran:?}");
    let seen = i64::try_from(ends.at.duration_since(start.at).as_millis()).unwrap();
    assert!((seen - ms(end)).abs() < 1_000, "seen at {seen} ms, on record at {} ms", ms(end));
}
