//! The bank: simulated cooks as packed curves, and how like them a course is.
//!
//! Method: each curve is stretched in time until it stands where the course stands, and weighed by how far the course's
//! shape lies from it; the weighted curves then say when the target comes. Bytes are read where they lie.

use libm::{exp, log};

use crate::{
    course::{Course, Level},
    job::Appliance,
    packed::{self, Mark, PackedError},
    signs::{LAG, measure, unmeasure},
};

/// Points a curve, evenly in time from its start to its end.
pub const POINTS: usize = 200;
/// Bytes before the points: appliance, turns, dial in whole °C (0 none), seconds (f32), first turn as a share (u16), spare (u16).
pub const HEAD: usize = 12;
const CURVE: usize = HEAD + 2 * POINTS;
/// Points are stored in 256ths of a degree above this.
pub const COLDEST: f32 = -40.0;
/// Cores at which a copy was pulled and rested, °C.
pub const PULLS: [f32; 8] = [36.0, 44.0, 52.0, 60.0, 68.0, 76.0, 84.0, 92.0];
const REST: usize = 4 * PULLS.len();

/// Packed curves and, for the same cooks, rests.
#[derive(Clone, Copy, Debug)]
pub struct Bank<'a> {
    curves: &'a [u8],
    rests: &'a [u8],
    /// The seed it was made from.
    pub seed: u64,
}

/// What the bank says of the time left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likely {
    /// Time left over time so far in the learnt measure: 10, 50 and 90 %.
    pub left: [f64; 3],
    /// Share of the weight on curves that come to the target.
    pub reaches: f64,
    /// How many curves share the weight, in effect.
    pub alike: f64,
}

/// What the bank says of a pull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LikelyRise {
    /// °C: 10, 50 and 90 %.
    pub rise: [f64; 3],
    /// Time to the peak over time so far, the middle.
    pub after: f64,
}

struct Curve<'a> {
    bytes: &'a [u8],
}

impl<'a> Bank<'a> {
    /// Opens the two files of a bank.
    pub fn open(curves: &'a [u8], rests: &'a [u8]) -> Result<Self, PackedError> {
        let curves = packed::open(Mark::Curves, curves)?;
        let rests = packed::open(Mark::Rests, rests)?;
        for (packed, each) in [(&curves, CURVE), (&rests, REST)] {
            let expected = each * curves.count as usize;
            if packed.content.len() != expected {
                return Err(PackedError::Size { count: curves.count, expected, found: packed.content.len() });
            }
        }
        Ok(Self { curves: curves.content, rests: rests.content, seed: curves.seed })
    }

    /// How many curves.
    pub fn len(&self) -> usize {
        self.curves.len() / CURVE
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.curves.is_empty()
    }

    /// The time left, by the curves that are like the course; nothing if none is.
    pub fn time_left(&self, course: &Course, appliance: Appliance, target: f64) -> Option<Likely> {
        let seen = Seen::of(course)?;
        let mut left = Heap::new();
        let (mut never, mut squares) = (0.0, 0.0);
        for curve in self.curves.chunks_exact(CURVE).map(|bytes| Curve { bytes }) {
            let Some((weight, i1, f)) = seen.weigh(&curve, appliance) else { continue };
            squares += weight * weight;
            match curve.when((target - seen.start) * f + curve.start()) {
                Some(i2) => left.put(measure((i2 / i1 - 1.0) * seen.fed / seen.t), weight),
                None => never += weight,
            }
        }
        let reached = left.total;
        let all = reached + never;
        (all > 0.0).then(|| Likely {
            left: if reached > 0.0 { [0.1, 0.5, 0.9].map(|share| left.quantile(share)) } else { [0.0; 3] },
            reaches: reached / all,
            alike: all * all / squares,
        })
    }

    /// The rise after a pull now; nothing if no like curve was pulled near there.
    pub fn rise(&self, course: &Course, appliance: Appliance) -> Option<LikelyRise> {
        let seen = Seen::of(course)?;
        let (mut rises, mut afters) = (Heap::new(), Heap::new());
        for (bytes, rest) in self.curves.chunks_exact(CURVE).zip(self.rests.chunks_exact(REST)) {
            let curve = Curve { bytes };
            let Some((weight, i1, f)) = seen.weigh(&curve, appliance) else { continue };
            let there = f64::from(curve.point(i1 as usize));
            let Some((rise, after)) = rest_at(rest, there) else { continue };
            // stretched in time, and by the difference to boiling
            rises.put((rise / f) / RISES, weight);
            let so_far = i1 / (POINTS - 1) as f64 * f64::from(curve.seconds());
            afters.put((after / so_far * seen.fed / seen.t).min(4.9), weight);
        }
        (rises.total > 0.0).then(|| LikelyRise {
            rise: [0.1, 0.5, 0.9].map(|share| rises.quantile(share) * RISES),
            after: afters.quantile(0.5),
        })
    }
}

/// Rises are sorted in fifths of this range, °C.
const RISES: f64 = 10.0;

/// Rise and seconds to the peak for a pull at a core, between the two nearest pulls.
fn rest_at(rest: &[u8], core: f64) -> Option<(f64, f64)> {
    let pull = |i: usize| {
        let word = |at: usize| u16::from_le_bytes([rest[4 * i + at], rest[4 * i + at + 1]]);
        (word(0) != u16::MAX).then(|| (f64::from(word(0)) / 200.0, f64::from(word(2))))
    };
    let first = f64::from(PULLS[0]);
    let step = f64::from(PULLS[1] - PULLS[0]);
    let place = ((core - first) / step).clamp(0.0, (PULLS.len() - 1) as f64);
    let i = (place as usize).min(PULLS.len() - 2);
    match (pull(i), pull(i + 1)) {
        (Some(a), Some(b)) => {
            let share = place - i as f64;
            Some((a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share))
        }
        (Some(one), None) | (None, Some(one)) => Some(one),
        (None, None) => None,
    }
}

const PLACES: usize = 24;

/// The course as the bank compares it.
struct Seen {
    t: f64,
    fed: f64,
    start: f64,
    rise: f64,
    dial: Option<f64>,
    turns: usize,
    first_turn: f64,
    /// Share of the time, and rise there.
    places: [(f64, f64); PLACES],
    /// One over the square of the spread, with the weight of the place.
    trust: [f64; PLACES],
}

impl Seen {
    fn of(course: &Course) -> Option<Self> {
        let t = course.seconds();
        let start = course.start()?;
        let Level { degrees, n, .. } = course.level((0.06 * t).max(20.0))?;
        let rise = degrees - start;
        let fed = t - LAG;
        if fed < 10.0 || rise < 1.0 {
            return None;
        }
        let blocks = course.blocks();
        let mut places = [(0.0, 0.0); PLACES];
        let mut trust = [0.0; PLACES];
        let mut whole = 0.0;
        for (k, (place, trust)) in places.iter_mut().zip(&mut trust).enumerate() {
            let share = 0.06 + 0.92 * k as f64 / (PLACES - 1) as f64;
            let (mean, m) = blocks.mean(LAG + share * fed, 0.02 * t);
            *place = (share, mean - start);
            let noise = 0.0625 / m.max(1.0) + 0.0625 / n;
            let spread = 0.12 * 0.12 + 0.012 * rise * 0.012 * rise + noise;
            *trust = share * share / spread;
            whole += share * share;
        }
        for trust in &mut trust {
            *trust *= PLACES as f64 / whole;
        }
        let (turns, when) = course.turns();
        let (_, dial, _) = course.changed();
        let first_turn = when.map_or(0.0, |[first, ..]| f64::from(first) / t);
        Some(Self { t, fed, start, rise, dial: dial.map(f64::from), turns, first_turn, places, trust })
    }

    /// The weight of a curve, the place on it where the course stands, and its scale; nothing if it is of another
    /// appliance or never comes there.
    fn weigh(&self, curve: &Curve<'_>, appliance: Appliance) -> Option<(f64, f64, f64)> {
        if curve.appliance() != appliance as u8 {
            return None;
        }
        let start = curve.start();
        // what costs least is asked first
        let mut ln = 0.0;
        let square = |x: f64| -0.5 * x * x;
        if let (Some(ours), Some(theirs)) = (self.dial, curve.dial()) {
            ln += square((ours - theirs) / 25.0);
        }
        ln += square((self.start - start) / 10.0);
        if ln < -TOO_FAR {
            return None;
        }
        let f = (100.0 - start) / (100.0 - self.start);
        let i1 = curve.when(self.rise * f + start)?;
        if i1 < 1.0 {
            return None;
        }
        // as thick as kitchens have it: the stretch of time is not without limits
        let so_far = i1 / (POINTS - 1) as f64 * f64::from(curve.seconds());
        ln += square(log(self.fed / so_far) / 0.9);
        let theirs = curve.first_turn() * (POINTS - 1) as f64 / i1;
        match (self.turns > 0, curve.turns() > 0 && theirs < 1.0) {
            (true, true) => ln += square(log(self.first_turn.max(0.02) / theirs.max(0.02)) / 0.35),
            (true, false) | (false, true) => ln -= 2.0,
            (false, false) => {}
        }
        let mut away = 0.0;
        // every fourth place, then the places between: a far curve is given up early
        for first in [2, 0, 3, 1] {
            if ln - 0.5 * EIGHT * away < -TOO_FAR {
                return None;
            }
            for k in (first..PLACES).step_by(4) {
                let (share, rise) = self.places[k];
                let d = (curve.at(share * i1) - start) / f - rise;
                away += self.trust[k] * d * d;
            }
        }
        ln -= 0.5 * EIGHT * away;
        (ln > -TOO_FAR).then(|| (exp(ln), i1, f))
    }
}

/// Neighbouring places are not independent: 24 count as 8.
const EIGHT: f64 = 8.0 / 24.0;
/// A weight below e to minus this is nought.
const TOO_FAR: f64 = 16.0;

impl Curve<'_> {
    fn appliance(&self) -> u8 {
        self.bytes[0]
    }

    fn turns(&self) -> u8 {
        self.bytes[1]
    }

    fn dial(&self) -> Option<f64> {
        let dial = u16::from_le_bytes([self.bytes[2], self.bytes[3]]);
        (dial > 0).then(|| f64::from(dial))
    }

    fn seconds(&self) -> f32 {
        f32::from_le_bytes([self.bytes[4], self.bytes[5], self.bytes[6], self.bytes[7]])
    }

    /// As a share of the whole curve.
    fn first_turn(&self) -> f64 {
        f64::from(u16::from_le_bytes([self.bytes[8], self.bytes[9]])) / 65_535.0
    }

    fn start(&self) -> f64 {
        f64::from(self.point(0))
    }

    fn point(&self, i: usize) -> f32 {
        let at = HEAD + 2 * i;
        f32::from(u16::from_le_bytes([self.bytes[at], self.bytes[at + 1]])) / 256.0 + COLDEST
    }

    fn at(&self, place: f64) -> f64 {
        let i = (place as usize).min(POINTS - 2);
        let (a, b) = (self.point(i), self.point(i + 1));
        f64::from(a) + f64::from(b - a) * (place - i as f64)
    }

    /// Where the curve comes to a temperature, in points, by halving: curves rise but for small dips.
    fn when(&self, degrees: f64) -> Option<f64> {
        if degrees > f64::from(self.point(POINTS - 1)) {
            return None;
        }
        let (mut a, mut b) = (0, POINTS - 1);
        while b - a > 1 {
            let m = usize::midpoint(a, b);
            if f64::from(self.point(m)) < degrees { a = m } else { b = m }
        }
        let (low, high) = (f64::from(self.point(a)), f64::from(self.point(b)));
        let share = if high > low { ((degrees - low) / (high - low)).clamp(0.0, 1.0) } else { 1.0 };
        Some(a as f64 + share)
    }
}

const SLOTS: usize = 500;

/// Weighted numbers from 0 to 5, sorted into slots as they come.
struct Heap {
    slots: [f64; SLOTS],
    total: f64,
}

impl Heap {
    fn new() -> Self {
        Self { slots: [0.0; SLOTS], total: 0.0 }
    }

    fn put(&mut self, value: f64, weight: f64) {
        let slot = ((value * 100.0) as usize).min(SLOTS - 1);
        self.slots[slot] += weight;
        self.total += weight;
    }

    fn quantile(&self, share: f64) -> f64 {
        let mut left = share * self.total;
        for (i, slot) in self.slots.iter().enumerate() {
            if *slot >= left && *slot > 0.0 {
                return (i as f64 + left / slot) / 100.0;
            }
            left -= slot;
        }
        SLOTS as f64 / 100.0
    }
}

/// The time left as a share of the time so far; for those who read [`Likely::left`].
pub fn share_left(measured: f64) -> f64 {
    unmeasure(measured)
}
