use std::io::{ErrorKind, Read};

use super::{Key, KeyEvent, Keys, KeysLost, LaneKey};

/// A letter that stands for no key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected 1 to 4, k, K, p, + or -, found {found:?}")]
pub struct UnknownLetter {
    /// The letter.
    pub found: char,
}

/// Takes the next key from the front of some terminal bytes.
///
/// Gives how many bytes it took, and the events: `1` to `4` a lane key, `k` the knob, `p` the pedal, each down and up;
/// `K` the knob held; `+` and `-`, or the arrows up and down, the knob turned. White space is taken and gives nothing.
/// Nothing is taken from an arrow of which bytes are missing, as far as a lone escape can be told from one.
pub fn next_key_event(bytes: &[u8]) -> Option<(usize, Result<Vec<KeyEvent>, UnknownLetter>)> {
    match bytes {
        [] | [ESCAPE] | [ESCAPE, b'['] => None,
        [ESCAPE, b'[', b'A', ..] => Some((3, Ok(vec![KeyEvent::Turn(1)]))),
        [ESCAPE, b'[', b'B', ..] => Some((3, Ok(vec![KeyEvent::Turn(-1)]))),
        [ESCAPE, b'[', letter, ..] => Some((3, Err(unknown(*letter)))),
        [letter, ..] => Some((1, events_of(*letter))),
    }
}

/// Reads a whole text of keys, as a script gives it; stops at the first letter that stands for none.
pub fn key_events_in(text: &str) -> Result<Vec<KeyEvent>, UnknownLetter> {
    let mut events = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((taken, found)) = next_key_event(rest) {
        events.extend(found?);
        rest = &rest[taken..];
    }
    match rest.first() {
        Some(letter) => Err(unknown(*letter)),
        None => Ok(events),
    }
}

/// Keys from the bytes of a pipe or a terminal.
///
/// A reader that would wait either is set to refuse instead, and then gives no events, or is read on a thread of its own.
/// A read of nothing is the end: a terminal must not be set to return without a byte. Letters that stand for no key are
/// skipped and counted.
pub struct TextKeys<R> {
    from: R,
    waiting: Vec<u8>,
    skipped: u64,
}

impl<R: Read> TextKeys<R> {
    /// Keys from this reader.
    pub fn new(from: R) -> Self {
        Self { from, waiting: Vec::new(), skipped: 0 }
    }

    /// How many letters were skipped.
    pub fn skipped(&self) -> u64 {
        self.skipped
    }
}

impl<R: Read> Keys for TextKeys<R> {
    fn events(&mut self) -> Result<Vec<KeyEvent>, KeysLost> {
        let mut buffer = [0; 256];
        let read = match self.from.read(&mut buffer) {
            Ok(0) => return Err(KeysLost::Ended),
            Ok(read) => read,
            Err(error) if [ErrorKind::WouldBlock, ErrorKind::Interrupted].contains(&error.kind()) => 0,
            Err(source) => {
                return Err(KeysLost::Read { path: "the text".to_owned(), source });
            }
        };
        self.waiting.extend_from_slice(&buffer[..read]);
        let mut events = Vec::new();
        while let Some((taken, found)) = next_key_event(&self.waiting) {
            match found {
                Ok(found) => events.extend(found),
                Err(UnknownLetter { .. }) => self.skipped += 1,
            }
            self.waiting.drain(..taken);
        }
        Ok(events)
    }
}

const ESCAPE: u8 = 0x1B;

fn events_of(letter: u8) -> Result<Vec<KeyEvent>, UnknownLetter> {
    let press = |key| Ok(vec![KeyEvent::Down(key), KeyEvent::Up(key)]);
    match letter {
        b'1'..=b'4' => match LaneKey::new(letter - b'0') {
            Some(lane) => press(Key::Lane(lane)),
            None => Err(unknown(letter)),
        },
        b'k' => press(Key::Knob),
        b'K' => Ok(vec![KeyEvent::Held(Key::Knob)]),
        b'p' => press(Key::Pedal),
        b'+' => Ok(vec![KeyEvent::Turn(1)]),
        b'-' => Ok(vec![KeyEvent::Turn(-1)]),
        b' ' | b'\n' | b'\r' | b'\t' => Ok(Vec::new()),
        _ => Err(unknown(letter)),
    }
}

fn unknown(letter: u8) -> UnknownLetter {
    UnknownLetter { found: char::from(letter) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::io;

    use super::*;

    fn lane(number: u8) -> Key {
        Key::Lane(LaneKey::new(number).unwrap())
    }

    #[test]
    fn each_letter_is_its_key() {
        assert_eq!(
            key_events_in("1\n4 pkK+-\x1b[A\x1b[B"),
            Ok(vec![
                KeyEvent::Down(lane(1)),
                KeyEvent::Up(lane(1)),
                KeyEvent::Down(lane(4)),
                KeyEvent::Up(lane(4)),
                KeyEvent::Down(Key::Pedal),
                KeyEvent::Up(Key::Pedal),
                KeyEvent::Down(Key::Knob),
                KeyEvent::Up(Key::Knob),
                KeyEvent::Held(Key::Knob),
                KeyEvent::Turn(1),
                KeyEvent::Turn(-1),
                KeyEvent::Turn(1),
                KeyEvent::Turn(-1),
            ])
        );
    }

    #[test]
    fn an_unknown_letter_is_told_in_a_script() {
        for (text, found) in [("1 5", '5'), ("0", '0'), ("x", 'x'), ("1\x1b[C", 'C'), ("1\x1b", '\x1b')] {
            assert_eq!(key_events_in(text), Err(UnknownLetter { found }), "{text:?}");
        }
    }

    /// Gives each piece in turn, then would wait.
    struct Pieces(Vec<&'static [u8]>);

    impl Read for Pieces {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            if self.0.is_empty() {
                return Err(ErrorKind::WouldBlock.into());
            }
            let piece = self.0.remove(0);
            buffer[..piece.len()].copy_from_slice(piece);
            Ok(piece.len())
        }
    }

    #[test]
    fn an_arrow_that_comes_in_pieces_is_one_turn() {
        let mut keys = TextKeys::new(Pieces(vec![b"\x1b", b"[", b"Ax2"]));
        assert_eq!(keys.events().unwrap(), []);
        assert_eq!(keys.events().unwrap(), []);
        let expected = [KeyEvent::Turn(1), KeyEvent::Down(lane(2)), KeyEvent::Up(lane(2))];
        assert_eq!(keys.events().unwrap(), expected);
        assert_eq!(keys.skipped(), 1);
        assert_eq!(keys.events().unwrap(), []);
    }

    #[test]
    fn a_closed_pipe_is_told() {
        let mut keys = TextKeys::new(&b"k"[..]);
        assert_eq!(keys.events().unwrap().len(), 2);
        assert!(matches!(keys.events(), Err(KeysLost::Ended)));
    }
}
