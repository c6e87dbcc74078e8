//! The check before a trial: what the recipe needs, and what the station can tell of it.

use std::collections::{BTreeMap, BTreeSet};

use quantities::{Celsius, CelsiusStep, Reading};
use recipe_model::{Appliance, ApplianceKind, ProbeName, Programme, Setting, Until};
use screens::{CheckLine, CheckState, CheckView, ReadyAtView, Units, number};
use words::{Language, Text};

/// An oven that is this near to its setting is hot: its thermostat swings by more (common practice, no source).
const HOT_WITHIN: CelsiusStep = CelsiusStep::whole(10);

/// What is to be in order, and what the cook has ticked.
#[derive(Clone, Debug, PartialEq)]
pub struct Ready {
    title: String,
    needs: Vec<Need>,
    ticked: BTreeSet<usize>,
}

/// Something to be in order.
#[derive(Clone, Debug, PartialEq)]
enum Need {
    /// So many ingredients, weighed.
    Ingredients(usize),
    /// A probe that the recipe reads.
    Probe(ProbeName),
    /// An oven at its setting, and the probe of its air where the recipe names one.
    Oven(Appliance, Celsius, Option<ProbeName>),
}

/// What the probes say at this moment, by the names of the recipe; a probe without a device is not in it.
pub type Live = BTreeMap<ProbeName, Option<Reading>>;

impl Ready {
    /// What a programme needs. An oven that the programme itself heats up first is no need.
    pub fn new(title: String, programme: &Programme) -> Self {
        let mut needs = vec![Need::Ingredients(programme.ingredients.len())];
        let probes: BTreeSet<&ProbeName> = programme.steps().filter_map(|(_, _, step)| step.until.probe()).collect();
        needs.extend(probes.into_iter().cloned().map(Need::Probe));
        let mut ovens: BTreeMap<Appliance, Option<Need>> = BTreeMap::new();
        let at_ovens = programme.steps().filter(|(_, stage, _)| stage.appliance.kind == ApplianceKind::Oven);
        for (_, stage, step) in at_ovens {
            let heats = |until: &Until| matches!(until, Until::Heat { .. });
            let oven = stage.appliance;
            ovens.entry(oven).or_insert_with(|| match &step.setting {
                Some(Setting::Heat { at, .. }) if !heats(&step.until) => {
                    Some(Need::Oven(oven, *at, air_probe(programme, oven)))
                }
                Some(Setting::Heat { .. } | Setting::Power(_) | Setting::Level(_)) | None => None,
            });
        }
        needs.extend(ovens.into_values().flatten());
        Self { title, needs, ticked: BTreeSet::new() }
    }

    /// The probes that it looks at.
    pub fn probes(&self) -> BTreeSet<ProbeName> {
        let of = |need: &Need| match need {
            Need::Probe(name) | Need::Oven(_, _, Some(name)) => Some(name.clone()),
            Need::Ingredients(_) | Need::Oven(_, _, None) => None,
        };
        self.needs.iter().filter_map(of).collect()
    }

    /// Ticks a line, or opens it again; not one that only a probe can put right.
    pub fn tick(&mut self, line: usize, live: &Live) -> bool {
        match self.needs.get(line).map(|need| self.state(line, need, live)) {
            Some(CheckState::Open) => self.ticked.insert(line),
            Some(CheckState::Ticked) => self.ticked.remove(&line),
            Some(CheckState::NoSignal) | None => false,
        }
    }

    /// What the panel shows.
    pub fn view(&self, live: &Live, language: Language, units: Units) -> CheckView {
        let line = |(at, need): (usize, &Need)| {
            let (text, found) = words(need, live, language, units);
            CheckLine { text, found, state: self.state(at, need, live) }
        };
        let lines = self.needs.iter().enumerate().map(line).collect();
        // when its dishes are wanted is no need of the recipe
        CheckView { title: self.title.clone(), lines, ready_at: ReadyAtView::default() }
    }

    /// What is open, in the words of the record: English, whatever the panel speaks.
    pub fn left_open(&self, live: &Live) -> Vec<String> {
        let lines = self.view(live, Language::English, Units::Celsius).lines.into_iter();
        let open = lines.filter(|line| line.state != CheckState::Ticked);
        open.map(|line| format!("{}: {}", line.text.full(), line.found.full())).collect()
    }

    fn state(&self, line: usize, need: &Need, live: &Live) -> CheckState {
        let ticked = if self.ticked.contains(&line) { CheckState::Ticked } else { CheckState::Open };
        match need {
            Need::Ingredients(_) => ticked,
            Need::Probe(name) => match live.get(name) {
                // there, but not read yet
                Some(None | Some(Ok(_))) => ticked,
                Some(Some(Err(_))) | None => CheckState::NoSignal,
            },
            Need::Oven(_, setting, probe) => match reading(live, probe.as_ref()) {
                Some(air) if is_hot(air, *setting) => CheckState::Ticked,
                Some(_) | None => ticked,
            },
        }
    }
}

fn words(need: &Need, live: &Live, w: Language, units: Units) -> (Text, Text) {
    match need {
        Need::Ingredients(count) => (w.ingredients_in(count), w.found_not_said()),
        Need::Probe(name) => {
            let found = match live.get(name) {
                Some(Some(Ok(celsius))) => number::band_temperature(*celsius, units).into(),
                Some(None) => w.found_not_said(),
                Some(Some(Err(_))) | None => w.found_no_signal(),
            };
            (w.probe_called(name), found)
        }
        Need::Oven(oven, setting, probe) => {
            let name = match oven.number {
                1 => w.place_oven().full().to_owned(),
                number => format!("{} {number}", w.place_oven()),
            };
            let found = match reading(live, probe.as_ref()) {
                Some(air) if is_hot(air, *setting) => w.found_hot(),
                Some(air) => w.found_not_hot(number::whole_degrees(air, units)),
                None => w.found_not_said(),
            };
            (w.oven_at(name, number::with_unit(*setting, units)), found)
        }
    }
}

/// Only a probe in its air says that an oven is hot.
fn air_probe(programme: &Programme, oven: Appliance) -> Option<ProbeName> {
    programme.steps().filter(|(_, stage, _)| stage.appliance == oven).find_map(|(_, _, step)| match &step.until {
        Until::Heat { probe, .. } => probe.clone(),
        Until::Time { .. }
        | Until::Core(_)
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => None,
    })
}

fn reading(live: &Live, probe: Option<&ProbeName>) -> Option<Celsius> {
    live.get(probe?).copied().flatten()?.ok()
}

fn is_hot(air: Celsius, setting: Celsius) -> bool {
    air >= setting || setting - air <= HOT_WITHIN
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use quantities::NoReading;

    use super::*;
    use crate::run::shelf;

    /// Bakes first, and heats the oven up further afterwards, with a probe in its air.
    const BAKE: &str = r#"schema = 1
id = "rusk"
title = "Rusk"
yield = "2 portions"
hazards = []

[kitchen]
ovens = 1
cooks = 1
probes = 2

[[ingredient]]
id = "rye"
name = "Rye flour"
amount = "180 g"
tolerance = "5 g"

[[stage]]
id = "loaf"
name = "rusk"
appliance = "oven"

[[stage.step]]
id = "bake"
name = "bake"
do = "Middle shelf."
setting = { heat = "165 °C" }
until = { core = "94 °C", probe = "core", hold = "30 s", expect = "20-30 min", else = { time = "20-32 min", cue = "Hollow?", first_look = "20 min", look_every = "4 min", no_later_than = "40 min" } }

[[stage]]
id = "again"
name = "oven"
appliance = "oven"
begin = { after = "loaf.bake" }

[[stage.step]]
id = "heat"
name = "heat"
do = "Up to the second heat."
setting = { heat = "180 °C" }
until = { heat = "180 °C", probe = "air", expect = "5-8 min" }
"#;

    fn ready() -> Ready {
        let shelved = match shelf::parse(Path::new("rusk.toml"), BAKE.into()) {
            Ok(shelved) => shelved,
            Err(shelf::ShelfError::Refused { complaints, .. }) => panic!("{complaints:#?}"),
            Err(why) => panic!("{why}"),
        };
        Ready::new("Rusk".into(), &shelved.recipe.base)
    }

    fn live(core: Option<Reading>, air: Option<Reading>) -> Live {
        let name = |name| ProbeName::new(name);
        [(name("core"), core), (name("air"), air)].into()
    }

    fn lines(ready: &Ready, live: &Live, language: Language) -> Vec<(String, String, CheckState)> {
        let lines = ready.view(live, language, Units::Celsius).lines.into_iter();
        lines.map(|line| (line.text.to_string(), line.found.to_string(), line.state)).collect()
    }

    #[test]
    fn only_a_probe_in_its_air_says_that_an_oven_is_hot() {
        let ready = ready();
        let oven = |air| lines(&ready, &live(None, air), Language::English)[3].clone();
        let line = |found: &str, state| ("Oven at 165°C".to_owned(), found.to_owned(), state);
        assert_eq!(oven(None), line("look for yourself", CheckState::Open));
        assert_eq!(oven(Some(Err(NoReading::Open))), line("look for yourself", CheckState::Open));
        assert_eq!(oven(Some(Ok(Celsius::whole(92)))), line("not hot yet: 92°", CheckState::Open));
        assert_eq!(oven(Some(Ok(Celsius::whole(156)))), line("hot", CheckState::Ticked));
    }

    #[test]
    fn a_probe_without_a_signal_cannot_be_ticked() {
        let mut ready = ready();
        let dead = live(Some(Err(NoReading::Unplugged)), None);
        let core = |ready: &Ready, live: &Live| {
            lines(ready, live, Language::English).into_iter().find(|(text, ..)| text == "Probe core").unwrap()
        };
        assert_eq!(core(&ready, &dead).2, CheckState::NoSignal);
        let place = lines(&ready, &dead, Language::English).iter().position(|(text, ..)| text == "Probe core").unwrap();
        assert!(!ready.tick(place, &dead));
        let good = live(Some(Ok(Celsius::whole(21))), None);
        assert_eq!((core(&ready, &good).1.as_str(), core(&ready, &good).2), ("21.0°", CheckState::Open));
        assert!(ready.tick(place, &good));
        assert_eq!(core(&ready, &good).2, CheckState::Ticked);
        // pulled out after it was ticked
        assert_eq!(core(&ready, &dead).2, CheckState::NoSignal);
        assert_eq!(core(&ready, &Live::new()).2, CheckState::NoSignal);
    }

    #[test]
    fn what_was_open_is_recorded_in_english_whatever_the_panel_speaks() {
        let mut ready = ready();
        let now = live(Some(Ok(Celsius::whole(21))), None);
        assert!(ready.tick(0, &now));
        let german = lines(&ready, &now, Language::German);
        assert_eq!(german[3].0, "Ofen auf 165°C");
        assert_eq!(
            ready.left_open(&now),
            ["Probe air: look for yourself", "Probe core: 21.0°", "Oven at 165°C: look for yourself"]
        );
    }

    #[test]
    fn a_recipe_that_heats_its_oven_first_does_not_ask_for_a_hot_one() {
        const LOIN: &str = include_str!("../../../../recipes/library/pork-loin.toml");
        let shelved = shelf::parse(Path::new("loin.toml"), LOIN.into()).unwrap();
        let ready = Ready::new("loin".into(), &shelved.recipe.base);
        let lines = ready.view(&Live::new(), Language::English, Units::Celsius).lines;
        assert!(lines.iter().all(|line| !line.text.full().starts_with("Oven")), "{lines:?}");
    }
}
