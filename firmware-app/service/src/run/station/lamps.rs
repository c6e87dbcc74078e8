//! What the lamps show, from the alerts and the lanes.

use hardware::{LampColour, LampPattern, LampState};
use quantities::RunTime;
use run_engine::view::{AlertState, AlertView, LaneState};
use trial::{AlertKind, Priority};

use super::Station;
use crate::run::channels::Channel;

impl Station {
    /// The lamps, from the left. Where no sound can be heard, what would sound flashes fast, also where lamps are
    /// switched off: else nothing but the panel would call.
    pub fn lamps(&self, now: RunTime) -> [LampState; 4] {
        let unheard = self.channels.sound == Channel::Lost;
        if !self.shown.settings.lamps && !unheard {
            return [LampState::Off; 4];
        }
        if let Some(test) = self.self_test.as_ref().filter(|test| !test.is_over(now)) {
            return test.lamps(now);
        }
        let view = self.engine.view(now);
        std::array::from_fn(|i| {
            let lane = i as u8 + 1;
            let worst = worst_of(&view.alerts, lane);
            match worst {
                Some(alert) => lamp_of(alert, unheard),
                None => match view.lanes[i].front.as_ref().map(|stage| &stage.state) {
                    Some(LaneState::Running { .. } | LaneState::Probe | LaneState::Window { .. }) => LampState::RUNNING,
                    Some(_) | None => LampState::Off,
                },
            }
        })
    }
}

/// The alert that a lane's lamp shows: of two stages on it, one that still waits for its key comes before one that was
/// answered.
fn worst_of(alerts: &[AlertView], lane: u8) -> Option<&AlertView> {
    let of_lane = || alerts.iter().filter(|alert| alert.lane == lane);
    let calls = |alert: &&AlertView| alert.state == AlertState::Sounding && alert.priority <= Priority::Medium;
    of_lane().find(calls).or_else(|| of_lane().next())
}

fn lamp_of(alert: &AlertView, unheard: bool) -> LampState {
    let acknowledged = match alert.state {
        AlertState::Shelved { .. } => return LampState::LATER,
        AlertState::Acknowledged => true,
        AlertState::Sounding => false,
    };
    let lamp = match (alert.kind, acknowledged) {
        (AlertKind::Overdue | AlertKind::ProbeLost, false) => LampState::OVERDUE,
        (AlertKind::Overdue | AlertKind::ProbeLost, true) => LampState::OVERDUE_ACKNOWLEDGED,
        (AlertKind::Window, false) => LampState::WINDOW,
        (AlertKind::WasLost, _) => LampState::WAS_LOST,
        (
            AlertKind::Due | AlertKind::Inside | AlertKind::Question | AlertKind::StillCooking | AlertKind::Ready,
            false,
        ) => LampState::DUE,
        (
            AlertKind::Due
            | AlertKind::Inside
            | AlertKind::Question
            | AlertKind::StillCooking
            | AlertKind::Ready
            | AlertKind::Window
            | AlertKind::Soon
            | AlertKind::OnHold,
            _,
        ) => LampState::DUE_ACKNOWLEDGED,
    };
    match lamp {
        LampState::Lit { colour: LampColour::Yellow, .. }
            if unheard && !acknowledged && alert.priority <= Priority::Medium =>
        {
            LampState::lit(LampColour::Yellow, LampPattern::Fast)
        }
        LampState::Lit { .. } | LampState::Off => lamp,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use screens::gallery::views::{due, due_acknowledged, overdue, overdue_acknowledged, put_off};

    use super::*;

    #[test]
    fn a_second_stage_that_calls_is_not_hidden_by_one_that_was_answered() {
        let mut alerts = overdue_acknowledged(60).alerts;
        let lamp = |alerts: &[AlertView]| lamp_of(worst_of(alerts, 1).unwrap(), false);
        assert_eq!(lamp(&alerts), LampState::OVERDUE_ACKNOWLEDGED);
        alerts.extend(due().alerts);
        assert_eq!(lamp(&alerts), LampState::DUE);
        assert_eq!(worst_of(&alerts, 2), None);
    }

    #[test]
    fn without_sound_what_would_sound_flashes_fast_and_nothing_else_changes() {
        let fast = LampState::lit(LampColour::Yellow, LampPattern::Fast);
        for (view, heard, unheard) in [
            (due(), LampState::DUE, fast),
            (due_acknowledged(), LampState::DUE_ACKNOWLEDGED, LampState::DUE_ACKNOWLEDGED),
            (put_off(30), LampState::LATER, LampState::LATER),
            (overdue(20), LampState::OVERDUE, LampState::OVERDUE),
        ] {
            assert_eq!((lamp_of(&view.alerts[0], false), lamp_of(&view.alerts[0], true)), (heard, unheard));
        }
    }
}
