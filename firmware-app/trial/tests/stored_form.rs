//! The stored form of every fact, kept as it was first written: lines of years ago must read for ever.
//!
//! A changed line here is a broken record somewhere. A new fact adds a line: run with `ACCEPT_LINES=1`.
#![allow(missing_docs, clippy::unwrap_used)]

use std::{fs, path::Path};

use quantities::{Celsius, CelsiusStep, Drift, NoReading, Power, RunTime, Span};
use recipe_model::{BranchId, Caution, EventId, IngredientId, ProbeName, RecipeId, StageId, StepId, VariantId};
use thermometry::Calibration;
use trial::{
    AlertKind, AlertSlot, Around, BeginCause, CarryOver, CookId, Correction, Dark, DoneTime, EarlyReason, EndCause,
    Entry, Equipment, Estimate, Fact, KitchenId, LandingMoved, LandingPlanned, PauseReason, PlanFit, PlanWhy, Priority,
    Stamp, Stamped, StartMoved, StartPlanned, TrialId, TrialInfo, Verdict, line,
};

fn step() -> StepId {
    StepId::new("loin.roast")
}

fn stage() -> StageId {
    StageId::new("loin")
}

fn at(s: u64) -> RunTime {
    RunTime::from_millis(s * 1000)
}

fn core() -> Celsius {
    Celsius::from_degrees(63.0625).unwrap()
}

/// One of each, with every optional part there and away at least once.
fn facts() -> Vec<Fact> {
    let slot = AlertSlot::Step;
    let estimate =
        Estimate { median: Span::from_secs(480), low: Span::from_secs(360), high: Span::from_millis(600_500) };
    let carry_over = CarryOver {
        peak_celsius: core(),
        low_celsius: Celsius::whole(61),
        high_celsius: Celsius::whole(66),
        after: Span::from_secs(420),
        after_low: Span::from_secs(300),
        after_high: Span::from_millis(600_500),
    };
    let info = TrialInfo {
        trial: TrialId::new("20261125-141200-pork-loin-base").unwrap(),
        recipe: RecipeId::new("pork-loin"),
        title: "Pork loin".into(),
        version: "10ba8f2543e7".into(),
        variant: VariantId::base(),
        cook: CookId::new("IM"),
        kitchen: KitchenId::new("tern-lane"),
        left_open: vec!["Probe air".into()],
    };
    vec![
        Fact::TrialOpened(TrialInfo { cook: None, kitchen: None, left_open: vec![], ..info.clone() }),
        Fact::TrialOpened(info),
        Fact::EquipmentNoted(Equipment { name: "oven 2".into(), ..Equipment::default() }),
        Fact::EquipmentNoted(Equipment {
            name: "microwave".into(),
            device: Some("28-0316a2795cff".into()),
            offset_celsius: Some(CelsiusStep::whole(-3)),
            uncertainty_celsius: Some(CelsiusStep::from_ten_thousandths(5000)),
            power_watts: Some(Power::whole(690)),
            checked: Some("2026-11-02".into()),
            calibration: None,
            calibration_age: None,
            note: Some("middle shelf".into()),
        }),
        Fact::StepReady { step: step(), cause: BeginCause::Lead },
        Fact::StepWaits { step: step() },
        Fact::StepBegan { step: step(), planned: None, expect: Span::from_mins(60), over_gap: None, cautions: vec![] },
        Fact::StepBegan {
            step: step(),
            planned: Some(at(3)),
            expect: Span::from_secs(90),
            over_gap: Some(Span::from_secs(20)),
            cautions: vec![Caution::HotFat, Caution::Steam],
        },
        Fact::StepDue { step: step() },
        Fact::Looked { step: step(), verdict: Verdict::NotYet, core_celsius: None, estimate: None },
        Fact::Looked { step: step(), verdict: Verdict::Over, core_celsius: Some(core()), estimate: Some(estimate) },
        ended(EndCause::CoreHeld, DoneTime::Exact { at: at(9) }),
        ended(EndCause::LookDone, DoneTime::Between { after: at(8), by: at(9) }),
        ended(EndCause::LookOver, DoneTime::Before { by: at(9) }),
        ended(EndCause::Press, DoneTime::After { after: at(9), reason: EarlyReason::PulledEarly }),
        Fact::StepEnded {
            step: step(),
            cause: EndCause::Press,
            ran: Span::ZERO,
            done: DoneTime::Timed,
            core_celsius: None,
        },
        Fact::TakenOff { step: step(), core_celsius: Some(core()) },
        Fact::HalfCalled { step: step() },
        Fact::HalfTurned { step: step(), first_half: Span::from_secs(192) },
        Fact::Beat { step: step(), rhythm: 0, count: 3 },
        Fact::BeatDone { step: step(), rhythm: 0, count: 3 },
        Fact::EventCalled { step: step(), event: 1 },
        Fact::EventDone { step: step(), event: 1 },
        Fact::Marked { event: EventId::new("pan.boil") },
        Fact::BranchTaken { step: step(), branch: BranchId::new("tent") },
        Fact::RoundEnded { step: step(), round: 2, took: Span::from_secs(245) },
        Fact::Held { step: step(), reason: PauseReason::Phone },
        Fact::WentOn { step: step() },
        Fact::TimeChanged { step: step(), by: Drift::from_millis(-60_000) },
        Fact::TargetCrossed { step: step(), core_celsius: core(), unseen: None },
        Fact::HoldBroken { step: step(), core_celsius: None },
        Fact::PointHeld { step: step(), point: 1, core_celsius: core() },
        Fact::ProbeMoved { step: step() },
        Fact::ProbeLost {
            probe: ProbeName::new("core"),
            step: step(),
            why: NoReading::Open,
            last_celsius: Some(core()),
            age: Span::from_secs(2),
        },
        Fact::ProbeBack { probe: ProbeName::new("core"), step: step(), lost_for: Span::from_secs(40) },
        Fact::FellBack { step: step() },
        Fact::PeakSeen {
            step: step(),
            core_celsius: core(),
            when: at(700),
            rise_celsius: CelsiusStep::whole(4),
            at_least_celsius: None,
        },
        Fact::Predicted { step: step(), estimate },
        Fact::AlertRaised { stage: stage(), slot, kind: AlertKind::Due, priority: Priority::Medium },
        Fact::AlertAcknowledged { stage: stage(), slot },
        Fact::AlertShelved { stage: stage(), slot, until: at(60) },
        Fact::AlertUnshelved { stage: stage(), slot },
        Fact::AlertCleared { stage: stage(), slot },
        Fact::PowerOff { dark: Dark::Known(Span::from_secs(40)) },
        Fact::PowerOff { dark: Dark::AtLeast(Span::from_secs(3)) },
        Fact::StillCooking { stage: stage(), yes: false },
        Fact::ClockStepped { by: Drift::from_millis(3_600_000) },
        Fact::Weighed { ingredient: IngredientId::new("salt"), amount_thousandths: 14_900, within: true },
        Fact::Measured { what: "crust".into(), value_thousandths: -1500, unit: None },
        Fact::Measured { what: "loin".into(), value_thousandths: 1_055_973, unit: Some("g".into()) },
        Fact::Noted { step: None, text: "too \"dark\"".into() },
        Fact::Noted { step: Some(step()), text: "leaks".into() },
        Fact::Interrupted { reason: PauseReason::Spill },
        Fact::PhotoTaken { what: "cut face".into() },
        Fact::CookChanged { cook: CookId::new("RT").unwrap() },
        Fact::QuietSet { on: true },
        Fact::Corrected { seq: 4, right: Correction::At(at(590)), why: "pressed late".into() },
        Fact::Corrected { seq: 4, right: Correction::Verdict(Verdict::Done), why: "slip".into() },
        Fact::Corrected { seq: 4, right: Correction::Amount(-1), why: "slip".into() },
        Fact::Corrected { seq: 4, right: Correction::DidNotHappen, why: "slip".into() },
        Fact::Corrected { seq: 4, right: Correction::Text("pale".into()), why: "slip".into() },
        Fact::Undone { action: 17 },
        Fact::StageStopped { stage: stage(), reason: EarlyReason::GivenUp },
        Fact::TrialClosed { given_up: false, missing: vec![] },
        Fact::TrialClosed { given_up: true, missing: vec!["not weighed: salt".into()] },
        Fact::TrialReopened,
        Fact::PeakSeen {
            step: step(),
            core_celsius: core(),
            when: at(700),
            rise_celsius: CelsiusStep::whole(4),
            at_least_celsius: Some(Celsius::whole(62)),
        },
        Fact::PullAdvised { step: step(), core_celsius: None, carry_over },
        Fact::PullAdvised { step: step(), core_celsius: Some(core()), carry_over },
        Fact::CarryPredicted { step: step(), core_celsius: None, carry_over },
        Fact::CarryPredicted { step: step(), core_celsius: Some(core()), carry_over },
        Fact::TipMayBeShallow { step: step(), ratio_thousandths: 214 },
        Fact::EquipmentNoted(Equipment {
            name: "probe core".into(),
            calibration: Some(Calibration::uncalibrated(CelsiusStep::HALF)),
            calibration_age: Some(Span::from_mins(60 * 24)),
            ..Equipment::default()
        }),
        Fact::PullWithdrawn { step: step() },
        Fact::StepReady { step: step(), cause: BeginCause::Planned },
        Fact::PlanMade { why: PlanWhy::Opened, starts: vec![], landings: vec![], fit: PlanFit::Fits },
        Fact::PlanMade {
            why: PlanWhy::TrialOpened,
            starts: vec![start(false), start(true)],
            landings: vec![
                LandingPlanned { name: "loin".into(), at: at(6600), around: around_short() },
                LandingPlanned { name: "loin and rice".into(), at: at(6600), around: around() },
            ],
            fit: PlanFit::Late { by: Span::from_mins(5) },
        },
        moved(PlanWhy::Late { step: step(), by: Span::from_secs(90) }, PlanFit::Fits),
        Fact::PlanMoved {
            why: PlanWhy::Early { step: step(), by: Span::from_millis(61_250) },
            moved: vec![
                StartMoved { step: step(), was: None, now: at(60), latest: at(90), critical: false },
                StartMoved { step: step(), was: Some(at(30)), now: at(60), latest: at(60), critical: true },
            ],
            landings: vec![
                LandingMoved { name: "loin".into(), was: None, now: at(6600), around: around_short() },
                LandingMoved { name: "loin and rice".into(), was: Some(at(6500)), now: at(6600), around: around() },
            ],
            dropped: vec!["loin".into()],
            fit: PlanFit::Cannot { reason: "2 burners wanted, 1 there".into() },
        },
        moved(PlanWhy::Foreseen { step: step(), by: Drift::from_millis(-120_000) }, PlanFit::Fits),
        moved(PlanWhy::Kept, PlanFit::Fits),
        moved(PlanWhy::Wanted, PlanFit::Fits),
        moved(PlanWhy::Skipped { step: step() }, PlanFit::Fits),
        Fact::RestPlanned { step: step(), until: at(6600) },
        moved(PlanWhy::Resumed, PlanFit::Fits),
    ]
}

fn start(critical: bool) -> StartPlanned {
    StartPlanned { step: step(), at: at(4200), latest: at(4260), critical }
}

fn around_short() -> Around {
    Around { low: at(6480), high: at(6840), ..Around::default() }
}

fn around() -> Around {
    Around {
        wanted: Some(at(6300)),
        chance_thousandths: Some(812),
        late: Span::from_mins(5),
        dishes: vec![step(), StepId::new("rice.boil")],
        ..around_short()
    }
}

fn moved(why: PlanWhy, fit: PlanFit) -> Fact {
    Fact::PlanMoved { why, moved: vec![], landings: vec![], dropped: vec![], fit }
}

fn ended(cause: EndCause, done: DoneTime) -> Fact {
    Fact::StepEnded { step: step(), cause, ran: Span::from_millis(3_595_250), done, core_celsius: Some(core()) }
}

fn stamped(seq: u64, fact: Fact) -> Stamped {
    let stamp =
        Stamp { boot: "5f0e8a52".into(), boot_ms: 912_000, wall_ms: 1_795_615_200_000, synced: seq.is_multiple_of(2) };
    let action = seq.is_multiple_of(3).then_some(seq);
    Stamped { stamp, entry: Entry { seq, at: RunTime::from_millis(912_000 + seq), action, fact } }
}

#[test]
fn every_fact_has_the_stored_form_it_was_first_written_in() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facts-v1.jsonl");
    let text: String = (0..).zip(facts()).map(|(seq, fact)| line::write(&stamped(seq, fact)) + "\n").collect();
    if std::env::var_os("ACCEPT_LINES").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap();
    for (found, kept) in text.lines().zip(kept.lines()) {
        assert_eq!(found, kept);
    }
    assert_eq!(text.lines().count(), kept.lines().count());
}

#[test]
fn every_stored_line_reads_back_to_the_same_fact() {
    for (seq, fact) in (0..).zip(facts()) {
        let written = stamped(seq, fact);
        assert_eq!(line::read(&line::write(&written)).unwrap(), written);
    }
}

#[test]
fn a_line_of_a_later_program_is_told_from_a_damaged_one() {
    let later = line::read(r#"{"v":2,"anything":{"else":1}}"#).unwrap_err();
    assert_eq!(
        later.to_string(),
        "expected a fact of version 1 or older, found version 2: update this program to read it"
    );
    for damaged in ["", "{", r#"{"v":1}"#, r#"{"v":1,"stamp":{},"seq":0,"at":"PT0S","fact":"x"}"#, "null"] {
        assert!(matches!(line::read(damaged), Err(line::LineError::Malformed(_))), "{damaged}");
    }
    let (number, _) = line::read_all("\n{\"v\":1}\n").unwrap_err();
    assert_eq!(number, 2);
}
