use quantities::{RunTime, Span};
use serde::{Deserialize, Serialize};

use super::conduction::Film;

crate::ids::name! {
    /// An appliance of the simulated kitchen, named as a recipe names it: `oven`, `oven 2`, `burner`, `bench`.
    ApplianceId;
}

/// An appliance with its state; all temperatures in °C.
#[derive(Clone, Debug)]
pub(super) enum Appliance {
    Oven(Oven),
    Microwave(Microwave),
    Pan(Pan),
    Water(Water),
    /// Bench or fridge: air that nothing changes.
    Air {
        temperature: f64,
        film: f64,
        /// Relative humidity, from 0 to 1: food in a fridge is wrapped.
        humidity: f64,
    },
}

/// What an appliance does to a thing in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Surroundings {
    pub(super) below: Film,
    pub(super) above: Film,
    /// Water vapour over the food, in Pa; nothing where nothing can evaporate.
    pub(super) vapour_pa: Option<f64>,
    /// Power of a microwave field, for all the food in it.
    pub(super) field_w: f64,
}

/// An oven: an element, a body that stores heat, and air that follows the body.
#[derive(Clone, Debug)]
pub(super) struct Oven {
    /// How much hotter it runs than its dial says.
    pub(super) offset: f64,
    /// How far the thermostat lets it swing to either side.
    pub(super) swing: f64,
    pub(super) watts: f64,
    pub(super) set: Option<f64>,
    pub(super) fan: bool,
    pub(super) door_open: bool,
    /// The door also stands open until here, for something that was put in or taken out.
    pub(super) door_until: RunTime,
    element_on: bool,
    element_w: f64,
    body: f64,
    air: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Microwave {
    pub(super) most_watts: f64,
    pub(super) watts: f64,
    pub(super) until: RunTime,
}

/// A pan on a burner.
#[derive(Clone, Debug)]
pub(super) struct Pan {
    pub(super) most_watts: f64,
    pub(super) watts: f64,
    temperature: f64,
}

/// A pot of water on a burner, or a bath that keeps a temperature.
#[derive(Clone, Debug)]
pub(super) struct Water {
    pub(super) most_watts: f64,
    pub(super) heat: WaterHeat,
    grams: f64,
    temperature: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum WaterHeat {
    Watts(f64),
    KeptAt(f64),
}

/// What the whole kitchen shares.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    pub(super) air: f64,
    pub(super) boiling: f64,
}

impl Appliance {
    /// Moves on by a step that ends at `now`; `drawn_w` is what the things in it took up in the step before.
    pub(super) fn step(&mut self, secs: f64, now: RunTime, room: Room, drawn_w: f64) {
        match self {
            Self::Oven(oven) => oven.step(secs, now, room),
            Self::Microwave(microwave) => {
                if now > microwave.until {
                    microwave.watts = 0.0;
                }
            }
            Self::Pan(pan) => pan.step(secs, room, drawn_w),
            Self::Water(water) => water.step(secs, room, drawn_w),
            Self::Air { .. } => {}
        }
    }

    /// What a thermometer in it shows: air of an oven, face of a pan, water of a pot.
    pub(super) fn temperature(&self, room: Room) -> f64 {
        match self {
            Self::Oven(oven) => oven.air,
            Self::Microwave(_) => room.air,
            Self::Pan(pan) => pan.temperature,
            Self::Water(water) => water.temperature,
            Self::Air { temperature, .. } => *temperature,
        }
    }

    /// Whether it is at what it is set to; nothing for what has no setting.
    pub(super) fn is_at_setting(&self) -> Option<bool> {
        match self {
            Self::Oven(oven) => oven.set.map(|_| oven.is_at_setting()),
            Self::Water(water) => match water.heat {
                WaterHeat::KeptAt(set) => Some((water.temperature - set).abs() < 0.5),
                WaterHeat::Watts(_) => None,
            },
            Self::Microwave(_) | Self::Pan(_) | Self::Air { .. } => None,
        }
    }

    /// Films by common practice, no source: still and moving oven air with the walls' radiation, contact in a pan, water.
    pub(super) fn surroundings(&self, room: Room) -> Surroundings {
        let air = |round_c: f64, conductance: f64| Film { conductance, round_c, extra: 0.0 };
        match self {
            Self::Oven(oven) => {
                let film = if oven.fan { 25.0 } else { 15.0 };
                let round = 0.7 * oven.air + 0.3 * oven.body;
                Surroundings {
                    below: air(round, 0.8 * film),
                    above: air(round, film),
                    vapour_pa: Some(3000.0),
                    field_w: 0.0,
                }
            }
            Self::Microwave(microwave) => Surroundings {
                below: air(room.air, 5.0),
                above: air(room.air, 10.0),
                vapour_pa: Some(ROOM_VAPOUR_PA),
                field_w: microwave.watts,
            },
            Self::Pan(pan) => Surroundings {
                below: air(pan.temperature, PAN_CONTACT),
                above: air(room.air + 0.1 * (pan.temperature - room.air), 9.0),
                vapour_pa: Some(ROOM_VAPOUR_PA),
                field_w: 0.0,
            },
            Self::Water(water) => Surroundings {
                below: air(water.temperature, 600.0),
                above: air(water.temperature, 600.0),
                vapour_pa: None,
                field_w: 0.0,
            },
            Self::Air { temperature, film, humidity } => Surroundings {
                below: air(*temperature, 0.6 * film),
                above: air(*temperature, *film),
                vapour_pa: Some(saturation_pa(*temperature) * humidity),
                field_w: 0.0,
            },
        }
    }
}

impl Oven {
    pub(super) fn new(offset: f64, swing: f64, watts: f64, room: f64) -> Self {
        Self {
            offset,
            swing,
            watts,
            set: None,
            fan: false,
            door_open: false,
            door_until: RunTime::START,
            element_on: false,
            element_w: 0.0,
            body: room,
            air: room,
        }
    }

    /// Whether its air is within its own swing, and 3 °C more, of what is set.
    fn is_at_setting(&self) -> bool {
        self.set.is_some_and(|set| (self.air - set - self.offset).abs() <= self.swing + 3.0)
    }

    pub(super) fn open_for(&mut self, now: RunTime, span: Span) {
        self.door_until = self.door_until.max(now + span);
    }

    fn step(&mut self, secs: f64, now: RunTime, room: Room) {
        let open = self.door_open || now <= self.door_until;
        match self.set {
            None => self.element_on = false,
            Some(set) => {
                let aim = set + self.offset;
                if self.body > aim + self.swing {
                    self.element_on = false;
                } else if self.body < aim - self.swing {
                    self.element_on = true;
                }
            }
        }
        let wanted = if self.element_on { self.watts } else { 0.0 };
        self.element_w += (wanted - self.element_w) * share_of_step(secs, 15.0);
        let loss = if open { OVEN_LOSS_OPEN } else { OVEN_LOSS };
        self.body += secs * (self.element_w - loss * (self.body - room.air)) / OVEN_HEAT_CAPACITY;
        let (to, constant) = match (open, self.fan) {
            (true, _) => (room.air + 0.35 * (self.body - room.air), 12.0),
            (false, true) => (self.body, 20.0),
            (false, false) => (self.body, 40.0),
        };
        self.air += (to - self.air) * share_of_step(secs, constant);
    }
}

impl Pan {
    pub(super) fn new(most_watts: f64, room: f64) -> Self {
        Self { most_watts, watts: 0.0, temperature: room }
    }

    fn step(&mut self, secs: f64, room: Room, drawn_w: f64) {
        let loss = PAN_LOSS * (self.temperature - room.air);
        let heat = PAN_SHARE_OF_BURNER * self.watts - loss - drawn_w;
        self.temperature += secs * heat / PAN_HEAT_CAPACITY;
    }
}

impl Water {
    pub(super) fn new(most_watts: f64, grams: f64, room: f64) -> Self {
        Self { most_watts, heat: WaterHeat::Watts(0.0), grams, temperature: room }
    }

    fn step(&mut self, secs: f64, room: Room, drawn_w: f64) {
        let capacity = self.grams * WATER_J_PER_G;
        let loss = WATER_LOSS * (self.temperature - room.air) + drawn_w;
        let watts = match self.heat {
            WaterHeat::Watts(watts) => PAN_SHARE_OF_BURNER * watts,
            WaterHeat::KeptAt(set) => (capacity * (set - self.temperature) / 30.0 + loss).clamp(0.0, self.most_watts),
        };
        // what would heat it further boils off
        let hotter = self.temperature + secs * (watts - loss) / capacity;
        self.temperature = hotter.min(room.boiling);
    }
}

/// How much of a change with this time constant happens in a step.
pub(super) fn share_of_step(secs: f64, constant_s: f64) -> f64 {
    1.0 - libm::exp(-secs / constant_s)
}

/// Vapour pressure over water, in Pa, at most that at 100 °C (Magnus formula, from memory).
pub(super) fn saturation_pa(celsius: f64) -> f64 {
    let capped = celsius.clamp(-40.0, 100.0);
    611.2 * libm::exp(17.62 * capped / (243.12 + capped))
}

/// Heat to warm one gram of water by one degree, in J (from memory).
const WATER_J_PER_G: f64 = 4.186;

// Sizes of a usual kitchen, by common practice, no source: chosen so that an oven is at 180 °C after about ten minutes
// and a pan at 200 °C after about four.
const OVEN_HEAT_CAPACITY: f64 = 8000.0;
const OVEN_LOSS: f64 = 4.5;
const OVEN_LOSS_OPEN: f64 = 18.0;
const PAN_HEAT_CAPACITY: f64 = 1300.0;
const PAN_LOSS: f64 = 4.0;
const PAN_SHARE_OF_BURNER: f64 = 0.6;
pub(super) const PAN_CONTACT: f64 = 250.0;
const WATER_LOSS: f64 = 3.0;
const ROOM_VAPOUR_PA: f64 = 1200.0;

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room = Room { air: 21.0, boiling: 100.0 };

    fn at(second: u32) -> RunTime {
        RunTime::from_millis(u64::from(second) * 1000)
    }

    fn run(appliance: &mut Appliance, from: u32, to: u32) -> Vec<f64> {
        let steps = from + 1..=to;
        steps
            .map(|second| {
                appliance.step(1.0, at(second), ROOM, 0.0);
                appliance.temperature(ROOM)
            })
            .collect()
    }

    fn hot_oven(offset: f64, fan: bool) -> Appliance {
        let mut oven = Oven::new(offset, 4.0, 2500.0, ROOM.air);
        (oven.set, oven.fan) = (Some(180.0), fan);
        Appliance::Oven(oven)
    }

    #[test]
    fn an_oven_preheats_then_cycles_round_its_setting_and_offset() {
        for (offset, fan) in [(0.0, true), (-12.0, false), (9.0, true)] {
            let mut oven = hot_oven(offset, fan);
            let air = run(&mut oven, 0, 7200);
            let ready = air.iter().position(|c| *c >= 180.0 + offset - 4.0).unwrap_or(7200);
            assert!((360..1200).contains(&ready), "ready after {ready} s");
            let late = &air[3600..];
            let mean = late.iter().sum::<f64>() / late.len() as f64;
            assert!((mean - 180.0 - offset).abs() < 2.0, "mean {mean}");
            let (low, high) = late.iter().fold((f64::MAX, f64::MIN), |(low, high), c| (low.min(*c), high.max(*c)));
            assert!(high - low > 4.0 && high - low < 20.0, "swings {low} to {high}");
            let crossings = late.windows(2).filter(|two| (two[0] < mean) != (two[1] < mean)).count();
            assert!(crossings >= 10, "{crossings} crossings in an hour");
        }
    }

    #[test]
    fn an_open_door_drops_the_air_and_closing_it_brings_it_back() {
        let mut oven = hot_oven(0.0, true);
        let before = run(&mut oven, 0, 3600)[3599];
        if let Appliance::Oven(oven) = &mut oven {
            oven.open_for(at(3600), Span::from_secs(20));
        }
        let open = run(&mut oven, 3600, 3620)[19];
        assert!(open < before - 50.0, "{before} then {open}");
        let back = run(&mut oven, 3620, 3800)[179];
        assert!(back > before - 20.0, "{open} then {back}");
    }

    #[test]
    fn a_pan_heats_and_food_cools_it() {
        let mut pan = Pan::new(2000.0, ROOM.air);
        pan.watts = 1500.0;
        let mut pan = Appliance::Pan(pan);
        let hot = run(&mut pan, 0, 600)[599];
        assert!((170.0..260.0).contains(&hot), "{hot} °C after 10 min");
        pan.step(1.0, at(601), ROOM, 2000.0);
        assert!(pan.temperature(ROOM) < hot - 0.8);
    }

    #[test]
    fn water_boils_at_the_boiling_point_and_a_bath_keeps_its_temperature() {
        let mut pot = Water::new(2000.0, 2000.0, ROOM.air);
        pot.heat = WaterHeat::Watts(2000.0);
        let mut pot = Appliance::Water(pot);
        let temperatures = run(&mut pot, 0, 1200);
        assert_eq!(temperatures[1199], 100.0);
        assert!(temperatures[300] < 95.0);
        let mut bath = Water::new(1500.0, 10_000.0, ROOM.air);
        bath.heat = WaterHeat::KeptAt(58.0);
        let mut bath = Appliance::Water(bath);
        let kept = run(&mut bath, 0, 3600)[3599];
        assert!((kept - 58.0).abs() < 0.05, "{kept}");
    }

    #[test]
    fn the_vapour_pressure_is_near_its_known_points() {
        // 2.34 kPa at 20 °C, 101.3 kPa at 100 °C (from memory)
        assert!((saturation_pa(20.0) - 2339.0).abs() < 20.0);
        assert!((saturation_pa(100.0) / 101_325.0 - 1.0).abs() < 0.04);
    }
}
