//! Lessons for the models: what a station would have seen at some moment of a simulated cook, and what came of it.

use doneness::{
    Appliance,
    course::Course,
    signs::{Glance, SIGNS, measure},
};

use crate::{
    chance::Chance,
    cook::Cooked,
    family::{self, Family},
    probe::Probe,
};

/// One look at one cook.
#[derive(Clone, Debug)]
pub struct Lesson {
    /// What could be seen.
    pub signs: [f32; SIGNS],
    /// Time left over time so far, in the learnt measure; none if the target never came.
    pub left: Option<f32>,
    /// Seconds so far.
    pub t: f32,
    /// The way it was cooked.
    pub family: Family,
}

/// One look at what would come of pulling now.
#[derive(Clone, Debug)]
pub struct RestLesson {
    /// What could be seen, and whether foil goes over it.
    pub signs: [f32; SIGNS + 1],
    /// From what the probe shows to the peak in truth, °C: probes lag and are off, so it can be less than nought.
    pub rise: f32,
    /// Square root of (time to the peak over time so far).
    pub after: f32,
    /// The way it was cooked.
    pub family: Family,
}

/// Everything that one cook teaches.
#[derive(Clone, Debug, Default)]
pub struct Taught {
    /// Looks.
    pub lessons: Vec<Lesson>,
    /// Pulls.
    pub rests: Vec<RestLesson>,
}

/// Targets a cook.
const TARGETS: usize = 4;
/// Looks a target.
const LOOKS: usize = 4;

/// The lessons of one item of a seed.
pub fn taught(seed: u64, item: u64) -> Taught {
    let (family, cooked) = family::cooked(seed, item);
    // another stream than the cook's own, so that a change of the food leaves the probe as it is
    of(family, &cooked, &mut Chance::of(!seed, item))
}

/// The lessons of a cook.
pub fn of(family: Family, cooked: &Cooked, chance: &mut Chance) -> Taught {
    let probe = Probe::drawn(chance);
    let mut looks = looks(cooked, chance);
    looks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut course = Course::new(told_dial(cooked, chance));
    let mut taught = Taught::default();
    let (mut next, mut told, mut rested) = (0, 0, 0);
    let stream = Chance::of(chance.bits(), 1);
    for second in probe.read(cooked, stream) {
        while let Some((at, change)) = cooked.told.get(told)
            && *at <= second.t
        {
            course.change(*at, *change);
            told += 1;
        }
        course.reading(second.t, second.core);
        if let Some(air) = second.air {
            course.air(second.t, air);
        }
        while let Some((at, target, end)) = looks.get(next)
            && *at <= second.t
        {
            next += 1;
            let Some(glance) = Glance::at(&course, cooked.appliance, *target) else { continue };
            if glance.level - glance.start < 2.0 {
                continue;
            }
            taught.lessons.push(Lesson {
                signs: glance.signs,
                left: end.map(|end| measure((end - second.t) / second.t) as f32),
                t: second.t as f32,
                family,
            });
        }
        while let Some(rest) = cooked.rests.get(rested)
            && rest.at <= second.t
        {
            rested += 1;
            let Some(glance) = Glance::at(&course, cooked.appliance, REST_TARGET) else { continue };
            if cooked.appliance == Appliance::Microwave {
                continue;
            }
            taught.rests.push(RestLesson {
                signs: rest_signs(&glance, rest.tented),
                rise: (rest.peak - glance.level) as f32,
                after: libm::sqrt(rest.after / second.t) as f32,
                family,
            });
        }
    }
    taught
}

/// Signs of a pull do not depend on a target; this one stands in for it.
pub const REST_TARGET: f64 = doneness::carry_over::STAND_IN;

/// The signs of a pull.
pub fn rest_signs(glance: &Glance, tented: bool) -> [f32; SIGNS + 1] {
    doneness::carry_over::signs(glance, tented)
}

/// One dial in eight is not told.
fn told_dial(cooked: &Cooked, chance: &mut Chance) -> Option<f32> {
    let told = chance.happens(0.875);
    cooked.setting.filter(|_| told).map(|set| set as f32)
}

/// Moments, targets and ends to be looked at.
fn looks(cooked: &Cooked, chance: &mut Chance) -> Vec<(f64, f64, Option<f64>)> {
    let mut looks = Vec::new();
    for _ in 0..TARGETS {
        let target = if chance.happens(0.75) { chance.between(44.0, 80.0) } else { chance.between(38.0, 98.0) };
        match cooked.reaches(target) {
            Some(end) => {
                for _ in 0..LOOKS {
                    looks.push((end * chance.between(0.1, 0.99), target, Some(end)));
                }
            }
            None if cooked.given_up => {
                for _ in 0..2 {
                    looks.push((cooked.end() * chance.log_between(0.02, 0.9), target, None));
                }
            }
            None => {}
        }
    }
    looks
}
