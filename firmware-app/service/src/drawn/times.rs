use quantities::{RunTime, Span};

use super::Timeline;

const MINUTE: u64 = 60_000;
const DAY: u64 = 24 * 60 * MINUTE;

/// From when to when is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) from: RunTime,
    pub(super) to: RunTime,
}

impl Stretch {
    /// All bars, tails, slack and landings; the present moment if that makes it at most a third longer. At least a minute.
    pub(super) fn of(timeline: &Timeline) -> Self {
        let landings = || timeline.landings.iter();
        let moments: Vec<RunTime> = timeline
            .bars()
            .flat_map(|bar| [Some(bar.start), Some(bar.high()), bar.slack_end()])
            .chain(landings().flat_map(|landing| {
                let (low, high) = landing.likely.unwrap_or((landing.at, landing.at));
                [Some(landing.at), Some(low), Some(high)]
            }))
            .flatten()
            .collect();
        let from = moments.iter().min().copied();
        let Some(from) = from.or(timeline.now) else {
            return Self { from: RunTime::START, to: RunTime::START + Span::from_mins(1) };
        };
        let mut stretch = Self { from, to: moments.into_iter().max().unwrap_or(from) };
        let room = stretch.to.since(stretch.from) / 3;
        let extra = timeline.now.into_iter().chain(landings().filter_map(|landing| landing.wanted));
        for moment in extra {
            if moment + room >= stretch.from && moment <= stretch.to + room {
                stretch.from = stretch.from.min(moment);
                stretch.to = stretch.to.max(moment);
            }
        }
        stretch.to = stretch.to.max(stretch.from + Span::from_mins(1));
        stretch
    }

    pub(super) fn holds(self, moment: RunTime) -> bool {
        self.from <= moment && moment <= self.to
    }

    /// Where a moment lies on a line from `left` to `right`; outside it, at its nearer end.
    pub(super) fn place(self, moment: RunTime, left: i32, right: i32) -> i32 {
        let whole = self.to.since(self.from).millis().max(1);
        let part = moment.since(self.from).millis().min(whole);
        let room = u64::from((right - left).max(0).unsigned_abs());
        // times are below 285 years in ms, rooms below 2^16 px
        left + i32::try_from((part * room + whole / 2) / whole).unwrap_or(0)
    }

    /// Round moments that lie at least `apart` px from each other.
    pub(super) fn ticks(self, timeline: &Timeline, left: i32, right: i32, apart: i32) -> Vec<RunTime> {
        let room = u64::from((right - left).max(1).unsigned_abs());
        let whole = self.to.since(self.from).millis().max(1);
        let wide = |minutes: u64| minutes * MINUTE * room >= whole * u64::from(apart.unsigned_abs());
        let steps = [1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 720, 1440];
        let step = steps.into_iter().find(|minutes| wide(*minutes));
        // longer than some days: whole days
        let step =
            step.unwrap_or_else(|| (1u64..).map(|days| days * 1440).find(|minutes| wide(*minutes)).unwrap_or(1440));
        let step = step * MINUTE;
        let ahead = timeline.clock.map_or(0, Span::millis);
        let first = (self.from.millis() + ahead).div_ceil(step) * step;
        let ticks = (0..).map(|count| (first + count * step).saturating_sub(ahead)).map(RunTime::from_millis);
        ticks.take_while(|tick| *tick <= self.to).collect()
    }
}

impl Timeline {
    /// A moment as people read it, to the minute: the time of day, or hours and minutes since the start.
    pub(super) fn moment(&self, moment: RunTime) -> String {
        let millis = moment.millis() + self.clock.map_or(0, Span::millis);
        let minutes = (millis + MINUTE / 2) / MINUTE;
        match self.clock {
            Some(_) => {
                let of_day = minutes % (DAY / MINUTE);
                format!("{:02}:{:02}", of_day / 60, of_day % 60)
            }
            None => format!("{}:{:02}", minutes / 60, minutes % 60),
        }
    }
}

/// A length of time to the minute, under ten minutes to the half: `12 min`, `1 h 05`.
pub(super) fn span(span: Span) -> String {
    let half_minutes = (span.millis() + MINUTE / 4) / (MINUTE / 2);
    let minutes = (span.millis() + MINUTE / 2) / MINUTE;
    if minutes >= 60 {
        format!("{} h {:02}", minutes / 60, minutes % 60)
    } else if half_minutes < 20 && half_minutes % 2 == 1 {
        format!("{}.5 min", half_minutes / 2)
    } else {
        format!("{minutes} min")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minute: u64) -> RunTime {
        RunTime::START + Span::from_mins(minute)
    }

    #[test]
    fn ticks_lie_on_round_times_of_day() {
        let timeline = Timeline { clock: Some(Span::from_mins(17 * 60 + 5)), ..Timeline::default() };
        let told = |stretch: Stretch, room| {
            let ticks = stretch.ticks(&timeline, 0, room, 60);
            ticks.into_iter().map(|tick| timeline.moment(tick)).collect::<Vec<_>>().join(" ")
        };
        let stretch = Stretch { from: at(0), to: at(100) };
        assert_eq!(told(stretch, 800), "17:10 17:20 17:30 17:40 17:50 18:00 18:10 18:20 18:30 18:40");
        assert_eq!(told(stretch, 200), "17:30 18:00 18:30");
        // past midnight it begins anew
        let late = Stretch { from: at(400), to: at(440) };
        assert_eq!(told(late, 260), "23:50 00:00 00:10 00:20");
        let days = Stretch { from: at(0), to: at(20 * 1440) };
        assert!(days.ticks(&timeline, 0, 300, 60).len() <= 5);
    }

    #[test]
    fn moments_without_a_clock_count_from_the_start() {
        let timeline = Timeline::default();
        assert_eq!(timeline.moment(at(0)), "0:00");
        assert_eq!(timeline.moment(RunTime::from_millis(100 * 60_000 + 30_000)), "1:41");
    }

    #[test]
    fn spans_are_told_as_short_as_they_need() {
        let secs = |secs| span(Span::from_secs(secs));
        let expected = ["0 min", "0.5 min", "1.5 min", "2 min", "12 min", "1 h 00", "1 h 05"];
        assert_eq!([0, 30, 90, 119, 725, 3599, 3901].map(secs), expected);
    }

    #[test]
    fn present_moment_far_outside_does_not_shrink_the_plan() {
        let landing = |at, wanted| super::super::LandingMark { name: String::new(), at, likely: None, wanted };
        let mut timeline =
            Timeline { landings: vec![landing(at(300), None), landing(at(360), None)], ..Timeline::default() };
        timeline.now = Some(at(0));
        assert_eq!(Stretch::of(&timeline), Stretch { from: at(300), to: at(360) });
        timeline.now = Some(at(280));
        assert_eq!(Stretch::of(&timeline).from, at(280));
        assert_eq!(Stretch::of(&Timeline::default()), Stretch { from: at(0), to: at(1) });
    }

    #[test]
    fn places_run_from_edge_to_edge() {
        let stretch = Stretch { from: at(10), to: at(20) };
        assert_eq!([5, 10, 15, 20, 25].map(|minute| stretch.place(at(minute), 100, 300)), [100, 100, 200, 300, 300]);
    }
}
