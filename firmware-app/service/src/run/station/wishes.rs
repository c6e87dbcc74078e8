//! What the cook asks of the station at the panel, besides the acts of a run.

use hardware::{Head, LaneKey, SoundCue};
use quantities::RunTime;
use run_engine::{Input, ProbeDevice};
use screens::{Bath, SettingChange, Wish};
use words::Language;

use super::{Chosen, Offered, Prepared, ProbeMap, Stated, Station};
use crate::{
    config::{self, LaneNames, Switch},
    run::{book::Work, probe_check::ProbeCheck, ready::Ready, shelf::probes_of},
};

/// What became of a wish.
pub(super) enum Granted {
    /// Done; heard as the key says.
    Yes,
    /// Done, and heard by this instead.
    Heard(SoundCue),
    /// Not possible here.
    No,
}

impl From<bool> for Granted {
    fn from(done: bool) -> Self {
        if done { Self::Yes } else { Self::No }
    }
}

impl Station {
    /// Does what the cook asked of the service.
    pub(super) fn grant(&mut self, wish: Wish, probes: &mut dyn ProbeMap, now: RunTime) -> Granted {
        match wish {
            Wish::Prepare(recipe) => self.prepare(recipe, probes).into(),
            Wish::Tick(line) => self.tick_line(line, now).into(),
            Wish::ReadyAt(wanted) => self.state_ready_at(wanted, now).into(),
            Wish::AskPlan(trial, wanted) => self.ask_plan(trial, wanted, now).into(),
            Wish::Want(trial, wanted) => self.want(trial, wanted, now).into(),
            Wish::Start => self.start_prepared(probes, now).into(),
            Wish::TakePlan => {
                self.live_plan.take();
                self.plan.take().into()
            }
            Wish::KeepPlan => {
                if let Some(kept) = self.live_plan.keep(now) {
                    self.input(Input::Plan(kept), now);
                }
                self.plan.keep().into()
            }
            Wish::Set(change) => self.set(change),
            Wish::TestLane(lane) => match (&mut self.self_test, LaneKey::new(lane)) {
                (Some(test), Some(lane)) => {
                    test.lane(lane, now);
                    // its beeps are the answer to the key
                    test.due(now).into_iter().next().map_or(Granted::Yes, Granted::Heard)
                }
                (Some(_) | None, _) => Granted::No,
            },
            Wish::EndSelfTest => self.self_test.take().is_some().into(),
            Wish::CheckProbe(probe, bath) => self.check_probe(probe, bath).into(),
            Wish::SaveCheck => self.save_check(now).into(),
            Wish::EndCheck => {
                self.checking = None;
                Granted::Yes
            }
            Wish::ForgetCheck(probe) => self.forget_check(probe).into(),
            // there is no network to join by: the page says so
            Wish::OpenJoin | Wish::EndJoin => Granted::Yes,
        }
    }

    fn prepare(&mut self, recipe: usize, probes: &mut dyn ProbeMap) -> bool {
        let Some(Offered { read: Ok(shelved), variant }) = self.shelf.get(recipe) else { return false };
        let (shelved, variant) = (shelved.clone(), variant.clone());
        let Ok((_, programme)) = shelved.variant(variant.as_deref()) else { return false };
        let title = match &variant {
            Some(variant) => format!("{}, {variant}", shelved.recipe.title),
            None => shelved.recipe.title.clone(),
        };
        let ready = Ready::new(title, &programme);
        let devices = probes.devices(&ready.probes());
        self.prepared = Some(Prepared { shelved, variant, ready, devices, wanted: Stated::default() });
        true
    }

    fn tick_line(&mut self, line: usize, now: RunTime) -> bool {
        let Some(prepared) = &self.prepared else { return false };
        let live = self.live_of(&prepared.ready, &prepared.devices, now);
        self.prepared.as_mut().is_some_and(|prepared| prepared.ready.tick(line, &live))
    }

    /// Opens the trial, also with lines of its check open: they go into its record.
    fn start_prepared(&mut self, probes: &mut dyn ProbeMap, now: RunTime) -> bool {
        let Some(prepared) = self.prepared.take() else { return false };
        let left_open = prepared.ready.left_open(&self.live_of(&prepared.ready, &prepared.devices, now));
        let Prepared { shelved, variant, wanted, .. } = prepared;
        let read = shelved.variant(variant.as_deref()).map(|(_, programme)| probes_of(&programme)).unwrap_or_default();
        let chosen = Chosen { shelved, variant, probes: probes.devices(&read), left_open, wanted: wanted.at() };
        match self.open_trial(chosen, now) {
            Ok(_) => true,
            Err(why) => {
                tracing::error!("{why}");
                false
            }
        }
    }

    fn set(&mut self, change: SettingChange) -> Granted {
        let set = &mut self.shown.settings;
        let mut granted = Granted::Yes;
        match change {
            SettingChange::Sound(level) => {
                let Some(known) = config::Level::new(level) else { return Granted::No };
                set.sound = level;
                self.on_panel.sound_level = Some(known);
                // heard at once, as loud as it is set
                granted = Granted::Heard(SoundCue::plain(Head::Medium));
            }
            SettingChange::Brightness(level) => {
                let Some(known) = config::Level::new(level) else { return Granted::No };
                set.brightness = level;
                self.on_panel.brightness = Some(known);
            }
            SettingChange::Units(units) => {
                set.units = units;
                self.on_panel.units = Some(units.into());
            }
            SettingChange::Language(language) => {
                set.language = language;
                self.on_panel.language = Some(language.into());
                self.reword_shelf();
            }
            SettingChange::Lamps(on) => {
                set.lamps = on;
                self.on_panel.lamps = Some(Switch(on));
            }
            SettingChange::Speech(on) => {
                if set.speech.is_none() {
                    return Granted::No;
                }
                set.speech = Some(on);
                self.on_panel.speech = Some(Switch(on));
            }
            SettingChange::Lane(lane, by) => {
                let Some(name) = usize::from(lane).checked_sub(1).and_then(|at| set.lanes.get_mut(at)) else {
                    return Granted::No;
                };
                *name = further(name, by, &usual_names(&self.lane_names, set.language));
                self.on_panel.lanes = Some(LaneNames(set.lanes.clone()));
            }
        }
        self.keep_on_panel();
        granted
    }

    fn check_probe(&mut self, probe: usize, bath: Bath) -> bool {
        let Some(named) = self.probes.get(probe) else { return false };
        let check = ProbeCheck::new(named.name.as_str(), bath, self.altitude_m, self.last_checked(named));
        self.checking = Some((check, named.device.clone()));
        true
    }

    fn save_check(&mut self, now: RunTime) -> bool {
        let today = self.today.clone();
        if self.checking.as_ref().is_some_and(|(_, device)| self.cooks_with(&device.0)) {
            return false;
        }
        let Some((check, ProbeDevice(device))) = &mut self.checking else { return false };
        let Some(saved) = check.save(device, today, now) else { return false };
        tracing::info!(
            probe = saved.probe,
            "checked: read {:.2} °C where {:.2} °C was expected",
            saved.reading.degrees(),
            saved.expected.degrees()
        );
        self.on_panel.add_check(saved);
        self.keep_on_panel();
        true
    }

    /// Whether an open trial reads a device: by which check it is corrected is in its record, and stays until its end.
    fn cooks_with(&self, device: &str) -> bool {
        self.open.values().any(|open| open.reads(device))
    }

    fn forget_check(&mut self, probe: usize) -> bool {
        let Some(named) = self.probes.get(probe) else { return false };
        let ProbeDevice(device) = named.device.clone();
        if self.cooks_with(&device) {
            return false;
        }
        let forgot = self.on_panel.forget_checks(&device);
        if forgot {
            self.keep_on_panel();
        }
        forgot
    }

    /// Hands what was set on the panel to the thread that writes.
    fn keep_on_panel(&mut self) {
        if let Some(path) = &self.on_panel_file {
            self.book.write(vec![Work::Keep { path: path.clone(), text: self.on_panel.to_text() }]);
        }
    }
}

/// What lanes are usually called: as the settings name them, then the usual words.
fn usual_names(own: &[String], w: Language) -> Vec<String> {
    let places = [
        w.place_oven(),
        w.place_micro(),
        w.place_pan(),
        w.place_pot(),
        w.place_bench(),
        w.place_fridge(),
        w.place_freezer(),
        w.place_grill(),
        w.place_steamer(),
    ];
    let mut names: Vec<String> = Vec::new();
    for name in own.iter().cloned().chain(places.iter().map(|place| place.full().to_owned())) {
        if !name.is_empty() && !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The name so many further in the list, round and round.
fn further(name: &str, by: i8, names: &[String]) -> String {
    let count = names.len() as isize;
    let at = names.iter().position(|known| known == name).map_or(-1, |at| at as isize);
    let next = (at + isize::from(by)).rem_euclid(count.max(1));
    names.get(next as usize).cloned().unwrap_or_else(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lane_s_name_goes_through_the_kitchen_s_own_names_first() {
        let own = ["Oven", "Deck", "Pan", "Bench"].map(str::to_owned);
        let names = usual_names(&own, Language::English);
        assert_eq!(names[..4], own);
        assert_eq!(names.iter().filter(|name| *name == "Oven").count(), 1);
        assert_eq!(further("Oven", 1, &names), "Deck");
        assert_eq!(further("Oven", -1, &names), "Steamer");
        assert_eq!(further("of no list", 1, &names), "Oven");
    }
}
