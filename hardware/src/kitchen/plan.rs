use std::collections::BTreeMap;

use quantities::{Celsius, CelsiusStep, Mass, Power, RunTime, Span};
use serde::{Deserialize, Serialize};

use super::{
    Chance, Kitchen, NotPossible,
    appliance::{Appliance, ApplianceId, Microwave, Oven, Pan, Room, Water},
    conduction::{Material, Shape},
    food::{Cue, FoodFacts, FoodKind, Form, ItemId},
    item::Item,
    tip::{SimProbe, Tip},
};
use crate::{
    ProbeId,
    faults::{FaultSchedule, PlannedFault},
};

/// A simulated kitchen as a file describes it.
///
/// Bench and fridge are always there, under these names.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KitchenPlan {
    /// What it is called.
    pub name: String,
    /// The air of the room.
    #[serde(default = "room")]
    pub room: Celsius,
    /// The fridge.
    #[serde(default = "fridge")]
    pub fridge: Celsius,
    /// Where water boils: lower on a mountain.
    #[serde(default = "boiling")]
    pub boiling: Celsius,
    /// What heats.
    #[serde(default)]
    pub appliance: Vec<PlannedAppliance>,
    /// What is to be cooked.
    #[serde(default)]
    pub food: Vec<PlannedFood>,
    /// What measures.
    #[serde(default)]
    pub probe: Vec<PlannedProbe>,
    /// What will go wrong.
    #[serde(default)]
    pub fault: Vec<PlannedFault>,
}

/// An appliance of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum PlannedAppliance {
    /// An oven with a thermostat.
    Oven {
        /// What recipes call it.
        name: ApplianceId,
        /// How much hotter it runs than its dial says.
        #[serde(default)]
        offset: CelsiusStep,
        /// How far the thermostat lets it swing to either side.
        #[serde(default = "swing")]
        swing: CelsiusStep,
        /// Its element.
        #[serde(default = "oven_power")]
        power: Power,
    },
    /// A microwave.
    Microwave {
        /// What recipes call it.
        name: ApplianceId,
        /// The most it gives into food.
        #[serde(default = "microwave_power")]
        power: Power,
    },
    /// A pan on a burner.
    Pan {
        /// What recipes call it.
        name: ApplianceId,
        /// The most the burner gives.
        #[serde(default = "burner_power")]
        power: Power,
    },
    /// A pot of water on a burner, or a bath that keeps a temperature.
    Water {
        /// What recipes call it.
        name: ApplianceId,
        /// The most the burner or the heater gives.
        #[serde(default = "burner_power")]
        power: Power,
        /// How much water.
        #[serde(default = "water_mass")]
        water: Mass,
    },
}

/// A food of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedFood {
    /// Its name.
    pub name: ItemId,
    /// What it is; guessed from the name if absent.
    #[serde(default)]
    pub kind: Option<FoodKind>,
    /// What it weighs; the usual mass of its kind if absent.
    #[serde(default)]
    pub mass: Option<Mass>,
    /// Where it is at the start.
    #[serde(default = "in_fridge")]
    pub at: ApplianceId,
    /// How warm it is at the start.
    #[serde(default = "fridge")]
    pub start: Celsius,
    /// Its form; the usual one of its kind if absent.
    #[serde(default)]
    pub form: Option<Form>,
    /// What it is made of; as its kind if absent.
    #[serde(default)]
    pub material: Option<Material>,
    /// Its sign of doneness; as its kind if absent.
    #[serde(default)]
    pub cue: Option<Cue>,
}

/// A probe of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedProbe {
    /// Its name.
    pub name: ProbeId,
    /// Where its tip is.
    pub tip: Tip,
    /// The time constant of its tip.
    #[serde(default = "lag")]
    pub lag: Span,
    /// Standard deviation of its noise.
    #[serde(default = "noise")]
    pub noise: CelsiusStep,
    /// The smallest step it shows; nothing is rounded if zero.
    #[serde(default = "quantum")]
    pub quantum: CelsiusStep,
    /// How much too high it reads.
    #[serde(default)]
    pub offset: CelsiusStep,
    /// Below this it has no reading.
    #[serde(default = "lowest")]
    pub lowest: Celsius,
    /// Above this it has no reading.
    #[serde(default = "highest")]
    pub highest: Celsius,
}

/// Why a plan makes no kitchen.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanFault {
    /// Two things have the same name.
    #[error("expected each name once, found {found} twice")]
    Twice {
        /// The name.
        found: String,
    },
    /// Nothing is known of a food.
    #[error("{food}: expected a kind, or a name with a known word such as loin or custard")]
    UnknownFood {
        /// Which food.
        food: ItemId,
    },
    /// A number cannot be.
    #[error("{name}: expected {what} from {low} to {high}, found {found}")]
    Number {
        /// Of what.
        name: String,
        /// Which number.
        what: &'static str,
        /// The lowest that can be.
        low: f64,
        /// The highest that can be.
        high: f64,
        /// What is in the plan.
        found: f64,
    },
    /// Something is named that is not in the plan.
    #[error(transparent)]
    Missing(#[from] NotPossible),
}

impl KitchenPlan {
    /// Makes the kitchen; the same plan and seed make the same one.
    pub fn build(&self, seed: u64) -> Result<Kitchen, PlanFault> {
        let within = |what, found: Celsius, low, high| number(&self.name, what, found.degrees(), low, high);
        within("a room", self.room, -10.0, 50.0)?;
        within("a fridge", self.fridge, -5.0, 15.0)?;
        within("a boiling point", self.boiling, 80.0, 102.0)?;
        let room = Room { air: self.room.degrees(), boiling: self.boiling.degrees() };
        let mut appliances = BTreeMap::from([
            (in_fridge(), still_air(self.fridge, 12.0, 1.0)),
            (bench(), still_air(self.room, 9.0, 0.5)),
        ]);
        for planned in &self.appliance {
            let (name, made) = planned.appliance(room)?;
            if appliances.insert(name.clone(), made).is_some() {
                return Err(twice(name));
            }
        }
        let mut kitchen = Kitchen {
            seed,
            now: RunTime::START,
            room,
            appliances,
            drawn_w: BTreeMap::new(),
            items: BTreeMap::new(),
            probes: BTreeMap::new(),
            faults: FaultSchedule::new(self.fault.clone(), seed),
        };
        for food in &self.food {
            if kitchen.items.contains_key(&food.name) {
                return Err(twice(&food.name));
            }
            kitchen.add_food(food)?;
        }
        for planned in &self.probe {
            planned.check()?;
            let probe = SimProbe::new(planned, room.air);
            if kitchen.probes.insert(planned.name.clone(), probe).is_some() {
                return Err(twice(&planned.name));
            }
            // checks that what the tip is in is there
            kitchen.act(&super::Action::Probe { probe: planned.name.clone(), tip: planned.tip.clone() })?;
        }
        for fault in &self.fault {
            if !kitchen.probes.contains_key(&fault.probe) {
                return Err(PlanFault::Missing(NotPossible::NoProbe {
                    found: fault.probe.clone(),
                    known: super::listed(&kitchen.probes),
                }));
            }
        }
        Ok(kitchen)
    }
}

impl PlannedAppliance {
    fn appliance(&self, room: Room) -> Result<(&ApplianceId, Appliance), PlanFault> {
        let watts =
            |name: &ApplianceId, power: &Power| number(name.as_str(), "a power in W", power.units(), 50.0, 10_000.0);
        Ok(match self {
            Self::Oven { name, offset, swing, power } => {
                let watts = number(name.as_str(), "a power in W", power.units(), 1500.0, 10_000.0)?;
                let offset = number(name.as_str(), "an offset in °C", offset.degrees(), -50.0, 50.0)?;
                let swing = number(name.as_str(), "a swing in °C", swing.degrees(), 0.5, 30.0)?;
                (name, Appliance::Oven(Oven::new(offset, swing, watts, room.air)))
            }
            Self::Microwave { name, power } => (
                name,
                Appliance::Microwave(Microwave { most_watts: watts(name, power)?, watts: 0.0, until: RunTime::START }),
            ),
            Self::Pan { name, power } => (name, Appliance::Pan(Pan::new(watts(name, power)?, room.air))),
            Self::Water { name, power, water } => {
                let grams = number(name.as_str(), "water in g", water.units(), 100.0, 100_000.0)?;
                let water = Water::new(watts(name, power)?, grams, room.air);
                (name, Appliance::Water(water))
            }
        })
    }
}

impl PlannedFood {
    /// A food of this name as its name says, from the fridge.
    pub fn named(name: ItemId) -> Self {
        Self { name, kind: None, mass: None, at: in_fridge(), start: fridge(), form: None, material: None, cue: None }
    }

    pub(super) fn item(&self, seed: u64) -> Result<Item, PlanFault> {
        let name = self.name.as_str();
        let kind = self.kind.or_else(|| FoodKind::from_name(name));
        let kind = kind.ok_or_else(|| PlanFault::UnknownFood { food: self.name.clone() })?;
        let known = kind.facts();
        let grams = self.mass.map_or(known.grams, Mass::units);
        number(name, "a mass in g", grams, 5.0, 20_000.0)?;
        let material = self.material.unwrap_or(known.material);
        number(name, "a conductivity in W/(m K)", material.conductivity, 0.03, 5.0)?;
        number(name, "a density in kg/m³", material.density, 50.0, 3000.0)?;
        number(name, "a heat capacity in J/(kg K)", material.heat_capacity, 500.0, 5000.0)?;
        let cue = self.cue.unwrap_or(known.cue);
        check_cue(name, cue)?;
        let form = self.form.unwrap_or_else(|| kind.form(grams));
        match form {
            Form::Stirred => {}
            Form::Piece(Shape::Slab { thickness_mm }) => {
                number(name, "a thickness in mm", thickness_mm, 2.0, 300.0)?;
            }
            Form::Piece(Shape::Cylinder { radius_mm } | Shape::Sphere { radius_mm }) => {
                number(name, "a radius in mm", radius_mm, 2.0, 200.0)?;
            }
        }
        number(name, "a start in °C", self.start.degrees(), 0.0, 100.0)?;
        let facts = FoodFacts { grams, material, cue, ..known };
        let uneven = Chance::new(seed, name, 0).normal() * MICROWAVE_UNEVENNESS;
        Ok(Item::new(facts, form, self.start.degrees(), self.at.clone(), (1.0 + uneven).clamp(0.5, 1.5)))
    }
}

impl PlannedProbe {
    /// A probe as it usually is: 5 s of lag, 0.05 °C of noise, sixteenths of a degree.
    pub fn new(name: ProbeId, tip: Tip) -> Self {
        Self {
            name,
            tip,
            lag: lag(),
            noise: noise(),
            quantum: quantum(),
            offset: CelsiusStep::ZERO,
            lowest: lowest(),
            highest: highest(),
        }
    }

    fn check(&self) -> Result<(), PlanFault> {
        let name = self.name.as_str();
        number(name, "a lag in s", self.lag.secs(), 0.0, 600.0)?;
        number(name, "noise in °C", self.noise.degrees(), 0.0, 20.0)?;
        number(name, "a smallest step in °C", self.quantum.degrees(), 0.0, 10.0)?;
        if let Tip::In { offset_mm, .. } = self.tip {
            number(name, "an offset in mm", offset_mm, -300.0, 300.0)?;
        }
        Ok(())
    }
}

/// How much foods differ in what they take of a microwave's field: standard deviation, our own choice.
const MICROWAVE_UNEVENNESS: f64 = 0.15;

fn check_cue(name: &str, cue: Cue) -> Result<(), PlanFault> {
    match cue {
        Cue::Peak { from, done, .. } => {
            number(name, "degrees from nothing to done", (done - from).degrees(), 1.0, 300.0)?;
        }
        Cue::Rate { z, time, .. } => {
            number(name, "a z in °C", z.degrees(), 1.0, 200.0)?;
            number(name, "a time in s", time.secs(), 1.0, 1e6)?;
        }
    }
    Ok(())
}

fn number(name: &str, what: &'static str, found: f64, low: f64, high: f64) -> Result<f64, PlanFault> {
    // NaN is in no range
    if (low..=high).contains(&found) {
        return Ok(found);
    }
    Err(PlanFault::Number { name: name.to_owned(), what, low, high, found })
}

fn twice(name: &impl std::fmt::Display) -> PlanFault {
    PlanFault::Twice { found: name.to_string() }
}

fn still_air(temperature: Celsius, film: f64, humidity: f64) -> Appliance {
    Appliance::Air { temperature: temperature.degrees(), film, humidity }
}

fn bench() -> ApplianceId {
    ApplianceId::new("bench").expect("bench is a well formed name")
}

fn in_fridge() -> ApplianceId {
    ApplianceId::new("fridge").expect("fridge is a well formed name")
}

pub(super) fn room() -> Celsius {
    Celsius::whole(21)
}

pub(super) fn fridge() -> Celsius {
    Celsius::whole(5)
}

pub(super) fn boiling() -> Celsius {
    Celsius::whole(100)
}

pub(super) fn swing() -> CelsiusStep {
    CelsiusStep::whole(4)
}

pub(super) fn oven_power() -> Power {
    Power::whole(2500)
}

pub(super) fn microwave_power() -> Power {
    Power::whole(800)
}

pub(super) fn burner_power() -> Power {
    Power::whole(2000)
}

pub(super) fn water_mass() -> Mass {
    Mass::whole(3000)
}

fn lag() -> Span {
    Span::from_secs(5)
}

fn noise() -> CelsiusStep {
    CelsiusStep::from_degrees(0.05).unwrap_or(CelsiusStep::ZERO)
}

fn quantum() -> CelsiusStep {
    CelsiusStep::from_degrees(0.0625).unwrap_or(CelsiusStep::ZERO)
}

fn lowest() -> Celsius {
    Celsius::whole(-55)
}

fn highest() -> Celsius {
    Celsius::whole(300)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const TEXT: &str = r#"
        name = "small kitchen"
        boiling = 94.5

        [[appliance]]
        kind = "oven"
        name = "oven"
        offset = -8

        [[appliance]]
        kind = "water"
        name = "bath"
        water = 6000

        [[food]]
        name = "fillet"
        mass = 150
        at = "bench"
        start = 12
        form = { piece = { form = "slab", thickness_mm = 30 } }

        [[food]]
        name = "pudding"
        kind = "custard"

        [[probe]]
        name = "sim:1"
        tip = { place = "in", item = "fillet", offset_mm = 2 }
        lag = "PT3S"

        [[fault]]
        probe = "sim:1"
        fault = { kind = "jump", by = 5 }
        from = "PT10M"
        until = "PT11M"
    "#;

    fn plan(change: &[(&str, &str)]) -> Result<KitchenPlan, toml::de::Error> {
        let text = change.iter().fold(TEXT.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from} is not in the plan");
            text.replace(from, to)
        });
        toml::from_str(&text)
    }

    #[test]
    fn a_plan_is_read_from_toml_and_written_back() {
        let read = plan(&[]).unwrap();
        let mut kitchen = read.build(1).unwrap();
        assert_eq!(kitchen.items().len(), 2);
        assert_eq!(kitchen.items()[0].core, Celsius::whole(12));
        let names: Vec<String> = kitchen.appliances().into_iter().map(|a| a.id.into()).collect();
        assert_eq!(names, ["bath", "bench", "fridge", "oven"]);
        assert_eq!(kitchen.fault_counts().len(), 1);
        kitchen.advance(RunTime::from_millis(1000));
        let again: KitchenPlan = toml::from_str(&toml::to_string(&read).unwrap()).unwrap();
        assert_eq!(again, read);
        let shown = KitchenPlan::tern_lane();
        let again: KitchenPlan = toml::from_str(&toml::to_string(&shown).unwrap()).unwrap();
        assert_eq!(again, shown);
        shown.build(1).unwrap();
    }

    #[test]
    fn a_plan_that_cannot_be_is_refused_with_its_reason() {
        for (from, to, message) in [
            ("\"bath\"", "\"oven\"", "expected each name once, found oven twice"),
            ("\"bath\"", "\"bench\"", "expected each name once, found bench twice"),
            (
                "\"bench\"",
                "\"shelf\"",
                "expected an appliance of this kitchen (bath, bench, fridge, oven), found shelf",
            ),
            ("item = \"fillet\"", "item = \"loin\"", "expected a food in this kitchen (fillet, pudding), found loin"),
            ("probe = \"sim:1\"", "probe = \"sim:2\"", "expected a probe of this kitchen (sim:1), found sim:2"),
            ("kind = \"custard\"", "", "pudding: expected a kind, or a name with a known word such as loin or custard"),
            ("thickness_mm = 30", "thickness_mm = nan", "fillet: expected a thickness in mm from 2 to 300, found NaN"),
            ("mass = 150", "mass = 1", "fillet: expected a mass in g from 5 to 20000, found 1"),
            ("boiling = 94.5", "boiling = 120", "small kitchen: expected a boiling point from 80 to 102, found 120"),
        ] {
            let refused = plan(&[(from, to)]).unwrap().build(1).unwrap_err();
            assert_eq!(refused.to_string(), message);
        }
        assert!(plan(&[("boiling", "boilng")]).is_err());
        assert!(plan(&[("offset = -8", "ofset = -8")]).is_err());
    }
}
