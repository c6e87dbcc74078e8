use quantities::{RunTime, Span};
use run_engine::{
    TrialNo,
    view::{LandingView, RunView},
};

use crate::{DayClock, ReadyAtView, StationView};

/// Minutes of one click of the knob.
const STEP: i64 = 5;
/// A time of day says no more than which one of the next day's length it is.
const MOST: Span = Span::from_mins(24 * 60);

/// Whether the knob changes when the dishes of the prepared trial are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stating {
    /// It does not.
    No,
    /// It does.
    Yes {
        /// What was stated before, to go back to.
        before: Option<RunTime>,
    },
}

/// What the knob can state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Least {
    /// Below the earliest moment it is "as it comes".
    AsItComes,
    /// The earliest moment: a plan that is followed is not given up by a turn.
    Earliest,
}

/// Minutes as they are shown: of the day, or from now on where the time of day is not known.
struct Minutes {
    clock: Option<DayClock>,
    now: RunTime,
}

impl Minutes {
    /// The minute that is shown for a moment.
    fn shown(&self, moment: RunTime) -> i64 {
        self.clock.map_or_else(|| self.from(moment), |clock| clock.minute(moment))
    }

    /// The first minute that does not begin before a moment.
    fn from(&self, moment: RunTime) -> i64 {
        match self.clock {
            Some(clock) => clock.minute_from(moment),
            None => moment.since(self.now).millis().div_ceil(60_000) as i64,
        }
    }

    fn moment(&self, minute: i64) -> RunTime {
        match self.clock {
            Some(clock) => clock.moment(minute),
            None => self.now + Span::from_mins(u64::try_from(minute).unwrap_or(0)),
        }
    }
}

/// What is stated after a turn of the knob; none if that changes nothing.
///
/// A click leads to the next whole five minutes. None of them comes before the earliest moment by the plan, or before now
/// where that is not known.
pub(super) fn turned(
    asked: &ReadyAtView,
    by: i8,
    least: Least,
    clock: Option<DayClock>,
    now: RunTime,
) -> Option<Option<RunTime>> {
    let minutes = Minutes { clock, now };
    let up = |minute: i64| minute.div_euclid(STEP) + i64::from(minute.rem_euclid(STEP) != 0);
    let lowest = up(minutes.from(asked.earliest.unwrap_or(now).max(now)));
    let highest = (up(minutes.from(now + MOST)) - 1).max(lowest);
    let known = asked.wanted.map(|wanted| minutes.shown(wanted));
    let by = i64::from(by);
    let mark = match known {
        None if by <= 0 => return None,
        None => lowest + by - 1,
        Some(minute) if by > 0 => (minute.div_euclid(STEP) + by).max(lowest),
        Some(minute) => up(minute) + by,
    };
    if mark < lowest {
        return match least {
            Least::AsItComes => Some(None),
            // what was stated and has become too soon is not moved on by a turn back
            Least::Earliest => {
                known.filter(|known| *known > lowest * STEP).map(|_| Some(minutes.moment(lowest * STEP)))
            }
        };
    }
    let minute = mark.min(highest) * STEP;
    (known != Some(minute)).then(|| Some(minutes.moment(minute)))
}

/// What is known of the moment at which the dishes of a trial that goes on are wanted.
pub(super) fn of_trial(no: TrialNo, run: &RunView, station: &StationView) -> ReadyAtView {
    let asked = station.wanting.as_ref().filter(|wanting| wanting.trial == no);
    let wanted = || run.landings.iter().find(|landing| landing.trial == no).and_then(|landing| landing.wanted);
    asked.map_or_else(|| ReadyAtView { wanted: wanted(), ..ReadyAtView::default() }, |asked| asked.ready_at.clone())
}

/// The least that can be stated for a trial that goes on.
pub(super) fn least_of(no: TrialNo, run: &RunView) -> Least {
    let stated = |landing: &LandingView| landing.trial == no && landing.wanted.is_some();
    if run.landings.iter().any(stated) { Least::Earliest } else { Least::AsItComes }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12:02:20 by the clock.
    const NOW: RunTime = RunTime::from_millis(3_600_000);

    fn clock() -> Option<DayClock> {
        Some(DayClock::new(NOW, 12 * 3600 + 140))
    }

    fn at(mins: u64) -> RunTime {
        NOW + Span::from_mins(mins)
    }

    fn said(asked: &ReadyAtView, by: i8, least: Least) -> Option<Option<alloc::string::String>> {
        let clock = clock();
        turned(asked, by, least, clock, NOW).map(|moment| moment.zip(clock).map(|(moment, clock)| clock.at(moment)))
    }

    fn asked(wanted: Option<RunTime>, earliest: Option<RunTime>) -> ReadyAtView {
        ReadyAtView { wanted, earliest, plan: None }
    }

    fn stated(mins: u64) -> Option<RunTime> {
        // 12:00 and so many minutes
        Some(at(mins).earlier(Span::from_secs(140)))
    }

    #[test]
    fn the_first_click_is_the_earliest_moment_and_each_one_more_five_minutes() {
        let untouched = asked(None, Some(at(61)));
        let time = |text: &str| Some(Some(text.into()));
        assert_eq!(said(&untouched, 1, Least::AsItComes), time("13:05"));
        assert_eq!(said(&untouched, 3, Least::AsItComes), time("13:15"));
        assert_eq!(said(&untouched, -1, Least::AsItComes), None, "it is as it comes already");
        // not known: from now on
        assert_eq!(said(&asked(None, None), 1, Least::AsItComes), time("12:05"));
    }

    #[test]
    fn below_the_earliest_it_is_as_it_comes_again() {
        let lowest = asked(stated(65), Some(at(61)));
        assert_eq!(said(&lowest, -1, Least::AsItComes), Some(None));
        assert_eq!(said(&asked(stated(80), Some(at(61))), -99, Least::AsItComes), Some(None));
        assert_eq!(said(&asked(stated(80), Some(at(61))), -3, Least::AsItComes), Some(Some("13:05".into())));
    }

    #[test]
    fn a_plan_that_is_followed_is_not_given_up_by_a_turn() {
        assert_eq!(said(&asked(stated(65), Some(at(61))), -1, Least::Earliest), None);
        assert_eq!(said(&asked(stated(80), Some(at(61))), -99, Least::Earliest), Some(Some("13:05".into())));
        // too soon by now: a turn back changes nothing, a turn on leads to what can be
        assert_eq!(said(&asked(stated(20), Some(at(61))), -1, Least::Earliest), None);
        assert_eq!(said(&asked(stated(20), Some(at(61))), 1, Least::Earliest), Some(Some("13:05".into())));
    }

    #[test]
    fn a_clock_that_was_set_by_a_second_does_not_eat_a_click() {
        let early = stated(80).map(|moment| moment.earlier(Span::from_secs(1)));
        assert_eq!(said(&asked(early, None), 1, Least::AsItComes), Some(Some("13:25".into())));
        assert_eq!(said(&asked(early, None), -1, Least::AsItComes), Some(Some("13:15".into())));
    }

    #[test]
    fn no_moment_lies_a_day_ahead() {
        let far = asked(stated(23 * 60 + 55), None);
        let last = said(&far, 127, Least::AsItComes);
        assert_eq!(last, Some(Some("12:00".into())));
        assert_eq!(said(&asked(stated(24 * 60), None), 1, Least::AsItComes), None);
    }

    #[test]
    fn without_a_clock_a_click_is_a_length_of_five_minutes_from_now() {
        let mins = |asked: &ReadyAtView, by| {
            let moment = turned(asked, by, Least::AsItComes, None, NOW);
            moment.map(|moment| moment.map(|moment| moment.since(NOW).whole_secs() / 60))
        };
        assert_eq!(mins(&asked(None, Some(at(61))), 1), Some(Some(65)));
        // 44 min and a part are shown as 45 min
        let shown = at(45).earlier(Span::from_secs(20));
        assert_eq!(mins(&asked(Some(shown), None), 1), Some(Some(50)));
        assert_eq!(mins(&asked(Some(shown), None), -1), Some(Some(40)));
        assert_eq!(mins(&asked(Some(at(65)), Some(at(61))), -1), Some(None));
    }
}
