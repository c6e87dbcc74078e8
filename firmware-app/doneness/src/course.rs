//! The course of one cook so far, in a memory of fixed size.
//!
//! Readings go into 256 bins; when the last is full, neighbours are joined and all bins are twice as wide. So a bin is
//! never wider than one part in 128 of the time so far, a reading costs a constant time on average, and a twin is a copy.

use crate::job::Change;

const BINS: usize = 256;
const AIR_BINS: usize = 64;
const FIRST: usize = 20;
/// Turns that are kept; later ones push out the oldest but the first.
const TURNS: usize = 8;

#[derive(Clone, Copy, Debug, Default)]
struct Bin {
    n: f32,
    /// Sums of seconds since the bin's start, and of degrees.
    seconds: f32,
    degrees: f32,
}

/// Sums in equal bins that double their width as needed.
#[derive(Clone, Debug)]
struct Bins<const N: usize> {
    width: f64,
    bins: [Bin; N],
    used: usize,
}

impl<const N: usize> Bins<N> {
    const fn new() -> Self {
        Self { width: 1.0, bins: [Bin { n: 0.0, seconds: 0.0, degrees: 0.0 }; N], used: 0 }
    }

    fn add(&mut self, t: f64, degrees: f32) {
        while t >= self.width * N as f64 {
            let old = self.width as f32;
            for i in 0..N / 2 {
                let (a, b) = (self.bins[2 * i], self.bins[2 * i + 1]);
                self.bins[i] =
                    Bin { n: a.n + b.n, seconds: a.seconds + b.seconds + b.n * old, degrees: a.degrees + b.degrees };
            }
            self.bins[N / 2..].fill(Bin::default());
            self.width *= 2.0;
            self.used = self.used.div_ceil(2);
        }
        let i = (t / self.width) as usize;
        let bin = &mut self.bins[i];
        bin.n += 1.0;
        bin.seconds += (t - i as f64 * self.width) as f32;
        bin.degrees += degrees;
        self.used = self.used.max(i + 1);
    }

    fn index(&self, t: f64) -> usize {
        ((t / self.width).max(0.0) as usize).min(N - 1)
    }
}

/// What is known of one cook so far.
#[derive(Clone, Debug)]
pub struct Course {
    core: Bins<BINS>,
    air: Bins<AIR_BINS>,
    first: [f32; FIRST],
    firsts: usize,
    last: f64,
    turns: [f32; TURNS],
    turned: usize,
    changed: Option<f32>,
    dial: Option<f32>,
    dial_before: Option<f32>,
}

/// A line fitted to the last readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// °C at the last reading.
    pub degrees: f64,
    /// °C a second.
    pub slope: f64,
    /// Readings it was fitted to.
    pub n: f64,
}

impl Course {
    /// A course without readings; with the dial, if there is one.
    pub fn new(dial: Option<f32>) -> Self {
        Self {
            core: Bins::new(),
            air: Bins::new(),
            first: [0.0; FIRST],
            firsts: 0,
            last: 0.0,
            turns: [0.0; TURNS],
            turned: 0,
            changed: None,
            dial,
            dial_before: dial,
        }
    }

    /// Takes a reading `t` seconds after the first one; an earlier moment than the last is ignored.
    pub fn reading(&mut self, t: f64, degrees: f64) {
        if t < self.last {
            return;
        }
        self.last = t;
        if self.firsts < FIRST && t <= 60.0 {
            self.first[self.firsts] = degrees as f32;
            self.firsts += 1;
        }
        self.core.add(t, degrees as f32);
    }

    /// Takes a reading of the air beside the food.
    pub fn air(&mut self, t: f64, degrees: f64) {
        self.air.add(t.max(0.0), degrees as f32);
    }

    /// Takes a change that the cook told of.
    pub fn change(&mut self, t: f64, change: Change) {
        match change {
            Change::Turned => {
                let place = if self.turned < TURNS {
                    self.turned
                } else {
                    self.turns.copy_within(2.., 1);
                    TURNS - 1
                };
                self.turns[place] = t as f32;
                self.turned += 1;
            }
            Change::Dial(to) => {
                self.dial_before = self.dial;
                self.dial = Some(to);
                self.changed = Some(t as f32);
            }
            Change::Other => self.changed = Some(t as f32),
        }
    }

    /// Seconds from the first to the last reading.
    pub fn seconds(&self) -> f64 {
        self.last
    }

    /// The temperature at the start: the median of the first twenty readings.
    pub fn start(&self) -> Option<f64> {
        let mut sorted = self.first;
        let sorted = &mut sorted[..self.firsts];
        sorted.sort_unstable_by(f32::total_cmp);
        match self.firsts {
            0 => None,
            n if n % 2 == 1 => Some(f64::from(sorted[n / 2])),
            n => Some(f64::from(sorted[n / 2 - 1] + sorted[n / 2]) / 2.0),
        }
    }

    /// The line through the readings of the last `window` seconds; nothing with fewer than two moments.
    pub fn level(&self, window: f64) -> Option<Level> {
        self.line(self.last - window, self.last)
    }

    /// The line through the readings between two moments, with its level at the later one; nothing with fewer than two.
    pub fn line(&self, from: f64, to: f64) -> Option<Level> {
        let first = self.core.index(from.max(0.0));
        let last = (self.core.index(to) + 1).min(self.core.used);
        let (mut n, mut st, mut sc) = (0.0, 0.0, 0.0);
        let moments = |i: usize| {
            let bin = self.core.bins[i];
            let t = i as f64 * self.core.width + f64::from(bin.seconds / bin.n) - to;
            (f64::from(bin.n), t, f64::from(bin.degrees / bin.n))
        };
        let filled = || (first..last).filter(|i| self.core.bins[*i].n > 0.0);
        for i in filled() {
            let (m, t, c) = moments(i);
            n += m;
            st += m * t;
            sc += m * c;
        }
        if n < 2.0 {
            return None;
        }
        let (mt, mc) = (st / n, sc / n);
        let (mut stt, mut stc) = (0.0, 0.0);
        for i in filled() {
            let (m, t, c) = moments(i);
            stt += m * (t - mt) * (t - mt);
            stc += m * (t - mt) * (c - mc);
        }
        (stt > 0.0).then(|| {
            let slope = stc / stt;
            Level { degrees: mc - slope * mt, slope, n }
        })
    }

    /// Seconds at which the core was last under a temperature for a whole bin; nothing if it never was.
    pub fn last_under(&self, degrees: f64) -> Option<f64> {
        let under = |bin: &Bin| bin.n > 0.0 && f64::from(bin.degrees / bin.n) < degrees;
        let i = self.core.bins[..self.core.used].iter().rposition(under)?;
        Some((self.core.width * (i + 1) as f64).min(self.last))
    }

    /// Means of the readings round many moments; see [`Blocks::mean`].
    pub fn blocks(&self) -> Blocks {
        Blocks::of(&self.core)
    }

    /// The same of the air; nothing without a reading of it.
    pub fn air_blocks(&self) -> Option<Blocks<AIR_BINS>> {
        (self.air.used > 0).then(|| Blocks::of(&self.air))
    }

    /// How often it was turned, and when: the first, the last and the one before the last, seconds.
    pub fn turns(&self) -> (usize, Option<[f32; 3]>) {
        let kept = self.turned.min(TURNS);
        (self.turned, (kept > 0).then(|| [self.turns[0], self.turns[kept - 1], self.turns[kept.saturating_sub(2)]]))
    }

    /// When a change was last told, seconds; and the dial, now and before it.
    pub fn changed(&self) -> (Option<f32>, Option<f32>, Option<f32>) {
        (self.changed, self.dial, self.dial_before)
    }
}

/// Running sums over the bins, for means over any stretch.
#[derive(Clone, Debug)]
pub struct Blocks<const N: usize = BINS> {
    width: f64,
    used: usize,
    /// Sums before each bin.
    n: [f32; N],
    degrees: [f64; N],
    total_n: f32,
    total_degrees: f64,
}

impl<const N: usize> Blocks<N> {
    fn of(bins: &Bins<N>) -> Self {
        let mut blocks = Self {
            width: bins.width,
            used: bins.used,
            n: [0.0; N],
            degrees: [0.0; N],
            total_n: 0.0,
            total_degrees: 0.0,
        };
        for (i, bin) in bins.bins[..bins.used].iter().enumerate() {
            blocks.n[i] = blocks.total_n;
            blocks.degrees[i] = blocks.total_degrees;
            blocks.total_n += bin.n;
            blocks.total_degrees += f64::from(bin.degrees);
        }
        blocks
    }

    fn sums(&self, t: f64) -> (f64, f64) {
        let place = (t / self.width).max(0.0);
        let i = place as usize;
        if i >= self.used {
            return (f64::from(self.total_n), self.total_degrees);
        }
        let share = place - i as f64;
        let (n0, d0) = (f64::from(self.n[i]), self.degrees[i]);
        let (n1, d1) = if i + 1 < self.used {
            (f64::from(self.n[i + 1]), self.degrees[i + 1])
        } else {
            (f64::from(self.total_n), self.total_degrees)
        };
        (n0 + (n1 - n0) * share, d0 + (d1 - d0) * share)
    }

    /// The mean of the readings within `half` seconds of a moment, and about how many they are; where there are none, of
    /// a stretch widened until there are.
    pub fn mean(&self, middle: f64, half: f64) -> (f64, f64) {
        let mut half = half.max(0.5 * self.width);
        for _ in 0..16 {
            let (n0, d0) = self.sums(middle - half);
            let (n1, d1) = self.sums(middle + half);
            if n1 - n0 > 0.5 {
                return ((d1 - d0) / (n1 - n0), n1 - n0);
            }
            half *= 2.0;
        }
        (self.total_degrees / f64::from(self.total_n.max(1.0)), 1.0)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn ramp(seconds: u32, slope: f64) -> Course {
        let mut course = Course::new(None);
        for t in 0..=seconds {
            course.reading(f64::from(t), 5.0 + slope * f64::from(t));
        }
        course
    }

    #[test]
    fn a_straight_rise_is_found_again_after_any_number_of_doublings() {
        for seconds in [30, 300, 3000, 40_000] {
            let course = ramp(seconds, 0.002);
            let level = course.level((0.06 * f64::from(seconds)).max(20.0)).unwrap();
            let true_level = 5.0 + 0.002 * f64::from(seconds);
            assert!((level.degrees - true_level).abs() < 0.005, "{seconds}: {level:?}");
            assert!((level.slope - 0.002).abs() < 2e-5, "{seconds}: {level:?}");
            let (mean, _) = course.blocks().mean(0.4 * f64::from(seconds), 0.02 * f64::from(seconds));
            assert!((mean - 5.0 - 0.002 * 0.4 * f64::from(seconds)).abs() < 0.02, "{seconds}: {mean}");
        }
    }

    #[test]
    fn a_line_between_two_moments_sees_nothing_of_the_rest() {
        let mut course = Course::new(None);
        for t in 0..3000 {
            let t = f64::from(t);
            course.reading(t, if t < 1000.0 { 5.0 + 0.01 * t } else { 15.0 + 0.03 * (t - 1000.0) });
        }
        let line = course.line(500.0, 980.0).unwrap();
        assert!((line.slope - 0.01).abs() < 1e-4, "{line:?}");
        assert!((line.degrees - 14.8).abs() < 0.05, "{line:?}");
    }

    #[test]
    fn the_end_of_thawing_is_the_last_moment_under_a_temperature() {
        let mut course = Course::new(None);
        for t in 0..2000 {
            let t = f64::from(t);
            course.reading(t, if t < 1200.0 { (-12.0 + 0.02 * t).min(-0.9) } else { -0.9 + 0.02 * (t - 1200.0) });
        }
        let thawed = course.last_under(0.5).unwrap();
        assert!((1255.0..1290.0).contains(&thawed), "{thawed}");
        assert_eq!(course.last_under(-20.0), None);
    }

    #[test]
    fn the_start_is_a_median_and_one_wild_reading_does_not_move_it() {
        let mut course = Course::new(None);
        for t in 0..30 {
            course.reading(f64::from(t), if t == 3 { 300.0 } else { 7.0 });
        }
        assert_eq!(course.start(), Some(7.0));
    }

    #[test]
    fn a_gap_is_bridged_by_its_neighbours() {
        let mut course = Course::new(None);
        for t in (0..200).chain(600..1000) {
            course.reading(f64::from(t), 10.0 + 0.01 * f64::from(t));
        }
        let (mean, _) = course.blocks().mean(400.0, 20.0);
        assert!((12.0..17.0).contains(&mean), "{mean}");
    }

    #[test]
    fn the_first_and_last_turns_are_kept_however_many_there_are() {
        let mut course = Course::new(None);
        for n in 1..=20 {
            course.change(f64::from(n) * 30.0, Change::Turned);
        }
        assert_eq!(course.turns(), (20, Some([30.0, 600.0, 570.0])));
    }
}
