use std::{io, thread};

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use tokio::sync::mpsc;

/// What a key of the terminal does at the station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Press {
    /// The key of a lane, 1 to 4.
    Lane(u8),
    /// The pedal.
    Pedal,
    /// The knob pushed.
    Knob,
    /// The knob held down.
    KnobHold,
    /// The knob turned, to the right if positive.
    Turn(i8),
    /// Leave the program.
    Quit,
}

/// Reads presses from a terminal's keys; asks before it gives [`Press::Quit`].
#[derive(Debug, Default)]
pub struct Keyboard {
    asking: bool,
}

const QUIT_QUESTION: &str = "Leave? The food goes on cooking. q or y leaves, any other key stays";
/// A person types a few keys a second; when it is full, further keys wait in the terminal.
const KEYS_WAITING: usize = 32;

impl Keyboard {
    /// What an event means; nothing for keys without a meaning, and while it asks.
    ///
    /// Ctrl-C leaves without a question.
    pub fn read(&mut self, event: &Event) -> Option<Press> {
        let Event::Key(key) = event else { return None };
        // some terminals also tell when a key is let go
        if key.kind == KeyEventKind::Release {
            return None;
        }
        if key.code == KeyCode::Char('c') && key.modifiers.contains(KeyModifiers::CONTROL) {
            return Some(Press::Quit);
        }
        let yes = matches!(key.code, KeyCode::Char('q' | 'Q' | 'y' | 'Y'));
        if std::mem::take(&mut self.asking) {
            return yes.then_some(Press::Quit);
        }
        if matches!(key.code, KeyCode::Char('q' | 'Q')) {
            self.asking = true;
            return None;
        }
        press(key)
    }

    /// The question to show while it asks.
    pub fn question(&self) -> Option<&'static str> {
        self.asking.then_some(QUIT_QUESTION)
    }
}

/// Starts to read the terminal's events, on a thread of its own since that blocks.
///
/// The thread ends with the process, or at the first event after the receiver is gone.
pub fn listen() -> io::Result<mpsc::Receiver<Event>> {
    let (to, events) = mpsc::channel(KEYS_WAITING);
    thread::Builder::new().name("terminal keys".to_owned()).spawn(move || {
        while let Ok(event) = crossterm::event::read() {
            if to.blocking_send(event).is_err() {
                break;
            }
        }
    })?;
    Ok(events)
}

fn press(key: &KeyEvent) -> Option<Press> {
    if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
        return None;
    }
    #[allow(clippy::wildcard_enum_match_arm, reason = "a keyboard has more keys than the station")]
    match key.code {
        KeyCode::Char('1') => Some(Press::Lane(1)),
        KeyCode::Char('2') => Some(Press::Lane(2)),
        KeyCode::Char('3') => Some(Press::Lane(3)),
        KeyCode::Char('4') => Some(Press::Lane(4)),
        KeyCode::Char(' ') => Some(Press::Pedal),
        KeyCode::Enter => Some(Press::Knob),
        KeyCode::Char('h' | 'H') => Some(Press::KnobHold),
        KeyCode::Left | KeyCode::Up => Some(Press::Turn(-1)),
        KeyCode::Right | KeyCode::Down => Some(Press::Turn(1)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(code: KeyCode) -> Event {
        Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
    }

    #[test]
    fn every_control_of_the_station_has_a_key() {
        let table = [
            (KeyCode::Char('1'), Press::Lane(1)),
            (KeyCode::Char('4'), Press::Lane(4)),
            (KeyCode::Char(' '), Press::Pedal),
            (KeyCode::Enter, Press::Knob),
            (KeyCode::Char('h'), Press::KnobHold),
            (KeyCode::Right, Press::Turn(1)),
            (KeyCode::Up, Press::Turn(-1)),
        ];
        for (code, press) in table {
            assert_eq!(Keyboard::default().read(&key(code)), Some(press), "{code:?}");
        }
        assert_eq!(Keyboard::default().read(&key(KeyCode::Char('5'))), None);
    }

    #[test]
    fn one_q_never_leaves_a_cook() {
        let mut keyboard = Keyboard::default();
        assert_eq!(keyboard.read(&key(KeyCode::Char('q'))), None);
        assert!(keyboard.question().is_some());
        assert_eq!(keyboard.read(&key(KeyCode::Char('1'))), None, "the key that answers no does nothing else");
        assert_eq!(keyboard.question(), None);
        assert_eq!(keyboard.read(&key(KeyCode::Char('q'))), None);
        assert_eq!(keyboard.read(&key(KeyCode::Char('y'))), Some(Press::Quit));
    }

    #[test]
    fn interrupt_leaves_at_once() {
        let event = Event::Key(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL));
        assert_eq!(Keyboard::default().read(&event), Some(Press::Quit));
    }

    #[test]
    fn letting_a_key_go_is_no_press() {
        let event = Event::Key(KeyEvent::new_with_kind(KeyCode::Enter, KeyModifiers::NONE, KeyEventKind::Release));
        assert_eq!(Keyboard::default().read(&event), None);
    }
}
