use quantities::RunTime;
use run_engine::{
    Act, StageAt,
    view::{KeyWord, RunView},
};
use trial::AlertSlot;

use super::{can_say_no, no_to};
use crate::asked::{stage_of, top_alert, word_of};

/// What the keys would do, and since when.
///
/// A stage knows since when its own word stands. A key can get another word without that: the next stage of the lane
/// comes to the front, or the alert that the knob and the pedal answer makes way for the next one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct InSight {
    lanes: [(Option<(StageAt, KeyWord)>, RunTime); 4],
    /// The alert in front, and what the knob answers to it.
    knob: (Option<(StageAt, AlertSlot, Option<Act>)>, RunTime),
}

impl InSight {
    /// Takes in how the run stands.
    pub(super) fn look(&mut self, run: &RunView) {
        for (lane, (known, since)) in (1..).zip(&mut self.lanes) {
            let word = stage_of(run, lane).and_then(|stage| Some((stage.at, word_of(run, stage)?)));
            if *known != word {
                (*known, *since) = (word, run.now);
            }
        }
        let (known, since) = &mut self.knob;
        let answer =
            top_alert(run).map(|alert| (alert.at, alert.slot, can_say_no(run, alert).then(|| no_to(run, alert))));
        if *known != answer {
            (*known, *since) = (answer, run.now);
        }
    }

    /// Since when a lane's key, 1 to 4, has had its word or none.
    pub(super) fn lane(&self, lane: u8) -> RunTime {
        let place = usize::from(lane).checked_sub(1);
        place.and_then(|place| self.lanes.get(place)).map_or(RunTime::START, |(_, since)| *since)
    }

    /// Since when knob and pedal have answered the alert that they answer, or none.
    pub(super) fn knob(&self) -> RunTime {
        self.knob.1
    }
}
