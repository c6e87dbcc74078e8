mod leds;

use std::{fmt, io::Write};

use quantities::Span;

use crate::LaneKey;

pub use leds::{LaneLeds, LedLamps};

/// The four lamps beside the lane keys.
pub trait Lamps {
    /// Sets the lamp of a lane; it keeps flashing by itself until it is set again.
    fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault>;
}

/// Why a lamp did not change; sound and panel take over.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("lamp {lane} could not be set to {wanted}: {reason}")]
pub struct LampFault {
    /// Which lamp.
    pub lane: LaneKey,
    /// What it should have shown.
    pub wanted: LampState,
    /// What the device said.
    pub reason: String,
}

/// The colours of a lamp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LampColour {
    /// Running.
    White,
    /// Wants a press.
    Yellow,
    /// Late or lost.
    Red,
}

/// How a lamp is lit; nothing flashes at 3 Hz or more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LampPattern {
    /// Faint, without a break.
    Dim,
    /// Full, without a break.
    Steady,
    /// 0.5 Hz, half of the time.
    Slow,
    /// 0.5 Hz, a fifth of a second.
    Blink,
    /// 2 Hz, half of the time.
    Fast,
}

/// What a lamp shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LampState {
    /// Dark: nothing runs, or on hold.
    Off,
    /// Lit.
    Lit {
        /// In this colour.
        colour: LampColour,
        /// In this pattern.
        pattern: LampPattern,
    },
}

impl LampState {
    /// Running, and nothing is asked.
    pub const RUNNING: Self = Self::lit(LampColour::White, LampPattern::Dim);
    /// The check window is open.
    pub const WINDOW: Self = Self::lit(LampColour::Yellow, LampPattern::Blink);
    /// Due, or a question is asked.
    pub const DUE: Self = Self::lit(LampColour::Yellow, LampPattern::Slow);
    /// Due, and the cook knows.
    pub const DUE_ACKNOWLEDGED: Self = Self::lit(LampColour::Yellow, LampPattern::Steady);
    /// Put off by the cook.
    pub const LATER: Self = Self::lit(LampColour::Yellow, LampPattern::Dim);
    /// A probe was lost and is back, unseen.
    pub const WAS_LOST: Self = Self::lit(LampColour::White, LampPattern::Slow);
    /// Overdue, or a probe is lost.
    pub const OVERDUE: Self = Self::lit(LampColour::Red, LampPattern::Fast);
    /// Overdue, and the cook knows.
    pub const OVERDUE_ACKNOWLEDGED: Self = Self::lit(LampColour::Red, LampPattern::Steady);

    /// Lit in a colour and a pattern.
    pub const fn lit(colour: LampColour, pattern: LampPattern) -> Self {
        Self::Lit { colour, pattern }
    }

    /// What the lamp shows instead while no sound can be heard: whatever flashes to be answered does so at the high rate,
    /// in its own colour.
    pub const fn without_sound(self) -> Self {
        match self {
            Self::Lit { colour: colour @ (LampColour::Yellow | LampColour::Red), pattern } => match pattern {
                LampPattern::Slow | LampPattern::Blink | LampPattern::Fast => Self::lit(colour, LampPattern::Fast),
                LampPattern::Dim | LampPattern::Steady => self,
            },
            // white asks for nothing
            Self::Off | Self::Lit { colour: LampColour::White, .. } => self,
        }
    }

    /// How bright the lamp is, in hundredths, so long after it was set.
    pub const fn brightness(self, since: Span) -> u8 {
        let Self::Lit { pattern, .. } = self else { return 0 };
        match pattern.flash() {
            Some((on, off)) if since.millis() % (on.millis() + off.millis()) >= on.millis() => 0,
            Some(_) | None => pattern.level(),
        }
    }
}

impl LampPattern {
    /// How long it is lit and dark in turn; nothing if it does not flash.
    pub const fn flash(self) -> Option<(Span, Span)> {
        match self {
            Self::Dim | Self::Steady => None,
            Self::Slow => Some((Span::from_millis(1000), Span::from_millis(1000))),
            Self::Blink => Some((Span::from_millis(200), Span::from_millis(1800))),
            Self::Fast => Some((Span::from_millis(250), Span::from_millis(250))),
        }
    }

    /// How bright it is while it is lit, in hundredths.
    pub const fn level(self) -> u8 {
        match self {
            Self::Dim => 15,
            Self::Steady | Self::Slow | Self::Blink | Self::Fast => 100,
        }
    }
}

impl fmt::Display for LampState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Lit { colour, pattern } = self else {
            return f.write_str("off");
        };
        let colour = match colour {
            LampColour::White => "white",
            LampColour::Yellow => "yellow",
            LampColour::Red => "red",
        };
        let pattern = match pattern {
            LampPattern::Dim => "dim",
            LampPattern::Steady => "steady",
            LampPattern::Slow => "slow",
            LampPattern::Blink => "blink",
            LampPattern::Fast => "fast",
        };
        write!(f, "{colour}, {pattern}")
    }
}

/// Lamps as lines of text, one for each change: `lamp 2 yellow, slow`.
pub struct TextLamps<W> {
    to: W,
    shown: [LampState; 4],
}

impl<W: Write> TextLamps<W> {
    /// Lamps that are dark, written to here from the first change on.
    pub fn new(to: W) -> Self {
        Self { to, shown: [LampState::Off; 4] }
    }
}

impl<W: Write> Lamps for TextLamps<W> {
    fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault> {
        let shown = &mut self.shown[usize::from(lane.number() - 1)];
        if *shown == state {
            return Ok(());
        }
        writeln!(self.to, "lamp {lane} {state}").map_err(|error| LampFault {
            lane,
            wanted: state,
            reason: error.to_string(),
        })?;
        *shown = state;
        Ok(())
    }
}

/// Lamps that remember what they were set to, for tests; dead ones refuse.
#[derive(Clone, Debug, Default)]
pub struct RecordingLamps {
    /// Everything that was set, oldest first.
    pub set: Vec<(LaneKey, LampState)>,
    /// The lamps that do not work.
    pub dead: Vec<LaneKey>,
}

impl Lamps for RecordingLamps {
    fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault> {
        if self.dead.contains(&lane) {
            return Err(LampFault { lane, wanted: state, reason: "it is dead".to_owned() });
        }
        self.set.push((lane, state));
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_line_is_written_for_each_change() {
        let mut text = Vec::new();
        let mut lamps = TextLamps::new(&mut text);
        let [one, two, ..] = LaneKey::ALL;
        lamps.set(one, LampState::Off).unwrap();
        lamps.set(two, LampState::DUE).unwrap();
        lamps.set(two, LampState::DUE).unwrap();
        lamps.set(two, LampState::OVERDUE).unwrap();
        lamps.set(two, LampState::Off).unwrap();
        assert_eq!(String::from_utf8(text).unwrap(), "lamp 2 yellow, slow\nlamp 2 red, fast\nlamp 2 off\n");
    }

    #[test]
    fn a_change_that_failed_is_tried_again() {
        let mut nowhere: &mut [u8] = &mut [];
        let mut lamps = TextLamps::new(&mut nowhere);
        let lane = LaneKey::ALL[2];
        for _ in 0..2 {
            let fault = lamps.set(lane, LampState::RUNNING).unwrap_err();
            assert!(fault.to_string().starts_with("lamp 3 could not be set to white, dim: "));
        }
    }

    #[test]
    fn no_lamp_flashes_three_times_a_second() {
        let colours = [LampColour::White, LampColour::Yellow, LampColour::Red];
        let patterns = [
            (LampPattern::Dim, 0),
            (LampPattern::Steady, 0),
            (LampPattern::Slow, 5),
            (LampPattern::Blink, 5),
            (LampPattern::Fast, 20),
        ];
        for colour in colours {
            for (pattern, flashes) in patterns {
                let lit = |ms| LampState::lit(colour, pattern).brightness(Span::from_millis(ms)) > 0;
                let starts = (1..=10_000).filter(|ms| lit(*ms) && !lit(ms - 1)).count();
                assert_eq!(starts, flashes, "{pattern:?} in 10 s");
            }
        }
        assert_eq!(LampState::Off.brightness(Span::ZERO), 0);
    }

    #[test]
    fn without_sound_what_wants_a_press_flashes_at_the_high_rate() {
        let fast_yellow = LampState::lit(LampColour::Yellow, LampPattern::Fast);
        for (state, instead) in [
            (LampState::DUE, fast_yellow),
            (LampState::WINDOW, fast_yellow),
            (LampState::OVERDUE, LampState::OVERDUE),
            // answered, put off, or asking for nothing
            (LampState::DUE_ACKNOWLEDGED, LampState::DUE_ACKNOWLEDGED),
            (LampState::OVERDUE_ACKNOWLEDGED, LampState::OVERDUE_ACKNOWLEDGED),
            (LampState::LATER, LampState::LATER),
            (LampState::WAS_LOST, LampState::WAS_LOST),
            (LampState::RUNNING, LampState::RUNNING),
            (LampState::Off, LampState::Off),
        ] {
            assert_eq!(state.without_sound(), instead, "{state}");
        }
    }

    #[test]
    fn a_dead_lamp_is_told() {
        let mut lamps = RecordingLamps { dead: vec![LaneKey::ALL[0]], ..RecordingLamps::default() };
        assert!(lamps.set(LaneKey::ALL[0], LampState::DUE).is_err());
        lamps.set(LaneKey::ALL[1], LampState::DUE).unwrap();
        assert_eq!(lamps.set, [(LaneKey::ALL[1], LampState::DUE)]);
    }
}
