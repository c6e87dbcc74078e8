//! What the panel is told besides the run.

use hardware::SoundCue;
use quantities::{NoReading, Reading, RunTime, Span};
use recipe_model::ProbeName;
use run_engine::{Input, ProbeDevice, view::AlertState};
use screens::{CheckState, CheckView, JoinView, ProbeLine, SelfTestView, Settings, TestLine, WantingView, number};
use words::{Language, Text};

use super::Station;
use crate::{
    VERSION,
    config::OnPanel,
    run::{
        channels::{Channel, Channels},
        outcome,
        ready::Live,
        self_test::SelfTest,
        shelf::ShelfError,
    },
};

/// A probe that has a name at this station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedProbe {
    /// What recipes call it.
    pub name: ProbeName,
    /// The device that stands for it.
    pub device: ProbeDevice,
}

/// A reading older than this is none.
const LIVE_FOR: Span = Span::from_secs(10);

impl Station {
    /// Takes what the cook can set, what was set on the panel before, and the file in which that is kept.
    pub fn set_panel(&mut self, settings: Settings, on_panel: OnPanel, file: Option<std::path::PathBuf>) {
        self.lane_names = settings.lanes.to_vec();
        self.shown.settings = settings;
        self.on_panel = on_panel;
        self.on_panel_file = file;
    }

    /// Takes the probes that have a name here.
    pub fn set_probes(&mut self, probes: Vec<NamedProbe>) {
        self.probes = probes;
    }

    /// Takes how high above the sea the kitchen is.
    pub fn set_altitude(&mut self, metres: i32) {
        self.altitude_m = metres;
    }

    /// Takes how the channels to the cook stand.
    pub fn set_channels(&mut self, channels: Channels) {
        self.channels = channels;
    }

    /// What the cook can set, as it is set.
    pub fn settings(&self) -> &Settings {
        &self.shown.settings
    }

    /// Begins the self test. An alert that sounds ends it at once.
    pub fn begin_self_test(&mut self, now: RunTime) {
        self.self_test = Some(SelfTest::new(now));
        self.watch(now);
    }

    /// Whether the self test is shown.
    pub fn is_testing(&self) -> bool {
        self.self_test.is_some()
    }

    /// Whether the panel asks what to note about the trial that was closed last.
    pub fn asks_outcome(&mut self, now: RunTime) -> bool {
        matches!(self.screen(now), screens::Screen::Outcome(_))
    }

    /// What goes on without a key: the plan moves, the self test goes on.
    pub(super) fn watch(&mut self, now: RunTime) {
        if self.live_plan.is_active()
            && let Some(plan) = self.live_plan.look(&self.engine.standing(now), now)
        {
            self.input(Input::Plan(plan), now);
        }
        let view = self.engine.view(now);
        if self.plan.look(&view, self.live_plan.cannot()) && !view.quiet {
            self.waiting_sounds.push_back(SoundCue::plain(hardware::Head::Low));
            self.release();
        }
        self.shown.moved = self.plan.moved().cloned();
        let called = view.alerts.iter().any(|alert| alert.state == AlertState::Sounding);
        self.go_on_testing(called, now);
        self.shown.self_test = self.self_test.as_ref().map(|test| self.test_view(test, now));
    }

    /// Brings up to date what the panel is told, before it is drawn and before a key means something there.
    pub(super) fn refresh(&mut self, now: RunTime) {
        let view = self.engine.view(now);
        self.shown.outcome = self.desk.last_trial(&view).and_then(|no| {
            let open = self.open.get(&no).filter(|open| open.closed)?;
            outcome::sheet(no, &open.recipe, &open.noted)
        });
        self.look_ahead(&view, now);
        let (language, units) = (self.shown.settings.language, self.shown.settings.units);
        self.shown.check = self.prepared.as_ref().map(|prepared| {
            let live = self.live_of(&prepared.ready, &prepared.devices, now);
            CheckView { ready_at: prepared.wanted.view(), ..prepared.ready.view(&live, language, units) }
        });
        self.shown.wanting =
            self.wanting.as_ref().map(|(trial, stated)| WantingView { trial: *trial, ready_at: stated.view() });
        self.shown.probe_check = self.checking.as_ref().map(|(check, _)| check.view(now));
        self.shown.probes = self.probes.iter().map(|probe| self.probe_line(probe, now)).collect();
        self.shown.about = self.about(language);
        // nothing listens here for a phone
        self.shown.join = JoinView::NoNetwork;
    }

    fn go_on_testing(&mut self, called: bool, now: RunTime) {
        let Some(test) = &mut self.self_test else { return };
        if called || now >= test.ends() {
            self.self_test = None;
            return;
        }
        let cues = test.due(now);
        // while filming only the lamps are tested
        if !self.quiet {
            self.waiting_sounds.extend(cues);
        }
        self.release();
    }

    /// What these probes say at this moment.
    pub(super) fn live_of(
        &self,
        ready: &crate::run::ready::Ready,
        devices: &std::collections::BTreeMap<ProbeName, ProbeDevice>,
        now: RunTime,
    ) -> Live {
        let wanted = ready.probes();
        let there = wanted.into_iter().filter_map(|name| {
            let device = devices.get(&name)?;
            Some((name, self.live_reading(device, now)))
        });
        there.collect()
    }

    /// What a device said last; none if it was not asked yet.
    fn live_reading(&self, device: &ProbeDevice, now: RunTime) -> Option<Reading> {
        let (at, reading) = self.live.get(device)?;
        Some(if now.since(*at) > LIVE_FOR { Err(NoReading::Timeout) } else { *reading })
    }

    fn probe_line(&self, probe: &NamedProbe, now: RunTime) -> ProbeLine {
        ProbeLine {
            name: probe.name.as_str().to_owned(),
            reading: self.live_reading(&probe.device, now),
            checked: self.last_checked(probe),
        }
    }

    /// The day of the last check: one made here, else the one of the settings.
    pub(super) fn last_checked(&self, probe: &NamedProbe) -> Option<String> {
        let here =
            self.checks_of(&probe.device).last().map(|check| check.day.clone().unwrap_or_else(|| "?".to_owned()));
        let name = format!("probe {}", probe.name);
        here.or_else(|| self.equipment.iter().find(|known| known.name == name)?.checked.clone())
    }

    fn test_view(&self, test: &SelfTest, now: RunTime) -> SelfTestView {
        let (w, units) = (self.shown.settings.language, self.shown.settings.units);
        let line = |what: Text, found: Text, state| TestLine { what, found, state };
        let state = |channel: Channel| match channel {
            Channel::Works => CheckState::Ticked,
            Channel::NotSetUp => CheckState::Open,
            Channel::Lost => CheckState::NoSignal,
        };
        // what is tested at this moment is said as such, unless it is known not to work
        let tested = |what: Text, channel: Channel| match (test.tested(now), channel) {
            (Some(lane), Channel::Works) => line(what, w.testing_lane(lane), CheckState::Open),
            (Some(_) | None, _) => line(what, channel.words(w), state(channel)),
        };
        let keys = if self.channels.stuck.is_empty() { state(self.channels.keys) } else { CheckState::NoSignal };
        let mut lines = vec![
            line(w.starting_keys(), self.channels.keys_in_words(w), keys),
            tested(w.starting_lamps(), self.channels.lamps),
            tested(w.starting_sound(), self.channels.sound),
            line(w.starting_panel(), self.channels.panel.words(w), state(self.channels.panel)),
        ];
        for probe in &self.probes {
            let (found, state) = match self.live_reading(&probe.device, now) {
                Some(Ok(celsius)) => (number::band_temperature(celsius, units).into(), CheckState::Ticked),
                Some(Err(_)) => (w.found_no_signal(), CheckState::NoSignal),
                None => ("--".into(), CheckState::Open),
            };
            lines.push(line(w.starting_probe(&probe.name), found, state));
        }
        lines.push(match self.trouble() {
            Some(_) => line(w.starting_record(), w.disk_full(), CheckState::NoSignal),
            None => line(w.starting_record(), w.trials_kept(self.taken.len() as u64), CheckState::Ticked),
        });
        SelfTestView { lines, over: test.is_over(now), version: env!("CARGO_PKG_VERSION").to_owned() }
    }

    fn about(&self, w: Language) -> Vec<[Text; 2]> {
        let version = VERSION.split(' ').next().unwrap_or_default();
        let record = match self.trouble() {
            Some(_) => w.disk_full(),
            None => w.trials_kept(self.taken.len() as u64),
        };
        vec![
            [w.version(version), Text::none()],
            [w.starting_keys(), self.channels.keys_in_words(w)],
            [w.starting_lamps(), self.channels.lamps.words(w)],
            [w.starting_sound(), self.channels.sound.words(w)],
            [w.starting_panel(), self.channels.panel.words(w)],
            [w.starting_record(), record],
        ]
    }
}

/// Why a recipe file is refused, in few words of the panel.
pub(super) fn refused(why: &ShelfError, w: Language) -> Text {
    match why {
        ShelfError::Refused { errors, .. } => w.refused_errors(*errors as u64),
        ShelfError::NotFound { .. } | ShelfError::Unreadable { .. } | ShelfError::NoVariant { .. } => {
            w.refused_unreadable()
        }
    }
}
