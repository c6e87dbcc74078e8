//! From contacts to keys of the panel.
//!
//! A lane key and the pedal count when they go down, the knob when it is let go within a second; held for a second it is
//! another key.

use hardware::{Key, KeyEvent};
use quantities::{RunTime, Span};
use screens::DeskKey;

/// How long the knob is held to undo.
const HOLD: Span = Span::from_secs(1);

/// What is held down at this moment.
#[derive(Clone, Debug, Default)]
pub struct Fingers {
    knob_down: Option<RunTime>,
    knob_held: bool,
}

impl Fingers {
    /// Takes an event of a contact; gives the key it made, if it made one.
    pub fn take(&mut self, event: KeyEvent, now: RunTime) -> Option<DeskKey> {
        match event {
            KeyEvent::Down(Key::Lane(lane)) => Some(DeskKey::Lane(lane.number())),
            KeyEvent::Down(Key::Pedal) => Some(DeskKey::Pedal),
            KeyEvent::Down(Key::Knob) => {
                self.knob_down = Some(now);
                self.knob_held = false;
                None
            }
            KeyEvent::Up(Key::Knob) => {
                let down = self.knob_down.take()?;
                match (self.knob_held, now.since(down) >= HOLD) {
                    (true, _) => None,
                    (false, true) => Some(DeskKey::KnobHold),
                    (false, false) => Some(DeskKey::Knob),
                }
            }
            KeyEvent::Held(Key::Knob) => {
                self.knob_down = None;
                // it may have counted already when it was down for a second
                (!std::mem::take(&mut self.knob_held)).then_some(DeskKey::KnobHold)
            }
            KeyEvent::Up(Key::Lane(_) | Key::Pedal) | KeyEvent::Held(Key::Lane(_) | Key::Pedal) => None,
            KeyEvent::Turn(by) => Some(DeskKey::Turn(by)),
        }
    }

    /// The hold of a knob that is still down, once it is long enough.
    pub fn due(&mut self, now: RunTime) -> Option<DeskKey> {
        let down = self.knob_down.filter(|down| !self.knob_held && now.since(*down) >= HOLD)?;
        self.knob_held = now >= down;
        Some(DeskKey::KnobHold)
    }

    /// When to ask again.
    pub fn next_deadline(&self) -> Option<RunTime> {
        self.knob_down.filter(|_| !self.knob_held).map(|down| down + HOLD)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: u64) -> RunTime {
        RunTime::from_millis(ms)
    }

    #[test]
    fn a_knob_that_is_let_go_in_time_is_a_push() {
        let mut fingers = Fingers::default();
        assert_eq!(fingers.take(KeyEvent::Down(Key::Knob), at(0)), None);
        assert_eq!(fingers.due(at(999)), None);
        assert_eq!(fingers.take(KeyEvent::Up(Key::Knob), at(999)), Some(DeskKey::Knob));
    }

    #[test]
    fn a_knob_that_is_held_counts_once_at_a_second() {
        let mut fingers = Fingers::default();
        fingers.take(KeyEvent::Down(Key::Knob), at(0));
        assert_eq!(fingers.next_deadline(), Some(at(1000)));
        assert_eq!(fingers.due(at(1000)), Some(DeskKey::KnobHold));
        assert_eq!(fingers.due(at(1500)), None);
        assert_eq!(fingers.take(KeyEvent::Up(Key::Knob), at(1600)), None);
    }
}
