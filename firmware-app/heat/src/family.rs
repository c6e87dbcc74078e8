//! What people cook, and how: the distribution that the banks and models are made from.
//!
//! All ranges are common practice in kitchens and bakeries, no source, unless one is named. They are meant to be wider
//! than any one kitchen; how they were chosen is in the README.

use doneness::Appliance;

use crate::{
    body::{Body, Shape},
    chance::Chance,
    cook::{Cook, Cooked, Event},
    food::{Food, Makeup},
    kitchen::{Kitchen, Meeting, Microwave, Oven, Pan, Place},
    line::Metric,
    surface::Surface,
};

/// A way of cooking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// A wall, rod or ball in a hot oven.
    Oven,
    /// A disc or a bar in a hot oven.
    OvenShort,
    /// An oven at 70 to 130 °C.
    LowOven,
    /// An oven that starts cold, or whose dial is changed.
    OvenSteps,
    /// The door is opened now and then.
    Doors,
    /// Under a lid or foil, for all or part of the time.
    Covered,
    /// Round a bone or a cavity.
    Hollow,
    /// Seared, then in the oven.
    SearFirst,
    /// From frozen, in the oven.
    Frozen,
    /// In a pan, turned never, once or often.
    Pan,
    /// In a microwave.
    Microwave,
    /// In a water bath, or poached.
    Bath,
}

/// Every family with its share of a bank, in hundredths.
pub const SHARES: [(Family, f64); 12] = [
    (Family::Oven, 18.0),
    (Family::OvenShort, 11.0),
    (Family::LowOven, 9.0),
    (Family::OvenSteps, 9.0),
    (Family::Doors, 5.0),
    (Family::Covered, 6.0),
    (Family::Hollow, 7.0),
    (Family::SearFirst, 7.0),
    (Family::Frozen, 5.0),
    (Family::Pan, 14.0),
    (Family::Microwave, 9.0),
    (Family::Bath, 4.0),
];

impl Family {
    /// The family of a name as it is written here.
    pub fn named(name: &str) -> Option<Self> {
        SHARES.iter().map(|(family, _)| *family).find(|family| format!("{family:?}") == name)
    }
}

/// Foods by their makeup (typical of food tables, from memory): lean and fat meat, poultry, fish, mince, dough, root
/// vegetable, casserole.
const MAKEUPS: [Makeup; 8] = [
    Makeup { water: 0.74, protein: 0.21, fat: 0.04, carbohydrate: 0.0, ash: 0.01, gas: 0.0 },
    Makeup { water: 0.60, protein: 0.18, fat: 0.21, carbohydrate: 0.0, ash: 0.01, gas: 0.0 },
    Makeup { water: 0.72, protein: 0.22, fat: 0.05, carbohydrate: 0.0, ash: 0.01, gas: 0.0 },
    Makeup { water: 0.70, protein: 0.20, fat: 0.09, carbohydrate: 0.0, ash: 0.01, gas: 0.0 },
    Makeup { water: 0.64, protein: 0.18, fat: 0.16, carbohydrate: 0.01, ash: 0.01, gas: 0.02 },
    Makeup { water: 0.42, protein: 0.09, fat: 0.03, carbohydrate: 0.45, ash: 0.01, gas: 0.35 },
    Makeup { water: 0.78, protein: 0.02, fat: 0.0, carbohydrate: 0.19, ash: 0.01, gas: 0.0 },
    Makeup { water: 0.72, protein: 0.08, fat: 0.06, carbohydrate: 0.13, ash: 0.01, gas: 0.02 },
];

/// One cook of a seed, run to its end, with its family.
pub fn cooked(seed: u64, item: u64) -> (Family, Cooked) {
    let mut chance = Chance::of(seed, item);
    let family = drawn(&mut chance);
    (family, cook(family, &mut chance).run())
}

/// A family by its share.
pub fn drawn(chance: &mut Chance) -> Family {
    let whole: f64 = SHARES.iter().map(|(_, share)| share).sum();
    let mut left = chance.share() * whole;
    for (family, share) in SHARES {
        if left < share {
            return family;
        }
        left -= share;
    }
    Family::Oven
}

/// A cook of a family.
pub fn cook(family: Family, chance: &mut Chance) -> Cook {
    let kind = MAKEUPS[chance.below(MAKEUPS.len())];
    // recipes and animals differ: the water moves by some hundredths
    let shift = chance.between(-0.05, 0.05);
    let makeup = Makeup { water: kind.water + shift, protein: kind.protein - 0.5 * shift, ..kind };
    let rest = 1.0 - makeup.water - makeup.protein - makeup.carbohydrate - makeup.ash;
    let makeup = Makeup { fat: rest.max(0.0), ..makeup };
    let food = Food::new(&makeup);
    // fridge to room; some a little above freezing
    let start = if chance.happens(0.65) { chance.between(0.5, 9.0) } else { chance.between(9.0, 26.0) };
    let start = if family == Family::Frozen { chance.between(-22.0, -4.0) } else { start };
    let shape = shape(family, chance);
    let cells = if matches!(shape, Shape::Short { .. }) { 12 } else { 22 };
    // from patted dry to dripping; from a crust that seals to one that hardly does
    let skin = Surface::new(chance.log_between(0.02, 2.0), chance.log_between(0.04, 1.5), start);
    let skin = if chance.happens(0.35) { skin.under(chance.between(0.15, 1.0)) } else { skin };
    let body = Body::new(shape, cells, start, skin);
    let tip = tip(shape, chance);
    let kitchen = kitchen(family, start, &shape, chance);
    let events = events(family, &kitchen, &shape, chance);
    let (appliance, setting) = match family {
        Family::Pan => (Appliance::Pan, None),
        Family::Microwave => (Appliance::Microwave, None),
        Family::Bath
        | Family::Oven
        | Family::OvenShort
        | Family::LowOven
        | Family::OvenSteps
        | Family::Doors
        | Family::Covered
        | Family::Hollow
        | Family::SearFirst
        | Family::Frozen => (Appliance::Oven, Some(kitchen.oven.set)),
    };
    let longest = match family {
        Family::LowOven => 43_000.0,
        Family::Frozen | Family::Covered | Family::Bath => 36_000.0,
        Family::Pan => 5_400.0,
        Family::Microwave => 3_600.0,
        Family::Oven | Family::OvenShort | Family::OvenSteps | Family::Doors | Family::Hollow | Family::SearFirst => {
            28_000.0
        }
    };
    let mut pulls: Vec<f64> = (0..6).map(|_| chance.between(36.0, 92.0)).collect();
    pulls.sort_by(f64::total_cmp);
    // half of the seared pieces get their probe only in the oven
    let in_oven = events.iter().find(|(_, event, _)| *event == Event::Move(Place::Oven)).map(|(at, ..)| *at);
    let probed = in_oven.filter(|_| chance.happens(0.5)).map_or(0.0, |at| at + 1.0);
    Cook { appliance, setting, food, body, shape, tip, kitchen, events, probed, longest, pulls }
}

fn metric(chance: &mut Chance) -> Metric {
    chance.one_of(&[Metric::Flat, Metric::Flat, Metric::Round, Metric::Round, Metric::Ball])
}

fn shape(family: Family, chance: &mut Chance) -> Shape {
    match family {
        Family::Pan => Shape::Flat { thickness: chance.log_between(0.010, 0.045) },
        Family::Microwave => {
            if chance.happens(0.25) {
                let across = chance.log_between(0.015, 0.045);
                Shape::Short { metric: Metric::Round, across, height: across * chance.between(1.0, 3.5) }
            } else {
                Shape::Even { metric: metric(chance), from: 0.0, to: chance.log_between(0.010, 0.045) }
            }
        }
        Family::OvenShort => short(chance),
        Family::Hollow => {
            let to = chance.log_between(0.022, 0.065);
            let metric = chance.one_of(&[Metric::Round, Metric::Ball, Metric::Round]);
            Shape::Even { metric, from: to * chance.between(0.12, 0.6), to }
        }
        Family::Bath
        | Family::Oven
        | Family::LowOven
        | Family::OvenSteps
        | Family::Doors
        | Family::Covered
        | Family::SearFirst
        | Family::Frozen => {
            if chance.happens(0.12) {
                return short(chance);
            }
            let metric = metric(chance);
            let thickest = if metric == Metric::Flat { 0.045 } else { 0.065 };
            Shape::Even { metric, from: 0.0, to: chance.log_between(0.010, thickest) }
        }
    }
}

fn short(chance: &mut Chance) -> Shape {
    let across = chance.log_between(0.015, 0.06);
    let metric = chance.one_of(&[Metric::Round, Metric::Round, Metric::Flat]);
    Shape::Short { metric, across, height: across * chance.log_between(0.7, 4.0) }
}

/// Most cooks aim at the middle and miss it by a little; some by much.
fn tip(shape: Shape, chance: &mut Chance) -> (f64, f64) {
    let miss = if chance.happens(0.65) { chance.between(0.0, 0.15) } else { chance.between(0.1, 0.6) };
    let side = if chance.happens(0.5) { 0.5 } else { -0.5 };
    match shape {
        Shape::Flat { .. } => (0.5 + side * miss.min(0.5), 0.5),
        Shape::Even { from, .. } if from > 0.0 => (chance.between(0.05, 0.6), 0.5),
        Shape::Even { .. } => (miss, 0.5),
        Shape::Short { .. } => (miss, 0.5 + side * chance.between(0.0, miss)),
    }
}

fn kitchen(family: Family, start: f64, shape: &Shape, chance: &mut Chance) -> Kitchen {
    let room = chance.between(18.0, 27.0);
    let set = match family {
        Family::LowOven => chance.between(70.0, 132.0),
        Family::SearFirst => chance.between(90.0, 245.0),
        // held at the core that is wanted, or poached
        Family::Bath => {
            if chance.happens(0.7) {
                chance.between(50.0, 85.0)
            } else {
                chance.between(80.0, 100.0)
            }
        }
        Family::Oven
        | Family::OvenShort
        | Family::OvenSteps
        | Family::Doors
        | Family::Covered
        | Family::Hollow
        | Family::Frozen
        | Family::Pan
        | Family::Microwave => chance.between(125.0, 245.0),
    };
    let bath = (family == Family::Bath).then(|| chance.happens(0.5));
    let offset = if bath.is_some() { 0.3 } else { 7.0 } * chance.normal();
    let cold = family == Family::OvenSteps && chance.happens(0.4);
    let air = if cold { room } else { set + offset };
    let mut oven = Oven {
        set,
        offset,
        swing: if bath.is_some() { chance.between(0.0, 1.0) } else { chance.between(1.0, 14.0) },
        period: chance.log_between(150.0, 900.0),
        phase: chance.share(),
        recovery: chance.log_between(50.0, 300.0),
        ramp: chance.log_between(0.08, 1.0),
        vapour: chance.log_between(1000.0, 15_000.0),
        air,
        walls: air,
        kitchen: room,
    };
    if !cold {
        // the door stood open to put the food in
        oven.open(if bath.is_some() { chance.between(0.0, 0.2) } else { chance.between(0.1, 0.75) });
    }
    let level = chance.between(110.0, 235.0);
    let pan = Pan {
        level,
        metal: if chance.happens(0.85) { level } else { chance.between(room, level) },
        contact: chance.log_between(60.0, 600.0),
        recovery: chance.log_between(20.0, 150.0),
        drag: chance.between(0.05, 0.5),
        air: chance.between(24.0, 60.0),
        lid_air: chance.between(65.0, 97.0),
    };
    let microwave = Microwave {
        power: chance.log_between(0.3e6, 3.5e6),
        duty: if chance.happens(0.5) { 1.0 } else { chance.between(0.2, 0.9) },
        period: chance.between(10.0, 35.0),
        depth: chance.log_between(0.006, 0.03),
        gather: if chance.happens(0.5) { 0.0 } else { chance.between(0.0, 1.0) },
        air: chance.between(20.0, 40.0),
    };
    let bone = chance.happens(0.45);
    let piece_in_pan = matches!(shape, Shape::Flat { .. });
    let meeting = Meeting {
        oven_h: if bath.is_some() { chance.log_between(80.0, 900.0) } else { chance.log_between(5.0, 38.0) },
        bath,
        emissivity: chance.between(0.6, 0.95),
        lower: if chance.happens(0.4) { chance.between(0.7, 1.0) } else { chance.between(0.05, 0.8) },
        still_h: chance.between(4.0, 12.0),
        cavity_h: if bone { 0.0 } else { chance.log_between(1.0, 10.0) },
        cavity_air: chance.between(0.1, 0.8),
        covered: match family {
            Family::Covered => true,
            Family::Pan => chance.happens(0.2),
            Family::Microwave => chance.happens(0.5),
            Family::Bath
            | Family::Oven
            | Family::OvenShort
            | Family::LowOven
            | Family::OvenSteps
            | Family::Doors
            | Family::Hollow
            | Family::SearFirst
            | Family::Frozen => false,
        },
        tented: chance.happens(0.5),
        rest_air: room,
        seared: if piece_in_pan { 0.0 } else { chance.between(0.15, 0.6) },
    };
    let place = match family {
        Family::Pan => Place::Pan,
        Family::Microwave => Place::Microwave,
        Family::SearFirst => Place::Pan,
        Family::Bath
        | Family::Oven
        | Family::OvenShort
        | Family::LowOven
        | Family::OvenSteps
        | Family::Doors
        | Family::Covered
        | Family::Hollow
        | Family::Frozen => Place::Oven,
    };
    debug_assert!(start > -40.0);
    Kitchen { place, oven, pan, microwave, meeting }
}

/// How long heat takes through a piece, seconds: the square of its half thickness by a diffusivity of food.
fn pace(shape: &Shape) -> f64 {
    let half = match *shape {
        Shape::Even { from, to, .. } => to - 0.5 * from,
        Shape::Flat { thickness } => 0.5 * thickness,
        Shape::Short { across, height, .. } => across.min(0.5 * height),
    };
    half * half / 1.3e-7
}

fn events(family: Family, kitchen: &Kitchen, shape: &Shape, chance: &mut Chance) -> Vec<(f64, Event, bool)> {
    let pace = pace(shape);
    let mut events = Vec::new();
    // the door and the pan are not always told of; most changes of a dial are
    match family {
        Family::Pan => {
            let first = pace * chance.log_between(0.12, 1.6);
            match chance.below(10) {
                0 => {}
                1..=5 => events.push((first, Event::Turn, true)),
                6 | 7 => {
                    events.push((first, Event::Turn, true));
                    let again = first * chance.between(0.4, 1.3);
                    events.push((first + again, Event::Turn, true));
                    if chance.happens(0.5) {
                        events.push((first + 2.0 * again, Event::Turn, true));
                    }
                }
                _ => {
                    let every = chance.log_between(25.0, 150.0);
                    for n in 1..60u8 {
                        events.push((every * f64::from(n) * chance.between(0.97, 1.03), Event::Turn, true));
                    }
                }
            }
            if chance.happens(0.25) {
                let to = kitchen.pan.level + chance.between(-70.0, 20.0);
                events.push((pace * chance.log_between(0.1, 1.2), Event::Level(to.max(90.0)), chance.happens(0.7)));
            }
            if chance.happens(0.12) {
                events.push((pace * chance.log_between(0.1, 1.2), Event::Cover(!kitchen.meeting.covered), true));
            }
        }
        Family::OvenSteps => {
            if chance.happens(0.75) {
                let mut t = 0.0;
                for _ in 0..1 + chance.below(2) {
                    t += pace * chance.log_between(0.15, 1.8);
                    let to = if chance.happens(0.5) {
                        kitchen.oven.set + chance.between(-90.0, 60.0)
                    } else {
                        chance.between(80.0, 245.0)
                    };
                    events.push((t, Event::Set(to.clamp(70.0, 250.0)), chance.happens(0.7)));
                }
            }
        }
        Family::Doors => {
            let every = chance.log_between(240.0, 1500.0);
            for n in 1..12u8 {
                let t = every * (f64::from(n) + chance.between(-0.3, 0.3));
                events.push((t, Event::Door(chance.between(0.1, 0.6)), false));
            }
        }
        Family::Covered => {
            if chance.happens(0.55) {
                events.push((pace * chance.log_between(0.3, 2.0), Event::Cover(false), chance.happens(0.8)));
            }
        }
        Family::SearFirst => {
            let sear = chance.between(60.0, 420.0);
            let gap = chance.between(10.0, 90.0);
            events.push((sear, Event::Move(Place::Between), false));
            events.push((sear + gap, Event::Move(Place::Oven), chance.happens(0.6)));
        }
        Family::Microwave => {
            if chance.happens(0.15) {
                let half = chance.between(60.0, 400.0);
                events.push((half, Event::Move(Place::Between), false));
                events.push((half + chance.between(10.0, 45.0), Event::Move(Place::Microwave), chance.happens(0.5)));
            }
        }
        Family::Bath => {}
        Family::Oven | Family::OvenShort | Family::LowOven | Family::Hollow | Family::Frozen => {
            if chance.happens(0.15) {
                events.push((pace * chance.log_between(0.2, 2.0), Event::Door(chance.between(0.1, 0.5)), false));
            }
        }
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    events
}
