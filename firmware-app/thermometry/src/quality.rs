use quantities::{Celsius, NoReading, RunTime, Span};

/// How far a reading can be believed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Quality {
    /// Shown, used for estimates, counts for targets.
    Good,
    /// Shown and used for estimates as each [`Doubt`] says; never counts for a target.
    Doubtful(Doubt),
    /// Not used; the fault is named.
    Bad(Fault),
}

/// Why a reading is believed only in part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doubt {
    /// The probe was put in or listened to again only just now. Fit for estimates.
    Settling,
    /// It stands off the line of the readings before it by this many degrees; the next ones will tell.
    Sudden(f64),
    /// It came back from a fault to another temperature than the food had.
    Elsewhere,
    /// It scatters about its line with this standard deviation, in degrees. Fit for estimates.
    Noisy(f64),
    /// It has never changed since it was put in. Fit for estimates.
    NeverMoved(Span),
    /// It is hotter than the food can be: the tip may be in air or in fat.
    TooHot,
    /// It is this old. Fit for estimates.
    Old(Span),
}

/// Why a reading is not believed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// The probe, its converter or its bus named a fault.
    Named(NoReading),
    /// Nothing has come for this long.
    Silent(Span),
    /// The very same value for this long, from a probe that used to change.
    Stuck(Span),
    /// Off the line of the readings before it by this many degrees at once.
    Jumped(f64),
    /// Moving at this many degrees a second, which food cannot: pulled out into air.
    PulledOut(f64),
}

/// A reading as it was judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// How far it can be believed.
    pub quality: Quality,
    /// The value, if there is one that may be shown.
    pub value: Option<Celsius>,
    /// When it was measured.
    pub at: RunTime,
    /// Readings from this moment on are part of the same fault and were believed in vain: means and sums of them are to
    /// be made anew.
    pub suspect_from: Option<RunTime>,
}

impl Judged {
    /// The value if it counts for a target.
    pub fn for_target(&self) -> Option<Celsius> {
        match self.quality {
            Quality::Good => self.value,
            Quality::Doubtful(_) | Quality::Bad(_) => None,
        }
    }

    /// The value if it may be used for an estimate.
    pub fn for_estimate(&self) -> Option<Celsius> {
        match self.quality {
            Quality::Good => self.value,
            Quality::Doubtful(doubt) => match doubt {
                Doubt::Settling | Doubt::Noisy(_) | Doubt::NeverMoved(_) | Doubt::Old(_) => self.value,
                Doubt::Sudden(_) | Doubt::Elsewhere | Doubt::TooHot => None,
            },
            Quality::Bad(_) => None,
        }
    }

    /// How old it is.
    pub fn age(&self, now: RunTime) -> Span {
        now.since(self.at)
    }
}

impl Fault {
    /// The fault in the words of the record.
    pub const fn no_reading(self) -> NoReading {
        match self {
            Self::Named(why) => why,
            Self::Silent(_) => NoReading::Timeout,
            Self::Stuck(_) => NoReading::Stuck,
            Self::Jumped(_) | Self::PulledOut(_) => NoReading::Jumped,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_good_reading_counts_for_a_target() {
        let judged =
            |quality| Judged { quality, value: Some(Celsius::whole(63)), at: RunTime::START, suspect_from: None };
        assert_eq!(judged(Quality::Good).for_target(), Some(Celsius::whole(63)));
        for doubt in [Doubt::Settling, Doubt::Noisy(2.0), Doubt::Elsewhere, Doubt::TooHot, Doubt::Sudden(1.0)] {
            assert_eq!(judged(Quality::Doubtful(doubt)).for_target(), None);
        }
        assert_eq!(judged(Quality::Doubtful(Doubt::Elsewhere)).for_estimate(), None);
        assert_eq!(judged(Quality::Bad(Fault::Jumped(9.0))).for_estimate(), None);
        assert_eq!(Fault::PulledOut(1.0).no_reading(), NoReading::Jumped);
    }
}
