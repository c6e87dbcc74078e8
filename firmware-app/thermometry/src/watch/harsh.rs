//! Clean cooks of families that the development curves do not have, from a small slab of conduction: many turns, a tip off
//! the middle, a sear before the oven, steps and doors of the oven, frozen food, a pulsing microwave. None may be a fault.
#![allow(clippy::unwrap_used)]

use std::{format, io::Write as _, string::String, vec::Vec};

use super::curves::celsius;
use super::*;

/// Air or pan temperature and W/(m² K) of the lower and the upper side, and degrees a second made inside.
type Around = ([f64; 2], [f64; 2], f64);

/// One cook: what the two sides of the slab feel, second by second.
struct Cook {
    name: &'static str,
    /// Thickness in m.
    thick: f64,
    /// Where the tip is, as a share of the thickness.
    tip: f64,
    start: f64,
    secs: usize,
    place: Place,
    around: fn(usize) -> Around,
    /// When the cook declares a turn, a new setting, or the end of the heat.
    declared: fn(usize) -> Option<Option<Place>>,
}

const NODES: usize = 24;
const CONDUCTIVITY: f64 = 0.46;
const HEAT_CAPACITY: f64 = 3.6e6;

/// Degrees at the tip, once a second, as a probe with a lag of 5 s feels them.
fn felt(cook: &Cook) -> Vec<f64> {
    let width = cook.thick / NODES as f64;
    let mut t = [cook.start; NODES];
    let tip = ((cook.tip * NODES as f64) as usize).min(NODES - 1);
    let mut probe = cook.start;
    let mut out = Vec::new();
    const PARTS: usize = 20;
    for s in 0..cook.secs {
        out.push(probe);
        let (outside, film, inside) = (cook.around)(s);
        for _ in 0..PARTS {
            let mut flow = [0.0; NODES + 1];
            flow[0] = (outside[0] - t[0]) / (1.0 / film[0] + width / 2.0 / CONDUCTIVITY);
            flow[NODES] = (t[NODES - 1] - outside[1]) / (1.0 / film[1] + width / 2.0 / CONDUCTIVITY);
            for i in 1..NODES {
                flow[i] = (t[i - 1] - t[i]) / width * CONDUCTIVITY;
            }
            for i in 0..NODES {
                // ice melts between -3 and -0.5 °C: 280 kJ/kg
                let capacity = if (-3.0..-0.5).contains(&t[i]) { 1.2e8 } else { HEAT_CAPACITY };
                let gained = (flow[i] - flow[i + 1]) / width + inside * HEAT_CAPACITY;
                t[i] = (t[i] + gained / capacity / PARTS as f64).min(100.0);
            }
            probe += (t[tip] - probe) / 5.0 / PARTS as f64;
        }
    }
    out
}

/// Noise of a small seeded generator (a linear congruence; twelve uniform numbers make one nearly normal).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let uniform = |seed: &mut u64| {
            *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (*seed >> 33) as f64 / f64::from(1u32 << 31)
        };
        (0..12).map(|_| uniform(&mut self.0)).sum::<f64>() - 6.0
    }
}

fn turned_every_45(s: usize) -> Around {
    let (pan, room) = ((190.0, 180.0), (28.0, 12.0));
    let lower_hot = (s / 45).is_multiple_of(2);
    let (a, b) = if lower_hot { (pan, room) } else { (room, pan) };
    if s < 700 { ([a.0, b.0], [a.1, b.1], 0.0) } else { ([22.0; 2], [8.0; 2], 0.0) }
}

const COOKS: [Cook; 9] = [
    Cook {
        name: "pan, turned every 45 s, tip in the middle",
        thick: 0.03,
        tip: 0.5,
        start: 8.0,
        secs: 1200,
        place: Place::WET_FOOD,
        around: turned_every_45,
        declared: |s| {
            if s == 700 { Some(Some(Place::RESTING)) } else { (s.is_multiple_of(45) && s < 700).then_some(None) }
        },
    },
    Cook {
        name: "pan, turned every 45 s, tip off the middle",
        thick: 0.03,
        tip: 0.3,
        start: 8.0,
        secs: 1200,
        place: Place::WET_FOOD,
        around: turned_every_45,
        declared: |s| {
            if s == 700 { Some(Some(Place::RESTING)) } else { (s.is_multiple_of(45) && s < 700).then_some(None) }
        },
    },
    Cook {
        name: "pan, turned every 45 s, not declared, tip off the middle",
        thick: 0.03,
        tip: 0.35,
        start: 8.0,
        secs: 700,
        place: Place::WET_FOOD,
        around: turned_every_45,
        declared: |_| None,
    },
    Cook {
        name: "sear, then oven",
        thick: 0.045,
        tip: 0.4,
        start: 5.0,
        secs: 3600,
        place: Place::WET_FOOD,
        around: |s| match s {
            0..120 => ([210.0, 28.0], [250.0, 12.0], 0.0),
            120..240 => ([28.0, 210.0], [12.0, 250.0], 0.0),
            240..2400 => ([130.0; 2], [18.0; 2], 0.0),
            _ => ([22.0; 2], [8.0; 2], 0.0),
        },
        declared: |s| match s {
            120 | 240 => Some(None),
            2400 => Some(Some(Place::RESTING)),
            _ => None,
        },
    },
    Cook {
        name: "oven from low to high, with doors",
        thick: 0.06,
        tip: 0.25,
        start: 4.0,
        secs: 5400,
        place: Place::WET_FOOD,
        around: |s| {
            let air = if s < 2700 { 110.0 } else { 220.0 };
            let air = if s % 600 < 25 && s > 300 { 60.0 } else { air };
            ([air; 2], [24.0; 2], 0.0)
        },
        declared: |_| None,
    },
    Cook {
        name: "thin food in a hot oven",
        thick: 0.014,
        tip: 0.5,
        start: 6.0,
        secs: 700,
        place: Place::WET_FOOD,
        around: |_| ([240.0; 2], [38.0; 2], 0.0),
        declared: |_| None,
    },
    Cook {
        name: "frozen",
        thick: 0.04,
        tip: 0.5,
        start: -18.0,
        secs: 7200,
        place: Place::WET_FOOD,
        around: |_| ([180.0; 2], [22.0; 2], 0.0),
        declared: |_| None,
    },
    Cook {
        name: "low oven, large piece",
        thick: 0.09,
        tip: 0.5,
        start: 3.0,
        secs: 14_400,
        place: Place::WET_FOOD,
        around: |_| ([85.0; 2], [15.0; 2], 0.0),
        declared: |_| None,
    },
    Cook {
        name: "microwave at half power, 15 s on and 15 s off",
        thick: 0.05,
        tip: 0.5,
        start: 6.0,
        secs: 420,
        place: Place::MICROWAVE,
        around: |s| ([25.0; 2], [10.0; 2], if (s / 15).is_multiple_of(2) { 0.42 } else { 0.0 }),
        declared: |_| None,
    },
];

#[test]
fn clean_cooks_of_other_families_raise_no_fault() {
    let probes = [(0.0, 0.0625), (0.05, 0.0625), (0.12, 0.1), (0.2, 0.25), (0.35, 0.1), (0.35, 0.25)];
    let mut out = std::io::stdout();
    let (mut faulty, mut readings) = (Vec::<String>::new(), 0);
    for cook in COOKS {
        let truth = felt(&cook);
        let steepest = truth.windows(6).map(|w| ((w[5] - w[0]) / 5.0).abs()).fold(0.0, f64::max);
        let (mut bad, mut doubtful, mut all) = (0, 0, 0);
        for (seed, (noise, quantum)) in probes.into_iter().enumerate() {
            let mut chance = Noise(seed as u64 + 7);
            let mut watch = ProbeWatch::new(Sensor::KITCHEN, cook.place, RunTime::START);
            for (s, core) in truth.iter().enumerate() {
                let now = RunTime::from_millis(s as u64 * 1000);
                match (cook.declared)(s) {
                    Some(Some(place)) => watch.heated_by(place, now),
                    Some(None) => watch.changed(now),
                    None => (),
                }
                let read = celsius(libm::round((core + noise * chance.next()) / quantum) * quantum);
                let judged = watch.judge(Ok(read), now);
                all += 1;
                match judged.quality {
                    Quality::Good | Quality::Doubtful(Doubt::Settling | Doubt::NeverMoved(_)) => (),
                    Quality::Doubtful(_) => doubtful += 1,
                    Quality::Bad(fault) => {
                        if bad == 0 {
                            faulty.push(format!("{} noise {noise} quantum {quantum}: {s} s {fault:?}", cook.name));
                        }
                        bad += 1;
                    }
                }
            }
        }
        readings += all;
        writeln!(out, "{:58} {all:6} readings, steepest {steepest:.2} °C/s, bad {bad}, doubtful {doubtful}", cook.name)
            .unwrap();
    }
    assert!(readings > 200_000);
    assert!(faulty.is_empty(), "{faulty:#?}");
}
