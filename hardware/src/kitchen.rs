//! A simulated kitchen: appliances, food that conducts heat, probes in it, faults on demand, and a cook.
//!
//! Everything comes from a plan and a seed. Time moves on a fixed grid of one second inside, so a caller may jump as far
//! as it likes in one call and finds the same kitchen as one who goes second by second. Something done to the kitchen
//! counts from the last grid point on. Maths is that of `libm`, so the kitchen is the same on every machine.
//!
//! What it leaves out: food does not cool its oven, nothing freezes, a piece conducts in one dimension, and heat to vapour
//! is taken at the surface only. Numbers are those of no real kitchen.

mod action;
mod appliance;
mod chance;
mod conduction;
mod cook;
mod food;
mod item;
mod plan;
mod tern_lane;
mod tip;

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use quantities::{Celsius, Mass, NoReading, Reading, RunTime, Span};

pub use action::{Action, NotPossible};
pub use appliance::ApplianceId;
pub(crate) use chance::Chance;
pub use conduction::{Conduction, Film, HeatIn, Material, Shape};
pub use cook::{Ask, Habits, Prompt, SimCook, Wait};
pub use food::{Cue, FoodFacts, FoodKind, Form, ItemId, LookSays, Where};
pub use plan::{KitchenPlan, PlanFault, PlannedAppliance, PlannedFood, PlannedProbe};
pub use tip::Tip;

use appliance::{Appliance, Room};
use item::Item;
use tip::SimProbe;

use crate::{
    PlacedReading, ProbeId, ProbeInfo, Probes,
    faults::{FaultCount, FaultSchedule, PlannedFault},
    ids::Listed,
};

/// A simulated kitchen.
///
/// Its probes can be read through [`Probes`]; a reading is that of the last second, however often it is read.
#[derive(Clone, Debug)]
pub struct Kitchen {
    seed: u64,
    now: RunTime,
    room: Room,
    appliances: BTreeMap<ApplianceId, Appliance>,
    /// What the things in an appliance took up in the last second, in watts.
    drawn_w: BTreeMap<ApplianceId, f64>,
    items: BTreeMap<ItemId, Item>,
    probes: BTreeMap<ProbeId, SimProbe>,
    faults: FaultSchedule,
}

/// A food as a look sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemView {
    /// Its name.
    pub id: ItemId,
    /// Where it is.
    pub place: ApplianceId,
    /// In the middle.
    pub core: Celsius,
    /// At the upper surface.
    pub surface: Celsius,
    /// On average.
    pub mean: Celsius,
    /// What it weighs, with what evaporated gone.
    pub mass: Mass,
    /// 1 when done, above 1.25 when over.
    pub doneness: f64,
}

/// An appliance as a look sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct ApplianceView {
    /// Its name.
    pub id: ApplianceId,
    /// Air of an oven, face of a pan, water of a pot.
    pub temperature: Celsius,
    /// Whether an oven or a bath is at what it is set to; nothing for what has no setting.
    pub at_setting: Option<bool>,
}

impl Kitchen {
    /// The moment up to which everything has happened, on whole seconds.
    pub fn now(&self) -> RunTime {
        self.now
    }

    /// Lets everything happen up to a moment; a moment before [`Self::now`] changes nothing.
    pub fn advance(&mut self, to: RunTime) {
        while self.now + GRID <= to {
            self.now = self.now + GRID;
            self.second();
        }
    }

    /// Puts a food into the kitchen; one of the same name is replaced.
    pub fn add_food(&mut self, food: &PlannedFood) -> Result<(), PlanFault> {
        let item = food.item(self.seed)?;
        self.appliance(&item.place)?;
        self.items.insert(food.name.clone(), item);
        Ok(())
    }

    /// Plans a fault of one of its probes.
    pub fn plan_fault(&mut self, planned: PlannedFault) {
        self.faults.plan(planned);
    }

    /// The planned faults with how often each fired; each second of a fault counts once.
    pub fn fault_counts(&self) -> Vec<FaultCount> {
        self.faults.counts()
    }

    /// How far a food is by its sign: under 1 not yet, to 1.25 done, above over; nothing if there is no such food.
    pub fn doneness(&self, item: &ItemId) -> Option<f64> {
        self.items.get(item).map(Item::doneness)
    }

    /// All foods.
    pub fn items(&self) -> Vec<ItemView> {
        let views = self.items.iter().map(|(id, item)| ItemView {
            id: id.clone(),
            place: item.place.clone(),
            core: celsius(item.at(Where::Core)),
            surface: celsius(item.at(Where::Surface)),
            mean: celsius(item.at(Where::Mean)),
            mass: Mass::from_units(item.grams).unwrap_or(Mass::ZERO),
            doneness: item.doneness(),
        });
        views.collect()
    }

    /// All appliances, with bench and fridge.
    pub fn appliances(&self) -> Vec<ApplianceView> {
        let views = self.appliances.iter().map(|(id, appliance)| ApplianceView {
            id: id.clone(),
            temperature: celsius(appliance.temperature(self.room)),
            at_setting: appliance.is_at_setting(),
        });
        views.collect()
    }

    fn second(&mut self) {
        let secs = GRID.secs();
        for (id, appliance) in &mut self.appliances {
            let drawn = self.drawn_w.get(id).copied().unwrap_or(0.0);
            appliance.step(secs, self.now, self.room, drawn);
        }
        let mut grams: BTreeMap<ApplianceId, f64> = BTreeMap::new();
        for item in self.items.values() {
            *grams.entry(item.place.clone()).or_default() += item.grams;
        }
        self.drawn_w.clear();
        for item in self.items.values_mut() {
            let Some(appliance) = self.appliances.get(&item.place) else {
                continue;
            };
            let round = appliance.surroundings(self.room);
            let together = grams.get(&item.place).copied().unwrap_or(item.grams);
            // a small load takes up less of the field (from memory)
            let taken_up = 1.0 - libm::exp(-together / 150.0);
            let field_w = round.field_w * taken_up * item.grams / together;
            let drawn = item.step(secs, round, field_w, self.room.boiling);
            *self.drawn_w.entry(item.place.clone()).or_default() += drawn;
        }
        for (id, probe) in &mut self.probes {
            let truth = match &probe.tip {
                Tip::In { item, offset_mm } => self.items.get(item).map(|item| item.at_mm(*offset_mm)),
                Tip::Air { appliance } => {
                    let appliance = self.appliances.get(appliance);
                    appliance.map(|appliance| appliance.temperature(self.room))
                }
            };
            let reading = probe.step(secs, truth.unwrap_or(self.room.air), self.seed, id, self.now);
            probe.last = self.faults.apply(id, self.now, reading);
        }
    }

    fn appliance(&mut self, id: &ApplianceId) -> Result<&mut Appliance, NotPossible> {
        if !self.appliances.contains_key(id) {
            return Err(NotPossible::NoAppliance { found: id.clone(), known: listed(&self.appliances) });
        }
        Ok(self.appliances.get_mut(id).expect("it was found just above"))
    }

    fn item(&mut self, id: &ItemId) -> Result<&mut Item, NotPossible> {
        if !self.items.contains_key(id) {
            return Err(NotPossible::NoItem { found: id.clone(), known: listed(&self.items) });
        }
        Ok(self.items.get_mut(id).expect("it was found just above"))
    }
}

impl Probes for Kitchen {
    fn list(&mut self) -> Vec<ProbeInfo> {
        let probes = self.probes.iter();
        probes.map(|(id, probe)| probe.info(id)).collect()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        match self.probes.get(id) {
            Some(probe) => PlacedReading { reading: probe.last, place: probe.tip.to_string() },
            None => PlacedReading::none(NoReading::Unplugged, format!("the simulated kitchen has no probe {id}")),
        }
    }

    fn advance(&mut self, to: RunTime) {
        Kitchen::advance(self, to);
    }
}

/// A kitchen that the thread that reads probes shares with the one that cooks.
#[derive(Clone, Debug)]
pub struct SharedKitchen(Arc<Mutex<Kitchen>>);

impl SharedKitchen {
    /// Shares this kitchen; clones are the same kitchen.
    pub fn new(kitchen: Kitchen) -> Self {
        Self(Arc::new(Mutex::new(kitchen)))
    }

    /// The kitchen, for as long as the guard lives.
    pub fn lock(&self) -> MutexGuard<'_, Kitchen> {
        // a panic elsewhere leaves numbers, never a broken invariant
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Probes for SharedKitchen {
    fn list(&mut self) -> Vec<ProbeInfo> {
        self.lock().list()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        self.lock().read(id)
    }

    fn advance(&mut self, to: RunTime) {
        self.lock().advance(to);
    }
}

const GRID: Span = Span::from_secs(1);

fn listed<K: std::fmt::Display + Clone, V>(map: &BTreeMap<K, V>) -> String {
    let names: Vec<K> = map.keys().cloned().collect();
    Listed(&names).to_string()
}

/// A temperature of the simulation; what runs off the scale stays at its end.
fn celsius(degrees: f64) -> Celsius {
    let (low, high) = (Celsius::ABSOLUTE_ZERO, Celsius::HIGHEST);
    let kept = degrees.clamp(low.degrees(), high.degrees());
    Celsius::from_degrees(kept).unwrap_or(low)
}

/// What a simulated probe says before its first second.
const NOT_YET: Reading = Err(NoReading::Timeout);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::{CelsiusStep, Power};

    use super::*;
    use crate::faults::Fault;

    fn secs(secs: u64) -> RunTime {
        RunTime::from_millis(secs * 1000)
    }

    fn appliance(name: &str) -> ApplianceId {
        ApplianceId::new(name).unwrap()
    }

    fn item(name: &str) -> ItemId {
        ItemId::new(name).unwrap()
    }

    fn core() -> ProbeId {
        ProbeId::new("sim:core").unwrap()
    }

    fn kitchen() -> Kitchen {
        KitchenPlan::tern_lane().build(5).unwrap()
    }

    fn view(kitchen: &Kitchen, name: &str) -> ItemView {
        let items = kitchen.items().into_iter();
        items.into_iter().find(|view| view.id == item(name)).unwrap()
    }

    fn put(kitchen: &mut Kitchen, name: &str, to: &str) {
        let (item, to) = (item(name), appliance(to));
        kitchen.act(&Action::Move { item, to }).unwrap();
    }

    fn set_oven(kitchen: &mut Kitchen, degrees: i16) {
        let set = Action::Set { appliance: appliance("oven"), to: Celsius::whole(degrees), fan: true };
        kitchen.act(&set).unwrap();
    }

    /// The loin in an oven at 180 °C, until its core is at 60 °C.
    fn roast(kitchen: &mut Kitchen) -> RunTime {
        set_oven(kitchen, 180);
        kitchen.advance(secs(1200));
        put(kitchen, "loin", "oven");
        while view(kitchen, "loin").core < Celsius::whole(60) {
            let next = kitchen.now() + Span::from_secs(10);
            assert!(next < secs(4 * 3600), "never done");
            kitchen.advance(next);
        }
        kitchen.now()
    }

    #[test]
    fn any_step_gives_the_same_kitchen() {
        let cook = |steps: &[u64]| {
            let mut kitchen = kitchen();
            set_oven(&mut kitchen, 160);
            kitchen
                .act(&Action::Microwave {
                    appliance: appliance("microwave"),
                    watts: Power::whole(600),
                    span: Span::from_secs(100),
                })
                .unwrap();
            put(&mut kitchen, "gratin", "microwave");
            put(&mut kitchen, "loin", "oven");
            for step in steps.iter().cycle() {
                let next = RunTime::from_millis((kitchen.now().millis() + step).min(900_000));
                kitchen.advance(next.max(kitchen.now() + Span::from_secs(1)));
                if kitchen.now() >= secs(900) {
                    break;
                }
            }
            let readings: Vec<Reading> =
                [core(), ProbeId::new("sim:air").unwrap()].iter().map(|id| kitchen.read(id).reading).collect();
            (kitchen.items(), kitchen.appliances(), readings)
        };
        let one_by_one = cook(&[1000]);
        assert_eq!(cook(&[900_000]), one_by_one);
        assert_eq!(cook(&[700, 1300, 61_234, 17]), one_by_one);
    }

    #[test]
    fn the_seed_makes_the_noise() {
        let readings = |seed| {
            let mut kitchen = KitchenPlan::tern_lane().build(seed).unwrap();
            let each = (1..60).map(|second| {
                kitchen.advance(secs(second));
                kitchen.read(&core()).reading
            });
            each.collect::<Vec<Reading>>()
        };
        assert_eq!(readings(1), readings(1));
        assert_ne!(readings(1), readings(2));
    }

    #[test]
    fn a_loin_goes_on_rising_after_it_left_the_oven() {
        let mut kitchen = kitchen();
        let out = roast(&mut kitchen);
        let roasted = out.since(secs(1200));
        let usual = Span::from_mins(35)..Span::from_mins(90);
        assert!(usual.contains(&roasted), "{} min", roasted.secs() / 60.0);
        put(&mut kitchen, "loin", "bench");
        let at_pull = view(&kitchen, "loin").core;
        let (mut peak, mut when) = (at_pull, out);
        for minute in 1..60 {
            kitchen.advance(out + Span::from_mins(minute));
            let core = view(&kitchen, "loin").core;
            if core > peak {
                (peak, when) = (core, kitchen.now());
            }
        }
        let rise = (peak - at_pull).degrees();
        assert!((2.0..12.0).contains(&rise), "rose by {rise} °C");
        assert!((Span::from_mins(3)..Span::from_mins(25)).contains(&when.since(out)));
        let last = view(&kitchen, "loin");
        assert!(last.core < peak && last.core > Celsius::whole(30));
        let lost = 900.0 - last.mass.units();
        assert!((10.0..200.0).contains(&lost), "lost {lost} g");
    }

    #[test]
    fn doneness_passes_from_not_yet_through_done_to_over() {
        let mut kitchen = kitchen();
        roast(&mut kitchen);
        let mut seen = vec![LookSays::of(kitchen.doneness(&item("loin")).unwrap())];
        for _ in 0..240 {
            kitchen.advance(kitchen.now() + Span::from_secs(15));
            let says = LookSays::of(kitchen.doneness(&item("loin")).unwrap());
            if seen.last() != Some(&says) {
                seen.push(says);
            }
        }
        assert_eq!(seen, [LookSays::NotYet, LookSays::Done, LookSays::Over]);
        assert_eq!(kitchen.doneness(&item("nothing")), None);
    }

    #[test]
    fn every_demonstration_food_gets_done_where_it_belongs_in_a_usual_time() {
        let minutes = |name: &str, place: &str, flip_after: Option<u64>, prepare: &[Action]| {
            let mut kitchen = kitchen();
            for action in prepare {
                kitchen.act(action).unwrap();
            }
            let start = secs(1500);
            kitchen.advance(start);
            put(&mut kitchen, name, place);
            for minute in 1..240 {
                kitchen.advance(start + Span::from_mins(minute));
                if flip_after == Some(minute) {
                    kitchen.act(&Action::Flip { item: item(name) }).unwrap();
                }
                if kitchen.doneness(&item(name)).unwrap() >= 1.0 {
                    return minute;
                }
            }
            240
        };
        let oven = |degrees| Action::Set { appliance: appliance("oven"), to: Celsius::whole(degrees), fan: true };
        let level = |name: &str, watts| Action::Level { appliance: appliance(name), watts: Power::whole(watts) };
        for (name, place, flip_after, prepare, usual) in [
            ("chicken 1", "oven", None, oven(200), 25..60),
            ("gratin", "oven", None, oven(180), 40..100),
            ("custard", "oven", None, oven(150), 15..70),
            ("bread", "oven", None, oven(220), 15..60),
            ("fillet", "burner", Some(4), level("burner", 1300), 5..16),
            ("potatoes", "burner 2", None, level("burner 2", 2000), 20..60),
            ("sauce", "burner", None, level("burner", 1500), 8..40),
        ] {
            let taken = minutes(name, place, flip_after, &[prepare]);
            assert!(usual.contains(&taken), "{name}: {taken} min");
        }
    }

    #[test]
    fn a_microwave_heats_pieces_unevenly_and_stops_by_itself() {
        let mut kitchen = kitchen();
        for name in ["chicken 1", "chicken 2", "chicken 3"] {
            put(&mut kitchen, name, "microwave");
        }
        kitchen
            .act(&Action::Microwave {
                appliance: appliance("microwave"),
                watts: Power::whole(800),
                span: Span::from_mins(3),
            })
            .unwrap();
        kitchen.advance(secs(180));
        let means =
            |kitchen: &Kitchen| ["chicken 1", "chicken 2", "chicken 3"].map(|name| view(kitchen, name).mean.degrees());
        let hot = means(&kitchen);
        let spread = hot.iter().fold(0.0_f64, |most, c| most.max((c - hot[0]).abs()));
        assert!(spread > 1.0, "{hot:?}");
        // 800 W for 3 min, less what a load of this size leaves, is 50 °C for 750 g
        let mean = hot.iter().sum::<f64>() / 3.0;
        assert!((40.0..70.0).contains(&mean), "{hot:?}");
        kitchen.advance(secs(240));
        assert!(means(&kitchen).iter().zip(hot).all(|(after, before)| *after < before + 0.1));
    }

    #[test]
    fn a_bath_brings_food_to_its_temperature_and_no_further() {
        let mut kitchen = kitchen();
        kitchen.act(&Action::Set { appliance: appliance("bath"), to: Celsius::whole(58), fan: false }).unwrap();
        kitchen.advance(secs(2400));
        put(&mut kitchen, "fillet", "bath");
        kitchen.advance(secs(2400 + 3 * 3600));
        let core = view(&kitchen, "fillet").core.degrees();
        assert!((core - 58.0).abs() < 0.2, "{core}");
    }

    #[test]
    fn a_probe_lags_and_shows_its_quantum() {
        let mut kitchen = kitchen();
        assert_eq!(kitchen.read(&core()).reading, NOT_YET);
        kitchen.advance(secs(5));
        // from the bench's 21 °C to a loin of 5 °C: after one lag a third of the way is left
        let shown = kitchen.read(&core()).reading.unwrap().degrees();
        assert!((shown - (5.0 + 16.0 * (-1.0_f64).exp())).abs() < 0.3, "{shown}");
        kitchen.advance(secs(120));
        let sixteenths = kitchen.read(&core()).reading.unwrap().ten_thousandths();
        assert_eq!(sixteenths % 625, 0);
        assert!((sixteenths - 50_000).abs() < 3_000, "{sixteenths}");
        assert_eq!(kitchen.read(&core()).place, "in loin, 3 mm from its middle");
    }

    #[test]
    fn a_probe_nearer_the_surface_is_warmer_in_the_oven() {
        let mut kitchen = kitchen();
        roast(&mut kitchen);
        kitchen.advance(kitchen.now() + Span::from_secs(60));
        let inner = kitchen.read(&core()).reading.unwrap();
        let tip = Tip::In { item: item("loin"), offset_mm: 25.0 };
        kitchen.act(&Action::Probe { probe: core(), tip }).unwrap();
        kitchen.advance(kitchen.now() + Span::from_secs(60));
        let outer = kitchen.read(&core()).reading.unwrap();
        assert!(outer > inner + CelsiusStep::whole(8), "{inner:?} then {outer:?}");
    }

    #[test]
    fn a_pulled_out_probe_falls_to_the_air_and_a_planned_fault_fires() {
        let mut kitchen = kitchen();
        let at = roast(&mut kitchen);
        let tip = Tip::Air { appliance: appliance("bench") };
        kitchen.act(&Action::Probe { probe: core(), tip }).unwrap();
        kitchen.plan_fault(PlannedFault {
            probe: core(),
            fault: Fault::Unplugged,
            from: at + Span::from_secs(30),
            until: at + Span::from_secs(40),
        });
        kitchen.advance(at + Span::from_secs(29));
        assert!(kitchen.read(&core()).reading.unwrap() < Celsius::whole(25));
        kitchen.advance(at + Span::from_secs(35));
        assert_eq!(kitchen.read(&core()).reading, Err(NoReading::Unplugged));
        kitchen.advance(at + Span::from_secs(60));
        assert!(kitchen.read(&core()).reading.is_ok());
        assert_eq!(kitchen.fault_counts()[0].fired, 10);
    }

    #[test]
    fn a_shared_kitchen_is_one_kitchen() {
        let shared = SharedKitchen::new(kitchen());
        let mut probes = shared.clone();
        probes.advance(secs(10));
        assert_eq!(shared.lock().now(), secs(10));
        assert!(probes.read(&core()).reading.is_ok());
        assert_eq!(probes.list().len(), 3);
    }
}
