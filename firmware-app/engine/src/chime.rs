//! When a standing alert sounds, and how urgently.

use quantities::{RunTime, Span};
use trial::{AlertKind, AlertSlot, Priority};

use crate::{input::StageAt, state::Alert, view::AlertState};

/// A sound to be made now: its head says how urgent, then the lane's number is counted out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Signal {
    /// Which stage it is about.
    pub at: StageAt,
    /// The lane to count, 1 to 4.
    pub lane: u8,
    /// How urgent.
    pub head: Head,
    /// What it is about; none for a beat of a rhythm.
    pub kind: Option<AlertKind>,
}

/// The head of a sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Head {
    /// Five short high ones.
    High,
    /// Two rising.
    Medium,
    /// One low.
    Low,
    /// A tick, without a count.
    Tick,
}

/// When the alerts of a stage last sounded. Not in the record: after a restart they sound again at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Chimes([Option<Chime>; 4]);

#[derive(Clone, Copy, Debug, PartialEq)]
struct Chime {
    raised: RunTime,
    kind: AlertKind,
    priority: Priority,
    sent: u32,
    last: RunTime,
}

impl Chimes {
    /// When the alert in a slot sounds next, and with which head.
    pub(crate) fn next(&self, slot: AlertSlot, alert: &Alert) -> Option<(RunTime, Head)> {
        match alert.state {
            AlertState::Sounding => {}
            AlertState::Acknowledged | AlertState::Shelved { .. } => return None,
        }
        match self.0[slot as usize].filter(|chime| chime.is_of(alert)) {
            None => Some((alert.raised, head(alert.priority))),
            Some(chime) => following(alert, chime.sent, chime.last),
        }
    }

    /// Notes that it sounded at `now`.
    pub(crate) fn sounded(&mut self, slot: AlertSlot, alert: &Alert, now: RunTime) {
        let sent = self.0[slot as usize].filter(|chime| chime.is_of(alert)).map_or(0, |chime| chime.sent);
        self.0[slot as usize] =
            Some(Chime { raised: alert.raised, kind: alert.kind, priority: alert.priority, sent: sent + 1, last: now });
    }
}

impl Chime {
    fn is_of(&self, alert: &Alert) -> bool {
        self.raised == alert.raised && self.kind == alert.kind && self.priority == alert.priority
    }
}

fn head(priority: Priority) -> Head {
    match priority {
        Priority::High => Head::High,
        Priority::Medium => Head::Medium,
        Priority::Low => Head::Low,
    }
}

/// The patterns: high every 4 s and after 3 min every 8 s; due and what is like it at 0, 10 and 20 s, from 30 s as high;
/// a question at 0 and 20 s; the rest once.
fn following(alert: &Alert, sent: u32, last: RunTime) -> Option<(RunTime, Head)> {
    let high = |from: RunTime| {
        let every = if last.since(from) >= Span::from_mins(3) { 8 } else { 4 };
        Some((last + Span::from_secs(every), Head::High))
    };
    match (alert.priority, alert.kind) {
        (Priority::High, _) => high(alert.raised),
        (Priority::Medium, AlertKind::Due | AlertKind::Inside | AlertKind::StillCooking) => match sent {
            1 | 2 => Some((last + Span::from_secs(10), Head::Medium)),
            3 => Some((last + Span::from_secs(10), Head::High)),
            _ => high(alert.raised + Span::from_secs(30)),
        },
        (Priority::Medium, AlertKind::ProbeLost) => Some((last + Span::from_secs(10), Head::Medium)),
        (Priority::Medium, AlertKind::Question) if sent < 2 => Some((last + Span::from_secs(20), Head::Medium)),
        (
            Priority::Medium,
            AlertKind::Question
            | AlertKind::Overdue
            | AlertKind::Window
            | AlertKind::Ready
            | AlertKind::Soon
            | AlertKind::OnHold
            | AlertKind::WasLost,
        )
        | (Priority::Low, _) => None,
    }
}
