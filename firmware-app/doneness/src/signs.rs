//! What the models look at: the shape of the course so far in numbers without units of time.
//!
//! All stretches of time are shares of the time so far, so a thick piece in two hours looks like a thin one in half an
//! hour; a few signs keep the true scale, since ovens, pans and probes have one.

use libm::{log, sqrt};

use crate::{
    course::{Blocks, Course, Level},
    job::Appliance,
};

/// How many signs there are.
pub const SIGNS: usize = 83;

/// The lag of a probe that is assumed, seconds: the middle of 3 to 8.
pub const LAG: f64 = 5.5;

/// The course summed up at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glance {
    /// Seconds since the first reading.
    pub t: f64,
    /// °C at the start.
    pub start: f64,
    /// °C at the end of the fitted line.
    pub level: f64,
    /// The signs.
    pub signs: [f32; SIGNS],
}

/// Moments of the course that are looked at, as shares of the time so far.
const MOMENTS: [f64; 18] =
    [0.05, 0.1, 0.15, 0.2, 0.26, 0.32, 0.38, 0.44, 0.5, 0.56, 0.62, 0.68, 0.74, 0.8, 0.85, 0.9, 0.94, 0.98];
const AIR_MOMENTS: [f64; 6] = [0.03, 0.15, 0.35, 0.6, 0.8, 0.97];

impl Glance {
    /// Looks at a course; nothing before ten seconds.
    pub fn at(course: &Course, appliance: Appliance, target: f64) -> Option<Self> {
        let t = course.seconds();
        if t < 10.0 {
            return None;
        }
        let start = course.start()?;
        let near = course.level((0.06 * t).max(20.0))?;
        let wide = course.level((0.15 * t).max(30.0))?;
        let half = course.level((0.4 * t).max(40.0))?;
        let level = near.degrees;
        let rise = level - start;
        // early on the rise is small and noisy; a floor keeps the shape finite
        let scale = rise.max(1.5);
        let mut out = List { signs: [0.0; SIGNS], n: 0 };
        let blocks = course.blocks();
        let fed = (t - LAG).max(1.0);
        for share in MOMENTS {
            let (mean, _) = blocks.mean(LAG.min(0.3 * t) + share * fed, 0.02 * t);
            out.put(((mean - start) / scale).clamp(-2.0, 3.0));
        }
        let to_go = target - level;
        out.put(rise / 50.0);
        out.put(log(scale));
        out.put(to_go / 50.0);
        out.put((to_go / scale).clamp(-1.0, 12.0));
        out.put(log((target - start).max(1.0) / scale));
        for line in [near, wide, half] {
            out.put((line.slope * t / scale).clamp(-3.0, 8.0));
        }
        for line in [near, wide, half] {
            // where a straight line would end, in the measure of the answer
            let left = if line.slope > 1e-6 { (to_go / line.slope / t).clamp(0.0, 50.0) } else { 50.0 };
            out.put(measure(left));
        }
        out.put(log(t) - 6.0);
        out.put(start / 20.0);
        out.put(level / 50.0);
        out.put(target / 50.0);
        let (changed, dial, before) = course.changed();
        for one in [Appliance::Oven, Appliance::Pan, Appliance::Microwave] {
            out.flag(one == appliance);
        }
        out.flag(dial.is_some());
        let dial = f64::from(dial.unwrap_or(170.0));
        let before = f64::from(before.unwrap_or(170.0));
        out.put((dial - 170.0) / 50.0);
        out.put((dial - before) / 50.0);
        out.put(changed.map_or(1.0, |at| (t - f64::from(at)) / t));
        out.flag(changed.is_some());
        // a dial that is not far above the target
        out.put(((dial - target) / 50.0).clamp(-1.0, 2.0));
        match course.air_blocks() {
            Some(air) => {
                out.flag(true);
                let (now, _) = air.mean(t - 120.0_f64.min(0.1 * t), 120.0_f64.min(0.1 * t));
                for share in AIR_MOMENTS {
                    let (mean, _) = air.mean(share * t, 0.03 * t);
                    out.put((mean - 150.0) / 60.0);
                }
                out.put((now - 150.0) / 60.0);
                out.put(((now - level) / 60.0).clamp(-1.0, 4.0));
                let (all, _) = air.mean(0.5 * t, 0.5 * t);
                out.put((all - 150.0) / 60.0);
            }
            None => {
                for _ in 0..10 {
                    out.put(0.0);
                }
            }
        }
        let (count, turns) = course.turns();
        out.put((count as f64 / 3.0).min(3.0));
        let [first, last, before_last] = turns.unwrap_or([0.0; 3]).map(f64::from);
        if count > 0 {
            out.put(first / t);
            out.put((t - last) / t);
            out.put((last - before_last) / t);
        } else {
            out.put(0.0);
            out.put(1.0);
            out.put(0.0);
        }
        out.put((LAG / t).min(0.5) * 4.0);
        out.put((near.degrees - wide.degrees) / scale);
        out.put((wide.degrees - half.degrees) / scale);
        out.put(log((near.slope * 3000.0).clamp(0.05, 1000.0)));
        let seen = Seen { course, blocks: &blocks, t, start, level, scale, to_go, target, near, wide, half };
        seen.since(&mut out, changed.map(f64::from));
        let drive = match course.air_blocks() {
            Some(air) => Some(air.mean(t - 60.0_f64.min(0.05 * t), 60.0_f64.min(0.05 * t)).0),
            None => course.changed().1.map(f64::from),
        };
        seen.drive(&mut out, drive);
        seen.bends(&mut out);
        seen.turns(&mut out, count, first, last);
        seen.swings(&mut out);
        debug_assert_eq!(out.n, SIGNS, "every sign is put once");
        Some(Self { t, start, level, signs: out.signs })
    }
}

/// What the later signs are made from.
struct Seen<'a> {
    course: &'a Course,
    blocks: &'a Blocks,
    t: f64,
    start: f64,
    level: f64,
    scale: f64,
    to_go: f64,
    target: f64,
    near: Level,
    wide: Level,
    half: Level,
}

impl Seen<'_> {
    /// The course since the heat last changed, as far as that was told or seen: a dial, a move, the end of thawing.
    fn since(&self, out: &mut List, changed: Option<f64>) {
        let t = self.t;
        let thawed = (self.start < -1.0).then(|| self.course.last_under(0.5)).flatten();
        out.flag(thawed.is_some());
        let from = changed.unwrap_or(0.0).max(thawed.unwrap_or(0.0)).min(t - 10.0);
        out.put(from / t);
        let there = if from > 0.0 { self.blocks.mean(from, 0.01 * t).0 } else { self.start };
        let risen = self.level - there;
        let scale = risen.max(1.0);
        for share in [0.25, 0.5, 0.75] {
            let (mean, _) = self.blocks.mean(from + share * (t - from), 0.015 * t);
            out.put(((mean - there) / scale).clamp(-2.0, 3.0));
        }
        out.put((risen / self.scale).clamp(-1.0, 2.0));
        let before = if from > 30.0 { self.course.line(from - (0.12 * t).max(20.0), from) } else { None };
        out.put(before.map_or(0.0, |line| (line.slope * t / self.scale).clamp(-3.0, 8.0)));
        let mean = risen / (t - from);
        out.put(self.line(mean));
    }

    /// Where a straight line of this slope would end, in the measure of the answer.
    fn line(&self, slope: f64) -> f64 {
        measure(if slope > 1e-6 { (self.to_go / slope / self.t).clamp(0.0, 50.0) } else { 50.0 })
    }

    /// Where the core would come to its target if it drew near to `end` °C by an even law.
    fn nearing(&self, end: f64, slope: f64) -> f64 {
        if end < self.target + 1.0 || end < self.level + 1.0 || slope < 1e-6 {
            return measure(50.0);
        }
        let left = log((end - self.level) / (end - self.target)) * (end - self.level) / slope / self.t;
        measure(left.clamp(0.0, 50.0))
    }

    /// How fast the core follows what drives it: the air, or the dial.
    fn drive(&self, out: &mut List, drive: Option<f64>) {
        out.put(self.nearing(100.0, self.wide.slope));
        let Some(end) = drive else {
            for _ in 0..4 {
                out.put(0.0);
            }
            return;
        };
        let pace = |slope: f64, level: f64| log((slope * self.t / (end - level).max(5.0)).clamp(0.02, 20.0));
        let now = pace(self.wide.slope, self.level);
        out.put(now);
        // the slope over the later two fifths belongs to their middle
        out.put(now - pace(self.half.slope, self.level - 0.2 * self.t * self.half.slope));
        out.put(self.nearing(end, self.wide.slope));
        out.put(((end - self.target) / 40.0).clamp(-1.0, 3.0));
    }

    /// How the rise bends: a parabola to the target, and the steepest stretch so far.
    fn bends(&self, out: &mut List) {
        let t = self.t;
        let bend = (self.wide.slope - self.half.slope) / (0.125 * t);
        let slope = self.wide.slope + bend * 0.075 * t;
        let root = slope * slope + 2.0 * bend * self.to_go;
        // without a root it never comes there
        let left =
            if root > 0.0 && slope + sqrt(root) > 1e-6 { 2.0 * self.to_go / (slope + sqrt(root)) / t } else { 50.0 };
        out.put(measure(left.clamp(0.0, 50.0)));
        let (mut steepest, mut when) = (1e-6, 0.0);
        let mut before = self.blocks.mean(0.03 * t, 0.03 * t).0;
        for k in 1..12 {
            let share = 0.03 + 0.08 * f64::from(k);
            let here = self.blocks.mean(share * t, 0.03 * t).0;
            if here - before > steepest {
                (steepest, when) = (here - before, share);
            }
            before = here;
        }
        out.put((self.near.slope * 0.08 * t / steepest).clamp(-1.0, 3.0));
        out.put(when);
    }

    /// Turns: how often on the whole, and the rise before and since the last.
    fn turns(&self, out: &mut List, count: usize, first: f64, last: f64) {
        if count == 0 {
            for _ in 0..3 {
                out.put(0.0);
            }
            return;
        }
        let gap = if count > 1 { (last - first) / (count - 1) as f64 } else { first };
        out.put((gap / self.t).min(1.0));
        let slope = |line: Option<Level>| line.map_or(0.0, |line| (line.slope * self.t / self.scale).clamp(-3.0, 8.0));
        out.put(slope(self.course.line(last - (0.5 * gap).max(15.0), last)));
        out.put(slope(self.course.line(last.min(self.t - 15.0), self.t)));
    }

    /// How the air swings, in the later half and on the whole.
    fn swings(&self, out: &mut List) {
        let Some(air) = self.course.air_blocks() else {
            for _ in 0..4 {
                out.put(0.0);
            }
            return;
        };
        const LOOKS: usize = 24;
        let mut seen = [0.0; LOOKS];
        for (k, seen) in seen.iter_mut().enumerate() {
            *seen = air.mean((k as f64 + 0.5) / LOOKS as f64 * self.t, 0.02 * self.t).0;
        }
        for part in [&seen[..LOOKS / 2], &seen[LOOKS / 2..]] {
            let n = part.len() as f64;
            let mean = part.iter().sum::<f64>() / n;
            let spread = sqrt(part.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n);
            let lowest = part.iter().copied().fold(f64::MAX, f64::min);
            out.put((spread / 20.0).min(4.0));
            out.put(((mean - lowest) / 40.0).min(4.0));
        }
    }
}

/// The measure in which times are learnt: fine for short times left, coarse for long ones.
pub fn measure(left_per_so_far: f64) -> f64 {
    log(1.0 + sqrt(left_per_so_far.max(0.0)))
}

/// The time left as a share of the time so far.
pub fn unmeasure(measured: f64) -> f64 {
    let root = libm::exp(measured.clamp(0.0, 5.0)) - 1.0;
    root * root
}

struct List {
    signs: [f32; SIGNS],
    n: usize,
}

impl List {
    fn put(&mut self, value: f64) {
        self.signs[self.n] = value as f32;
        self.n += 1;
    }

    fn flag(&mut self, on: bool) {
        self.put(if on { 1.0 } else { 0.0 });
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::job::Change;

    #[test]
    fn every_sign_is_filled_and_finite() {
        let mut course = Course::new(Some(180.0));
        for t in 0..900 {
            course.reading(f64::from(t), 5.0 + 0.02 * f64::from(t));
            course.air(f64::from(t), 170.0);
        }
        let with_air = Glance::at(&course, Appliance::Oven, 60.0).unwrap();
        assert!(with_air.signs.iter().all(|sign| sign.is_finite()));
        assert!((with_air.level - 22.98).abs() < 0.01, "{}", with_air.level);
    }

    #[test]
    fn a_core_that_nears_the_air_by_an_even_law_is_followed_to_its_target() {
        // 170 °C of air, 2500 s to come nearer by a factor of e: 60 °C is there at 1014 s
        let core = |t: f64| 170.0 - 165.0 * libm::exp(-t / 2500.0);
        let mut course = Course::new(None);
        for t in 0..500 {
            course.reading(f64::from(t), core(f64::from(t)));
            course.air(f64::from(t), 170.0);
        }
        let glance = Glance::at(&course, Appliance::Oven, 60.0).unwrap();
        let told = unmeasure(f64::from(glance.signs[71])) * glance.t;
        let end = 2500.0 * log(165.0 / 110.0);
        assert!((told + glance.t - end).abs() < 0.03 * end, "{told} for {}", end - glance.t);
    }

    #[test]
    fn a_changed_dial_begins_the_later_signs_anew() {
        let look = |told: bool| {
            let mut course = Course::new(Some(150.0));
            for t in 0..1200 {
                let t = f64::from(t);
                if told && t == 800.0 {
                    course.change(t, Change::Dial(200.0));
                }
                course.reading(t, if t < 800.0 { 5.0 + 0.01 * t } else { 13.0 + 0.04 * (t - 800.0) });
            }
            Glance::at(&course, Appliance::Oven, 60.0).unwrap().signs
        };
        // where the later course begins, and the slope before that
        let (told, not) = (look(true), look(false));
        assert!((told[61] - 800.0 / 1199.0).abs() < 1e-3 && not[61] == 0.0, "{} {}", told[61], not[61]);
        assert!(told[66] > 0.0 && not[66] == 0.0, "{} {}", told[66], not[66]);
    }

    #[test]
    fn the_measure_is_undone() {
        for left in [0.0, 0.001, 0.3, 1.0, 20.0] {
            assert!((unmeasure(measure(left)) - left).abs() < 1e-9 * (1.0 + left));
        }
    }
}
