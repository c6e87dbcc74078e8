//! What the models look at: the shape of the course so far in numbers without units of time.
//!
//! All stretches of time are shares of the time so far, so a thick piece in two hours looks like a thin one in half an
//! hour; a few signs keep the true scale, since ovens, pans and probes have one.

use libm::{log, sqrt};

use crate::{course::Course, job::Appliance};

/// How many signs there are.
pub const SIGNS: usize = 60;

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
        debug_assert_eq!(out.n, SIGNS, "every sign is put once");
        Some(Self { t, start, level, signs: out.signs })
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
    fn the_measure_is_undone() {
        for left in [0.0, 0.001, 0.3, 1.0, 20.0] {
            assert!((unmeasure(measure(left)) - left).abs() < 1e-9 * (1.0 + left));
        }
    }
}
