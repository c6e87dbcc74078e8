use alloc::{format, string::String};

use crate::{OutcomeItem, OutcomeKind};

/// Figures of a weight: grams from ten thousands to tenths.
const FIGURES: usize = 6;
/// The knob begins at the hundreds: most of what is weighed in a kitchen has so many figures.
const BEGINS_AT: usize = 2;

/// What is entered for one thing on the record sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) enum Noting {
    /// Nothing.
    #[default]
    Nothing,
    /// A step of a scale or a word of a list, from 0.
    Step(u8),
    /// A number, figure by figure.
    Number {
        /// The figures.
        figures: [u8; FIGURES],
        /// Which of them the knob turns.
        at: usize,
    },
}

/// What a push of the knob does.
pub(super) enum Push {
    /// Nothing was entered: on to the next thing.
    Skips,
    /// On to the next figure.
    Moves(Noting),
    /// Noted, in thousandths of its unit.
    Notes(i64, Option<String>),
}

impl Noting {
    /// The chosen step.
    pub(crate) fn step(&self) -> Option<u8> {
        match self {
            Self::Step(step) => Some(*step),
            Self::Nothing | Self::Number { .. } => None,
        }
    }

    /// All figures, the last one tenths.
    pub(crate) fn figures(&self) -> String {
        match self {
            Self::Number { figures, .. } => figures.iter().map(|figure| format!("{figure}")).collect(),
            Self::Nothing | Self::Step(_) => "0".repeat(FIGURES),
        }
    }

    /// Which figure the knob turns.
    pub(crate) fn turning(&self) -> Option<usize> {
        match self {
            Self::Number { at, .. } => Some(*at),
            Self::Nothing | Self::Step(_) => None,
        }
    }

    /// After the knob was turned.
    pub(super) fn turned(&self, by: i8, kind: &OutcomeKind) -> Self {
        match (self, kind) {
            (Self::Number { figures, at }, OutcomeKind::Weight) => {
                let mut figures = *figures;
                if let Some(figure) = figures.get_mut(*at) {
                    // a dial: after 9 comes 0
                    *figure = (i16::from(*figure) + i16::from(by)).rem_euclid(10) as u8;
                }
                Self::Number { figures, at: *at }
            }
            (_, OutcomeKind::Weight) => Self::Number { figures: [0; FIGURES], at: BEGINS_AT }.turned(by, kind),
            (_, OutcomeKind::Scale(..) | OutcomeKind::Words(..)) => {
                let last = match kind {
                    OutcomeKind::Scale(first, last) => last.saturating_sub(*first),
                    OutcomeKind::Words(_, words) => u8::try_from(words.len().saturating_sub(1)).unwrap_or(u8::MAX),
                    OutcomeKind::Weight => 0,
                };
                match self.step() {
                    Some(step) => Self::Step(step.saturating_add_signed(by).min(last)),
                    // the first turn to the right begins in the middle, to the left too: no end is nearer
                    None => Self::Step(last / 2),
                }
            }
        }
    }

    /// What a push does.
    pub(super) fn pushed(&self, kind: &OutcomeKind) -> Push {
        match (self, kind) {
            (Self::Nothing, _) => Push::Skips,
            (Self::Number { figures, at }, _) if *at + 1 < FIGURES => {
                Push::Moves(Self::Number { figures: *figures, at: *at + 1 })
            }
            (Self::Number { figures, .. }, _) => {
                let tenths = figures.iter().fold(0, |sum, figure| sum * 10 + i64::from(*figure));
                Push::Notes(tenths * 100, Some("g".into()))
            }
            (Self::Step(step), OutcomeKind::Scale(first, _) | OutcomeKind::Words(first, _)) => {
                Push::Notes((i64::from(*first) + i64::from(*step)) * 1000, None)
            }
            (Self::Step(_), OutcomeKind::Weight) => Push::Skips,
        }
    }
}

/// The first thing from here on that is not on record.
pub(super) fn next_open(items: &[OutcomeItem], from: usize) -> usize {
    (from..items.len()).find(|at| !items[*at].noted).unwrap_or(items.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_turned_figure_by_figure() {
        let kind = OutcomeKind::Weight;
        let mut noting = Noting::Nothing;
        // 912.5 g: hundreds, tens, ones, tenths
        for by in [9, 1, 2, 5] {
            noting = match noting {
                Noting::Nothing => noting.turned(by, &kind),
                Noting::Step(_) | Noting::Number { .. } => match noting.pushed(&kind) {
                    Push::Moves(next) => next.turned(by, &kind),
                    Push::Skips | Push::Notes(..) => panic!("it has more figures"),
                },
            };
        }
        assert!(matches!(noting.pushed(&kind), Push::Notes(912_500, Some(unit)) if unit == "g"));
    }

    #[test]
    fn nothing_is_noted_that_was_not_turned_to() {
        for kind in [OutcomeKind::Weight, OutcomeKind::Scale(1, 9)] {
            assert!(matches!(Noting::Nothing.pushed(&kind), Push::Skips));
        }
    }

    #[test]
    fn a_scale_begins_in_its_middle_and_stops_at_its_ends() {
        let kind = OutcomeKind::Scale(1, 9);
        let middle = Noting::Nothing.turned(-1, &kind);
        assert!(matches!(middle.pushed(&kind), Push::Notes(5_000, None)));
        assert!(matches!(middle.turned(100, &kind).pushed(&kind), Push::Notes(9_000, None)));
        assert!(matches!(middle.turned(-100, &kind).pushed(&kind), Push::Notes(1_000, None)));
    }
}
