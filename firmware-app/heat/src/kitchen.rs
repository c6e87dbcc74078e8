//! The appliances as the food sees them: an oven that cycles and is opened, a pan that cools under the food, a microwave
//! that pulses, a board to rest on.
//!
//! Ranges of all figures are chosen in [`crate::family`].

use crate::{
    body::Around,
    surface::{Facing, saturation},
};

/// Air and walls of an oven.
#[derive(Clone, Debug)]
pub struct Oven {
    /// Dial, °C.
    pub set: f64,
    /// How far its mean lies from the dial, °C.
    pub offset: f64,
    /// Half the swing of its thermostat, °C.
    pub swing: f64,
    /// Seconds from one heating to the next.
    pub period: f64,
    /// Where in that cycle the food went in, 0 to 1.
    pub phase: f64,
    /// Seconds in which the air comes back after the door.
    pub recovery: f64,
    /// The most the air can rise, °C a second.
    pub ramp: f64,
    /// Vapour in its air, Pa.
    pub vapour: f64,
    /// Air now, °C.
    pub air: f64,
    /// Walls now, °C.
    pub walls: f64,
    /// Kitchen air, °C.
    pub kitchen: f64,
}

impl Oven {
    /// Advances the air and walls from `t` by `dt` seconds.
    pub fn step(&mut self, t: f64, dt: f64) {
        let turn = t / self.period + self.phase;
        let turn = turn - libm::floor(turn);
        // heats for two fifths of the cycle, cools for the rest
        let wave = if turn < 0.4 { turn / 0.2 - 1.0 } else { 1.0 - (turn - 0.4) / 0.3 };
        let goal = self.set + self.offset + self.swing * wave;
        let change = (goal - self.air) * (1.0 - libm::exp(-dt / self.recovery));
        self.air += change.min(self.ramp * dt);
        self.walls += (self.air - self.walls) * (1.0 - libm::exp(-dt / 900.0));
    }

    /// Opens the door so long that this share of its heat is lost.
    pub fn open(&mut self, share: f64) {
        self.air -= share * (self.air - self.kitchen);
        self.walls -= 0.08 * share * (self.walls - self.kitchen);
    }
}

/// A pan on a ring.
#[derive(Clone, Debug)]
pub struct Pan {
    /// Where its metal would stand by itself, °C.
    pub level: f64,
    /// Its metal now, °C.
    pub metal: f64,
    /// Conductance to the food, W/m²K.
    pub contact: f64,
    /// Seconds in which it comes back.
    pub recovery: f64,
    /// How far food pulls it down, 0 to 1.
    pub drag: f64,
    /// Air over the food, °C, open and under a lid.
    pub air: f64,
    /// Under a lid, °C.
    pub lid_air: f64,
}

impl Pan {
    /// Advances the metal, with the food's face at `face` °C.
    pub fn step(&mut self, dt: f64, face: f64) {
        let goal = self.level - self.drag * (self.level - face);
        self.metal += (goal - self.metal) * (1.0 - libm::exp(-dt / self.recovery));
    }
}

/// A microwave oven.
#[derive(Clone, Debug)]
pub struct Microwave {
    /// Heat made in the food while it radiates, W/m³ on average over the food.
    pub power: f64,
    /// Share of each cycle in which it radiates.
    pub duty: f64,
    /// Seconds a cycle.
    pub period: f64,
    /// Depth in which the field falls to 1/e of its power, m.
    pub depth: f64,
    /// How much of the heat gathers in the middle, 0 to 1.
    pub gather: f64,
    /// Air inside, °C.
    pub air: f64,
}

/// Where the food is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In the oven.
    Oven,
    /// In the pan.
    Pan,
    /// In the microwave.
    Microwave,
    /// On the way from one to the other.
    Between,
    /// Resting.
    Board,
}

/// How this piece of food meets what is round it.
#[derive(Clone, Copy, Debug)]
pub struct Meeting {
    /// Convection in the oven, W/m²K.
    pub oven_h: f64,
    /// Emissivity towards the walls.
    pub emissivity: f64,
    /// The lower face's share of the oven's convection: a rack 1, a thick dish less.
    pub lower: f64,
    /// Convection elsewhere, W/m²K.
    pub still_h: f64,
    /// Convection in a cavity, W/m²K; nought for a bone.
    pub cavity_h: f64,
    /// How far the cavity's air is from the food's inner face towards the oven's air.
    pub cavity_air: f64,
    /// Covered: lid or foil.
    pub covered: bool,
    /// Under water in a bath, which stands in for the oven; and whether the air probe hangs in it too.
    pub bath: Option<bool>,
    /// Foil over the resting food.
    pub tented: bool,
    /// Air where it rests, °C.
    pub rest_air: f64,
    /// Share of its outer face that meets the pan when a round piece is seared.
    pub seared: f64,
}

/// All appliances of one cook and where the food is among them.
#[derive(Clone, Debug)]
pub struct Kitchen {
    /// Where the food is.
    pub place: Place,
    /// The oven.
    pub oven: Oven,
    /// The pan.
    pub pan: Pan,
    /// The microwave.
    pub microwave: Microwave,
    /// The food's side of it.
    pub meeting: Meeting,
}

/// Vapour in a kitchen's air, Pa: half of saturation at 22 °C.
const KITCHEN_VAPOUR: f64 = 1300.0;

impl Kitchen {
    /// The air that a probe beside the food shows, °C.
    pub fn air(&self) -> f64 {
        match self.place {
            Place::Oven => match self.meeting.bath {
                Some(false) => self.oven.kitchen,
                Some(true) | None => self.oven.air,
            },
            Place::Pan => {
                if self.meeting.covered {
                    self.pan.lid_air
                } else {
                    self.pan.air
                }
            }
            Place::Microwave => self.microwave.air,
            Place::Between => self.oven.kitchen,
            Place::Board => self.meeting.rest_air,
        }
    }

    /// What the faces of the food meet, with its outer face at `outer` °C and its inner or lower one at `lower` °C.
    pub fn around(&self, outer: f64, lower: f64) -> Around {
        let m = &self.meeting;
        match self.place {
            Place::Oven if m.bath.is_some() => {
                let water = Facing::fluid(self.oven.air, m.oven_h);
                Around { outer: water, lower: water, inner: Facing::fluid(self.oven.air, m.cavity_h) }
            }
            Place::Oven => {
                let (h, emissivity, open) =
                    if m.covered { (0.35 * m.oven_h, 0.1, 0.05) } else { (m.oven_h, m.emissivity, 1.0) };
                let outer = Facing {
                    air: self.oven.air,
                    h,
                    walls: self.oven.walls,
                    emissivity,
                    vapour: self.oven.vapour,
                    open,
                    metal: None,
                };
                let lower_face =
                    Facing { h: h * m.lower, emissivity: emissivity * m.lower, open: open * m.lower, ..outer };
                let cavity = lower + m.cavity_air * (self.oven.air - lower);
                Around { outer, lower: lower_face, inner: Facing::fluid(cavity, m.cavity_h) }
            }
            Place::Pan => {
                let air = self.air();
                let (vapour, open) =
                    if m.covered { (0.95 * saturation(air.min(99.0)), 1.0) } else { (KITCHEN_VAPOUR + 1500.0, 1.0) };
                let upper =
                    Facing { air, h: m.still_h, walls: air, emissivity: 0.8 * m.emissivity, vapour, open, metal: None };
                let metal = Some((self.pan.metal, self.pan.contact));
                let lower = Facing { metal, ..Facing::NOTHING };
                let searing = Facing { metal: Some((self.pan.metal, self.pan.contact * m.seared)), ..upper };
                // a piece with one kind of face is rolled about
                let outer = if m.seared > 0.0 { searing } else { upper };
                Around { outer, lower, inner: Facing::NOTHING }
            }
            Place::Microwave => {
                let open = if m.covered { 0.1 } else { 1.0 };
                let outer = Facing {
                    air: self.microwave.air,
                    h: m.still_h,
                    walls: self.microwave.air,
                    emissivity: if m.covered { 0.1 } else { m.emissivity },
                    vapour: KITCHEN_VAPOUR + 700.0,
                    open,
                    metal: None,
                };
                let lower = Facing { h: outer.h * m.lower, open: open * m.lower, ..outer };
                Around { outer, lower, inner: Facing::NOTHING }
            }
            Place::Between | Place::Board => {
                let tented = m.tented && self.place == Place::Board;
                let air = if tented { 0.5 * (outer + m.rest_air) } else { m.rest_air };
                let outer = Facing {
                    air: self.air().max(air),
                    h: m.still_h,
                    walls: if tented { air } else { m.rest_air },
                    emissivity: m.emissivity,
                    vapour: if tented { 0.8 * saturation(air.min(99.0)) } else { KITCHEN_VAPOUR },
                    open: if tented { 0.5 } else { 1.0 },
                    metal: None,
                };
                let board = Facing { h: 4.0, air: m.rest_air, walls: m.rest_air, ..Facing::NOTHING };
                Around { outer, lower: board, inner: Facing::fluid(lower, 0.0) }
            }
        }
    }

    /// Advances the appliances from `t` by `dt` seconds, with the food's lower face at `lower` °C.
    pub fn step(&mut self, t: f64, dt: f64, lower: f64) {
        match self.place {
            Place::Oven => self.oven.step(t, dt),
            Place::Pan => {
                self.pan.step(dt, lower);
                self.oven.step(t, dt);
            }
            Place::Between => self.oven.step(t, dt),
            Place::Microwave | Place::Board => {}
        }
    }

    /// Whether the microwave radiates at `t`.
    pub fn radiates(&self, t: f64) -> bool {
        self.place == Place::Microwave && {
            let turn = t / self.microwave.period;
            turn - libm::floor(turn) < self.microwave.duty
        }
    }
}
