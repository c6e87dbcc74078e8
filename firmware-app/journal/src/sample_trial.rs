//! A short trial of the Tern Lane Test Kitchen, for the tests of this crate.
#![allow(clippy::unwrap_used)]

use std::{path::Path, sync::Arc};

use quantities::{Celsius, NoReading, RunTime, Span};
use recipe_model::{ProbeName, RecipeId, StageId, StepId, VariantId};
use trial::{
    AlertKind, AlertSlot, CookId, DoneTime, EndCause, Entry, Fact, KitchenId, Priority, Stamp, Stamped, TrialId,
    TrialInfo, Verdict,
};

use crate::{
    Disk, Kind, TrialFile, Writer, read_trial,
    readings::{Block, Sample},
};

pub(crate) const FOLDER: &str = "trials";

/// Its recipe is kept as text; it is not read here.
pub(crate) const RECIPE: &str = "id = \"tern-lane-loin\"\ntitle = \"Pork loin, \\\"slow\\\" — 58 °C\"\n";

pub(crate) fn trial_id(number: u32) -> TrialId {
    TrialId::new(&format!("20261125-14{number:02}-loin-a")).unwrap()
}

/// The facts: a roast with two looks and an alert, closed or still going.
pub(crate) fn facts(number: u32, closed: bool) -> Vec<Stamped> {
    let step = StepId::new("loin.roast");
    let stage = StageId::new("loin");
    let at_min = |minutes| RunTime::from_start(Span::from_mins(minutes));
    let mut facts = vec![
        (
            0,
            Fact::TrialOpened(TrialInfo {
                trial: trial_id(number),
                recipe: RecipeId::new(if number.is_multiple_of(2) { "tern-lane-loin" } else { "tern-lane-loaf" }),
                title: "Pork loin, \"slow\" — 58 °C".into(),
                version: "9f2c".into(),
                variant: VariantId::new("base"),
                cook: CookId::new("MK"),
                kitchen: KitchenId::new("tern-lane"),
                left_open: vec!["salt, not weighed".into()],
            }),
        ),
        (
            1,
            Fact::StepBegan {
                step: step.clone(),
                planned: Some(at_min(0)),
                expect: Span::from_mins(50),
                over_gap: None,
                cautions: vec![],
            },
        ),
        (
            41,
            Fact::Looked {
                step: step.clone(),
                verdict: Verdict::NotYet,
                core_celsius: Celsius::from_degrees(55.0625),
                estimate: None,
            },
        ),
        (
            46,
            Fact::AlertRaised {
                stage: stage.clone(),
                slot: AlertSlot::Step,
                kind: AlertKind::Window,
                priority: Priority::Medium,
            },
        ),
        (47, Fact::AlertAcknowledged { stage, slot: AlertSlot::Step }),
        (
            48,
            Fact::Looked {
                step: step.clone(),
                verdict: Verdict::Done,
                core_celsius: Celsius::from_degrees(58.5),
                estimate: None,
            },
        ),
        (
            48,
            Fact::StepEnded {
                step,
                cause: EndCause::LookDone,
                ran: Span::from_mins(47),
                done: DoneTime::Between { after: at_min(41), by: at_min(48) },
                core_celsius: Celsius::from_degrees(58.5),
            },
        ),
    ];
    if closed {
        facts.push((60, Fact::TrialClosed { given_up: number == 3, missing: vec![] }));
    }
    let stamp = |minutes: u64| Stamp {
        boot: "b00t".into(),
        boot_ms: 5000 + minutes * 60_000,
        wall_ms: 1_795_615_200_000 + i64::from(number) * 3_600_000 + minutes as i64 * 60_000,
        synced: true,
    };
    let stamped = facts.into_iter().enumerate().map(|(seq, (minutes, fact))| Stamped {
        stamp: stamp(minutes),
        entry: Entry { seq: seq as u64, at: at_min(minutes), action: None, fact },
    });
    stamped.collect()
}

pub(crate) fn readings() -> Vec<Block> {
    let sample = |second: u64| Sample {
        at: RunTime::from_millis(second * 1000),
        reading: match second {
            100..103 => Err(NoReading::Unplugged),
            _ => Ok(Celsius::from_degrees(6.0 + second as f64 / 16.0).unwrap()),
        },
    };
    let part = |from, to| Block::new(ProbeName::new("core"), Span::from_secs(1), (from..to).map(sample).collect());
    vec![part(0, 150).unwrap(), part(170, 300).unwrap()]
}

/// Writes the trial and gives it back as read.
pub(crate) fn write(disk: &Arc<dyn Disk>, number: u32, closed: bool) -> TrialFile {
    let id = trial_id(number);
    let mut writer = Writer::create(Arc::clone(disk), Path::new(FOLDER), &id, number).unwrap();
    writer.append(Kind::Recipe, RECIPE.as_bytes()).unwrap();
    for fact in facts(number, closed) {
        writer.append(Kind::Input, b"key 1 down\nkey 1 up").unwrap();
        writer.append_fact(&fact).unwrap();
        writer.commit().unwrap();
    }
    for block in readings() {
        writer.append_readings(&block).unwrap();
    }
    writer.finish().unwrap();
    read_trial(&**disk, Path::new(FOLDER), &id).unwrap()
}
