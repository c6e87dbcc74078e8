//! What the cook is asked at one moment, and by which key it is answered.

use alloc::vec::Vec;

use run_engine::{
    StageAt,
    view::{AlertState, AlertView, KeyWord, LaneView, RunView, StageView},
};
use trial::{AlertKind, AlertSlot};

/// The stage that a lane shows.
pub(crate) fn stage_of(run: &RunView, lane: u8) -> Option<&StageView> {
    run.lanes.iter().find(|found| found.number == lane).and_then(|found: &LaneView| found.front.as_ref())
}

/// A stage of any lane, in front or behind.
pub(crate) fn stage_at(run: &RunView, at: StageAt) -> Option<&StageView> {
    let all = run.lanes.iter().flat_map(|lane| lane.front.iter().chain(&lane.others));
    all.into_iter().find(|stage| stage.at == at)
}

/// The alerts that claim the band, worst first: what asks for the cook and is not put off. A stage claims it once, with
/// the worst of its alerts; its key answers them one after another.
pub(crate) fn claims(run: &RunView) -> impl Iterator<Item = &AlertView> {
    let first_of_stage = |at: usize| run.alerts[..at].iter().all(|above| above.at != run.alerts[at].at || !asks(above));
    run.alerts.iter().enumerate().filter(move |(at, alert)| asks(alert) && first_of_stage(*at)).map(|(_, alert)| alert)
}

fn asks(alert: &AlertView) -> bool {
    match alert.kind {
        AlertKind::Overdue
        | AlertKind::ProbeLost
        | AlertKind::StillCooking
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Question
        | AlertKind::Window => !matches!(alert.state, AlertState::Shelved { .. }),
        // silenced, it stands in its cell and lets the band go
        AlertKind::Ready => alert.state == AlertState::Sounding,
        AlertKind::Soon | AlertKind::OnHold | AlertKind::WasLost => false,
    }
}

pub(crate) fn top_alert(run: &RunView) -> Option<&AlertView> {
    claims(run).next()
}

/// The word on a stage's key. An alert that was put off asks for nothing until it comes back.
pub(crate) fn word_of(run: &RunView, stage: &StageView) -> Option<KeyWord> {
    let put_off = |slot: AlertSlot| {
        let mut alerts = run.alerts.iter().filter(|alert| alert.at == stage.at && alert.slot == slot);
        alerts.any(|alert| matches!(alert.state, AlertState::Shelved { .. }))
    };
    stage.key.filter(|word| match word {
        KeyWord::Ok(slot) => !put_off(*slot),
        KeyWord::Start | KeyWord::Done | KeyWord::Yes | KeyWord::StillOn | KeyWord::InsideDone => true,
    })
}

/// The stages that still have to say whether they are cooking, also those behind the first of their lane.
pub(crate) fn unanswered(run: &RunView) -> Vec<(&AlertView, StageAt)> {
    let asks = run.alerts.iter().filter(|alert| alert.kind == AlertKind::StillCooking);
    let mut open: Vec<_> = asks.map(|alert| (alert, alert.at)).collect();
    open.sort_by_key(|(alert, at)| (alert.lane, *at));
    open
}
