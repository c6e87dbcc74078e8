#![allow(clippy::unwrap_used)]
use journal::{Kind, RealDisk, Writer, read_trial, readings::Block};
use lethality::BEEF_7_LOG;
use quantities::{CelsiusStep, Reading};
use recipe_model::VariantId;
use thermometry::{Bath, Calibration};
use trial::{DoneTime, EndCause, Stamp, Stamped, TrialId, TrialInfo};

use super::*;

/// One core step in an oven, then a rest with the probe in.
const RECIPE: &str = r#"schema = 1
id = "joint"
title = "Joint"
yield = "2 portions"
hazards = ["raw-red-meat"]

[kitchen]
ovens = 1
cooks = 1
probes = 1

[[ingredient]]
id = "joint"
name = "Joint"
amount = "900 g"
tolerance = "5 g"

[[stage]]
id = "joint"
name = "joint"
appliance = "oven"

[[stage.step]]
id = "roast"
name = "roast"
do = "Middle shelf."
setting = { heat = "120 °C" }
until = { core = "74 °C", probe = "core", hold = "15 min", expect = "50-70 min", else = { time = "55-75 min", cue = "Firm?", first_look = "55 min", look_every = "5 min", no_later_than = "85 min" } }
food = "FOOD"
uses = ["joint"]
cautions = ["raw-meat", "raw-egg", "raw-fish", "hot-handle"]

[[stage]]
id = "rest"
name = "joint"
appliance = "bench"
begin = { after = "joint.roast", within = "2 min" }

[[stage.step]]
id = "rest"
name = "rest"
do = "Probe left in."
until = { rest = "12 min", least = "3 min", probe = "core" }
"#;

fn celsius(degrees: f64) -> Celsius {
    Celsius::from_degrees(degrees).unwrap()
}

fn at(secs: u64) -> RunTime {
    RunTime::from_millis(secs * 1000)
}

/// A probe as it was noted.
fn probe(calibration: Option<Calibration>) -> Equipment {
    Equipment {
        name: "probe core".into(),
        device: Some("28-1".into()),
        calibration,
        calibration_age: calibration.map(|_| Span::ZERO),
        ..Equipment::default()
    }
}

/// What is said of a trial whose roast ran from 0 to `roast` seconds and its rest from there to the last reading.
fn heated(food: &str, noted: Equipment, roast: u64, moved: &[u64], readings: &[Reading]) -> Heating {
    let home = tempfile::tempdir().unwrap();
    let trial = TrialId::new("20261125-100000-joint").unwrap();
    let raw = match FoodClass::from_word(food).unwrap() {
        FoodClass::RedMeatWhole | FoodClass::MincedMeat => "raw-red-meat",
        FoodClass::PorkWhole => "raw-pork",
        FoodClass::Poultry => "raw-poultry",
        FoodClass::Fish => "raw-fish",
        FoodClass::EggDish => "raw-egg",
        FoodClass::Casserole | FoodClass::HamReheat | FoodClass::NoMinimum => "celery",
    };
    let text = RECIPE.replace("FOOD", food).replace("raw-red-meat", raw);
    let parsed = recipe_parser::parse("joint.toml", &text);
    let recipe = parsed.recipe.unwrap_or_else(|| panic!("{:#?}", parsed.complaints));
    let info = TrialInfo {
        trial: trial.clone(),
        recipe: recipe.id.clone(),
        title: recipe.title.clone(),
        version: recipe.version.clone(),
        variant: VariantId::base(),
        cook: None,
        kitchen: None,
        left_open: Vec::new(),
    };
    let began = |step: &str, secs| {
        let (planned, over_gap, cautions) = (None, None, Vec::new());
        let step = StepId::new(step);
        (at(secs), Fact::StepBegan { step, planned, expect: Span::from_mins(60), over_gap, cautions })
    };
    let ended = |step: &str, secs| {
        let (cause, done, core_celsius) = (EndCause::Press, DoneTime::Timed, None);
        let step = StepId::new(step);
        (at(secs), Fact::StepEnded { step, cause, ran: Span::from_secs(secs), done, core_celsius })
    };
    let end = readings.len() as u64;
    let mut facts =
        vec![(at(0), Fact::TrialOpened(info)), (at(0), Fact::EquipmentNoted(noted)), began("joint.roast", 0)];
    facts.extend(moved.iter().map(|secs| (at(*secs), Fact::ProbeMoved { step: StepId::new("joint.roast") })));
    facts.extend([ended("joint.roast", roast), began("rest.rest", roast), ended("rest.rest", end)]);
    let mut writer = Writer::create(Library::disk(), home.path(), &trial, 1).unwrap();
    writer.append(Kind::Recipe, text.as_bytes()).unwrap();
    let stamp = Stamp { boot: "b".into(), boot_ms: 0, wall_ms: 0, synced: true };
    for (seq, (at, fact)) in (0..).zip(facts) {
        let entry = Entry { seq, at, action: None, fact };
        writer.append_fact(&Stamped { stamp: stamp.clone(), entry }).unwrap();
    }
    let samples = (0..).zip(readings).map(|(secs, reading)| Sample { at: at(secs), reading: *reading });
    for block in samples.collect::<Vec<_>>().chunks(600) {
        writer
            .append_readings(&Block::new(ProbeName::new("core"), Span::from_secs(1), block.to_vec()).unwrap())
            .unwrap();
    }
    writer.finish().unwrap();
    let file = read_trial(&RealDisk, home.path(), &trial).unwrap();
    let report = crate::report::Report::of(&file).unwrap().unwrap();
    assert!(report.recipe_reads);
    let [heating] = report.heating.try_into().unwrap();
    heating
}

/// A core that rises from 20 °C by a degree in ten seconds, then stays for so many seconds.
fn held(level: f64, secs: u64, wobble: f64) -> Vec<Reading> {
    let rise = ((level - 20.0) * 10.0) as u64;
    let noise = |s: u64| if s.is_multiple_of(2) { wobble } else { -wobble };
    let rising = (0..rise).map(|s| 20.0 + s as f64 / 10.0 + noise(s));
    // a little life, so that the probe does not count as stuck
    let staying = (0..secs).map(|s| level + noise(s) + if s / 20 % 2 == 0 { 0.02 } else { -0.02 });
    rising.chain(staying).map(|degrees| Ok(celsius(degrees))).collect()
}

fn never() -> Equipment {
    probe(None)
}

// by hand: 20 min at 60.00 °C less the ten seconds at its ends, at the row's temperature by z = 5.562 °C
#[test]
fn a_core_that_was_held_is_equivalent_to_its_time_at_the_row() {
    let readings = held(60.0, 1200, 0.0);
    let heating = heated("red-meat-whole", never(), 1000, &[], &readings);
    assert_eq!(heating.steps, [StepId::new("joint.roast"), StepId::new("rest.rest")]);
    let table = heating.table.unwrap();
    assert_eq!(table.table, format!("{}, {}, {}", BEEF_7_LOG.title, BEEF_7_LOG.edition, BEEF_7_LOG.source));
    let equivalent = table.equivalent.unwrap();
    let worth = 10f64.powf((60.0 - equivalent.celsius.degrees()) / 5.562);
    // the last degrees of the rise add about half a minute
    let minutes = equivalent.best.secs() / 60.0 / worth;
    assert!((19.7..20.7).contains(&minutes), "{minutes} min at 60 °C: {equivalent:?}");
    // a probe that was never checked may read 0.54 °C too high: 10^(-0.54/5.562)
    let share = equivalent.at_least.secs() / equivalent.best.secs();
    assert!((0.77..0.81).contains(&share), "{share}");
    // 59.44 °C count at least: by hand from the table, that is the row of 139 °F with its 15 min
    let row = table.held.unwrap();
    assert_eq!((row.fahrenheit, row.asked), (139, Span::from_mins(15)), "{row:?}");
    assert!(equivalent.words.contains("The local food code and a trained person decide"));
}

#[test]
fn noise_of_a_probe_adds_no_minutes() {
    let equivalent = |wobble| {
        let heating = heated("red-meat-whole", never(), 1000, &[], &held(60.0, 1200, wobble));
        heating.table.unwrap().equivalent.unwrap().best.secs()
    };
    // half a degree to and fro would add 2 % if single readings were integrated
    let more = equivalent(0.5) / equivalent(0.0);
    assert!((more - 1.0).abs() < 0.004, "{more}");
}

#[test]
fn a_probe_in_the_air_of_the_oven_heats_no_food() {
    let good = held(60.0, 1200, 0.0);
    let mut pulled = good.clone();
    for (s, reading) in pulled[900..960].iter_mut().enumerate() {
        *reading = Ok(celsius(60.0 + 50.0 * (1.0 - (-(s as f64) / 8.0).exp())));
    }
    let of = |readings: &[Reading]| heated("red-meat-whole", never(), 1000, &[], readings);
    let (good, pulled) = (of(&good), of(&pulled));
    assert!(pulled.highest_celsius.unwrap() < celsius(60.3), "{pulled:?}");
    let minutes = |heating: &Heating| heating.table.as_ref().unwrap().equivalent.as_ref().unwrap().best;
    assert!(minutes(&pulled) < minutes(&good), "the minute is missing, and nothing was gained");
}

#[test]
fn poultry_is_held_against_the_plain_minimum_alone() {
    let of = |level| heated("poultry", never(), 700, &[], &held(level, 300, 0.0));
    let (short, there) = (of(74.2), of(74.6));
    assert_eq!((&short.table, &there.table), (&None, &None));
    // 165 °F are 73.89 °C; a probe that was never checked is trusted to 0.54 °C
    assert_eq!(short.chart.as_ref().unwrap().reached_for, None, "{short:?}");
    let reached = there.chart.as_ref().unwrap().reached_for.unwrap();
    assert!((Span::from_secs(280)..=Span::from_secs(310)).contains(&reached), "{reached:?}");
    let words = there.lines().join("\n");
    assert!(words.contains("ground and whole poultry, stuffing, 73.9 °C (165 °F): reached, for "), "{words}");
    assert!(!words.contains("equivalent") && !words.contains(" row "), "{words}");
    assert!(short.lines().join("\n").contains("(165 °F): not reached"));
}

#[test]
fn the_calibration_on_record_corrects_what_counts() {
    let bath = |read: f64| Bath {
        truth: Celsius::whole(0),
        truth_uncertainty: CelsiusStep::from_ten_thousandths(500),
        read: celsius(read),
        spread: CelsiusStep::ZERO,
        readings: 60,
    };
    let high = Calibration::one_point(CelsiusStep::HALF, bath(1.0)).unwrap();
    let heating = heated("poultry", probe(Some(high)), 700, &[], &held(74.6, 300, 0.0));
    assert!((heating.highest_celsius.unwrap().degrees() - 73.6).abs() < 0.05, "{heating:?}");
    assert_eq!(heating.chart.unwrap().reached_for, None);
    assert_eq!(heating.corrected_by, "corrected by -1.0 °C at 60 °C, after a check in one point of that day");
}

#[test]
fn of_several_places_the_one_heated_least_is_told() {
    // 66 °C in the first place, 61 °C in the second
    let mut readings = held(66.0, 400, 0.0);
    let moved = readings.len() as u64;
    readings.extend(held(61.0, 900, 0.0).into_iter().skip(300));
    let heating = heated("red-meat-whole", never(), readings.len() as u64 - 100, &[moved], &readings);
    assert!(heating.highest_celsius.unwrap() < celsius(61.5), "{heating:?}");
    assert!(heating.lines()[0].starts_with("highest mean of 10 s in the coldest of 2 places 61.0 °C"), "{heating:?}");
    let alone = heated("red-meat-whole", never(), 1200, &[], &held(61.0, 900, 0.0));
    let best = |heating: Heating| heating.table.unwrap().equivalent.unwrap().best.secs();
    let (of_two, of_one) = (best(heating), best(alone));
    assert!((of_two / of_one - 1.0).abs() < 0.1, "{of_two} s against {of_one} s");
}

#[test]
fn food_without_a_minimum_is_said_to_have_none() {
    let heating = heated("no-minimum", never(), 700, &[], &held(74.6, 300, 0.0));
    assert_eq!((&heating.chart, &heating.table), (&None, &None));
    assert!(heating.lines().join("\n").contains("no public table here names a minimum for no-minimum"));
    let heating = heated("casserole", never(), 700, &[], &held(76.0, 300, 0.0));
    assert!(heating.table.is_none() && heating.chart.unwrap().reached_for.is_some());
}

#[test]
fn no_claim_gives_a_verdict() {
    for food in FoodClass::ALL {
        let words = heated(food.word(), never(), 700, &[], &held(76.0, 600, 0.0)).lines().join("\n").to_lowercase();
        assert!(!words.split(|c: char| !c.is_alphabetic()).any(|word| word == "safe" || word == "safely"), "{words}");
    }
}

// whoever reaches the time of the row that is claimed against has reached the time of every row of the table
#[test]
fn the_row_that_is_claimed_against_asks_for_most() {
    for table in [&BEEF_7_LOG, &lethality::ROASTS] {
        let (kinetics, hardest) = line_of(table).unwrap();
        let worth = |row: &Row| row.hold.secs() * kinetics.rate(row.celsius().max(row.from()).degrees());
        let read = table.rows.iter().filter(|row| row.seen == Seen::Read);
        assert!(read.clone().count() > 5 && read.clone().all(|row| worth(row) <= worth(&hardest)), "{hardest:?}");
        assert!(kinetics.misfit >= BEEF.misfit);
    }
    assert_eq!(line_of(&lethality::COMMINUTED), None);
}
