//! From arguments and settings to a running station, for `cook` and `serve`.

use std::{
    collections::BTreeSet,
    io::{IsTerminal, Write},
    num::NonZeroU32,
    sync::{Arc, Mutex},
    time::Duration,
};

use hardware::{Contacts, curve::Curve};
use quantities::RunTime;
use run_engine::predict::Learnt;
use tokio::runtime::Runtime;
use tracing::Instrument;
use trial::{CookId, TrialId};

use super::{Session, cook::who_presses, foresight, outputs};
use crate::{
    args::{Devices, KeySource, Speed, TimeOfDay},
    clock::{Clock, SystemClock},
    config::{ON_PANEL_FILE, OnPanel},
    failure::Failure,
    frames::FrameFolder,
    library::Library,
    logs,
    output::Out,
    planning::KitchenCounts,
    run::{
        book::Book,
        devices::{self, RealProbes, Wanted},
        drive::{Driver, Ended, KeyLine, Pace, Until, Watchers, World},
        offer::Offer,
        resume,
        shelf::{self, Shelved, probes_of},
        sim::Sim,
        station::{self, Chosen},
    },
    terminal::{self, Live, Paint},
};

/// What was asked for.
pub(super) struct Asked<'a> {
    pub(super) devices: &'a Devices,
    pub(super) cook: Option<&'a str>,
    pub(super) plain: bool,
    pub(super) until: Until,
}

/// A station that is ready to run.
pub(super) struct Station {
    driver: Driver,
    runtime: Runtime,
    /// Trials that were not closed when the station stopped.
    left: Vec<resume::Found>,
    /// The one trial that `cook` opened.
    trial: Option<TrialId>,
    clock: Arc<SystemClock>,
}

/// Between two readings of a probe.
const READ_EVERY: Duration = Duration::from_secs(1);

impl Station {
    /// Opens devices, record and terminal. For one recipe, or for the service without one.
    pub(super) fn start(
        asked: &Asked<'_>,
        recipe: Option<&Shelved>,
        session: &Session,
        out: &mut Out,
    ) -> Result<Self, Failure> {
        let settings = &session.settings;
        let devices = asked.devices;
        let simulated = devices.sim || (!devices.real && !settings.has_devices() && devices.w1_root.is_none());
        let library = Library::at(&settings.data_dir.value);
        let knowledge = foresight::opened()?;
        let clock = Arc::new(SystemClock::new());
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(Failure::failed)?;
        let _inside = runtime.enter();
        let book = Book::open(Library::disk(), &library.trials, library.index.clone()).map_err(|why| {
            Failure::Failed(format!("cannot keep trials in {}: {why}", library.trials.display()).into())
        })?;
        let cook = match asked.cook {
            Some(text) => Some(
                CookId::new(text)
                    .ok_or_else(|| Failure::usage(format!("expected initials of 1 to 8 letters, found {text:?}")))?,
            ),
            None => None,
        };
        let kitchen = settings.kitchen.value.as_ref().map(|kitchen| kitchen.0.clone());
        let taken =
            journal::list_trials(&*Library::disk(), &library.trials).map_err(Failure::failed)?.into_iter().collect();
        let mut station = station::Station::new(book, clock.stamp(), kitchen, cook, taken);
        station.set_predictors(Box::new(Learnt::new(knowledge)));
        station.set_earlier(library.clone());
        station.set_equipment(settings.equipment.value.0.clone());
        station.set_kitchen(KitchenCounts::of(settings));
        station.set_quiet(settings.quiet.value);
        station.set_altitude(settings.altitude_m.value.0);
        let data = &settings.data_dir.value;
        if OnPanel::read(data).is_err() {
            match OnPanel::put_aside(data) {
                Ok(aside) => out.warn(format_args!("the damaged file lies at {}", aside.display())),
                Err(why) => out.warn(format_args!("the damaged file could not be put aside: {why}")),
            }
        }
        let shown = outputs::shown_settings(settings, &session.environment);
        station.set_panel(shown, settings.on_panel.clone(), Some(data.join(ON_PANEL_FILE)));
        let keys = who_presses(devices.keys.as_ref(), simulated);
        let mut world = if simulated { sim(asked, recipe, &keys, session)? } else { real(asked, session)? };
        station.set_probes(world.named_probes());
        let pace = pace(devices.speed, simulated);
        // a run that jumps waits for nobody, so only a cook that is simulated with it can press
        if pace == Pace::Jump && keys != KeySource::Script {
            return Err(Failure::usage("expected --keys script with --speed max, or a speed that a person can follow"));
        }
        let told_by = || Arc::clone(&clock) as Arc<dyn Clock>;
        let key_line = match &keys {
            KeySource::Script => None,
            KeySource::Live => match &settings.keys_device.value {
                Some(device) if !simulated => {
                    let map = settings.keys.value.map().clone();
                    let news = devices::device_keys(device.0.clone(), map, told_by()).map_err(Failure::failed)?;
                    Some(KeyLine { news, contacts: Contacts::new() })
                }
                Some(_) | None => None,
            },
            KeySource::File(path) if path.as_os_str() != "-" && !path.exists() => {
                return Err(Failure::Failed(
                    format!("expected a file of presses at {}, found none", path.display()).into(),
                ));
            }
            KeySource::File(path) => {
                let news = devices::text_keys(path, told_by()).map_err(Failure::failed)?;
                Some(KeyLine { news, contacts: Contacts::settled() })
            }
        };
        // said before the panel is drawn: letters between those of the panel would stay there
        if simulated {
            out.note("simulated kitchen: no device is read and nothing is heated");
        }
        let watchers = watchers(asked, pace, &keys, session, out)?;
        resume::complete_index(&library);
        let left = resume::open_trials(&Library::disk(), &library.trials, &library.index);
        // sessions share one clock of the run: a trial that is still open elsewhere keeps its own time beside new ones
        let stamp = clock.stamp();
        let from = left.iter().map(|found| found.away(&stamp).1).max().unwrap_or(RunTime::START);
        let mut driver = Driver::new(
            station,
            world,
            pace,
            asked.until,
            watchers,
            key_line,
            Arc::clone(&clock) as Arc<dyn Clock>,
            from,
        );
        driver.set_panel(settings.panel.value);
        // sounds and lamps follow the clock on the wall, not one that runs faster
        if pace == Pace::Real {
            driver.set_signals(outputs::signals(settings, out)?);
        }
        if recipe.is_none() {
            driver.offer(Offer::new(settings.recipe_dirs.value.clone(), library));
        }
        drop(_inside);
        Ok(Self { driver, runtime, left, trial: None, clock })
    }

    /// Opens a trial.
    pub(super) fn open(
        &mut self,
        shelved: Shelved,
        variant: Option<String>,
        ready: Option<TimeOfDay>,
    ) -> Result<TrialId, station::OpenError> {
        let ready = ready.and_then(|ready| self.driver.next_at(ready.since_midnight));
        let (_, programme) = shelved.variant(variant.as_deref())?;
        let wanted = probes_of(&programme);
        let probes = self.driver.probes_for(&wanted);
        let missing: Vec<String> =
            wanted.iter().filter(|name| !probes.contains_key(*name)).map(|name| format!("Probe {name}")).collect();
        let trial = self.driver.open(Chosen { shelved, variant, probes, left_open: missing, wanted: ready })?;
        self.trial = Some(trial.clone());
        Ok(trial)
    }

    /// Takes up the trials that were running when the station stopped.
    pub(super) fn take_up_open_trials(&mut self) {
        let stamp = self.clock.stamp();
        let left: Vec<_> =
            std::mem::take(&mut self.left).into_iter().map(|found| (found.away(&stamp), found)).collect();
        let Some(now) = left.iter().map(|((_, now), _)| *now).max() else { return };
        self.driver.set_now(now);
        for ((away, _), found) in left {
            let trial = found.trial().clone();
            match self.driver.take_up(found, away, now) {
                Ok(trial) => tracing::info!(%trial, "taken up again"),
                Err(why) => tracing::error!(%trial, "not taken up: {why}"),
            }
        }
    }

    /// Begins the self test; an alert of a trial that was taken up ends it at once.
    pub(super) fn begin_self_test(&mut self) {
        self.driver.begin_self_test();
    }

    /// Whether the kitchen is a simulated one.
    pub(super) fn is_simulated(&self) -> bool {
        self.driver.is_simulated()
    }

    /// What is wrong with the disk, in words.
    pub(super) fn trouble(&self) -> Option<&str> {
        self.driver.station.trouble()
    }

    /// Runs until it is over; where one trial was opened, each log line names it.
    pub(super) fn run(&mut self) -> Result<Ended, Failure> {
        let span = self.trial.as_ref().map_or_else(tracing::Span::none, logs::of_trial);
        self.runtime.block_on(self.driver.run().instrument(span)).map_err(Failure::failed)
    }
}

fn pace(speed: Option<Speed>, simulated: bool) -> Pace {
    match (speed, simulated) {
        (_, false) | (None, true) => Pace::Real,
        (Some(Speed::Max), true) => Pace::Jump,
        (Some(Speed::Times(times)), true) if times == NonZeroU32::MIN => Pace::Real,
        (Some(Speed::Times(times)), true) => Pace::Times(times),
    }
}

fn sim(asked: &Asked<'_>, recipe: Option<&Shelved>, keys: &KeySource, session: &Session) -> Result<World, Failure> {
    let seed = asked.devices.seed.unwrap_or(1);
    let shelf;
    let programmes = match recipe {
        Some(shelved) => vec![&shelved.recipe.base],
        None => {
            shelf = shelf::all(&session.settings.recipe_dirs.value);
            shelf.iter().filter_map(|(_, read)| Some(&read.as_ref().ok()?.recipe.base)).collect()
        }
    };
    let path = recipe.map(|shelved| shelved.path.as_path());
    let mut sim = Sim::new(asked.devices.sim_kitchen.as_deref(), path, &programmes, seed, *keys == KeySource::Script)
        .map_err(Failure::failed)?;
    if let Some(path) = &asked.devices.curve {
        let text = std::fs::read_to_string(path)
            .map_err(|why| Failure::Failed(format!("cannot read {}: {why}", path.display()).into()))?;
        let curve = Curve::parse(&text).map_err(|why| Failure::Failed(format!("{}: {why}", path.display()).into()))?;
        sim.follow_curve(curve);
    }
    Ok(World::Sim(Box::new(sim)))
}

fn real(_asked: &Asked<'_>, session: &Session) -> Result<World, Failure> {
    let settings = &session.settings;
    let probes = RealProbes::new(settings.probes.value.iter(), &settings.w1_root.value, &settings.hwmon_root.value);
    let wanted: Wanted = Arc::new(Mutex::new(BTreeSet::new()));
    let readings = devices::read_probes(probes.buses(), Arc::clone(&wanted), READ_EVERY).map_err(Failure::failed)?;
    Ok(World::Devices { probes, readings, wanted })
}

fn watchers(
    asked: &Asked<'_>,
    pace: Pace,
    keys: &KeySource,
    session: &Session,
    out: &mut Out,
) -> Result<Watchers, Failure> {
    let mut watchers = Watchers { notify: asked.until == Until::Told, ..Watchers::default() };
    let terminal = std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
    let live = terminal && !asked.plain && pace != Pace::Jump;
    if live {
        let colour = out.colors_data();
        watchers.live = Some(Live::open(Paint::of_terminal(&session.environment, colour)).map_err(Failure::failed)?);
        watchers.terminal_keys = Some(terminal::listen().map_err(Failure::failed)?);
    } else {
        if *keys == KeySource::Live && !terminal && session.settings.keys_device.value.is_none() {
            out.warn("nobody presses: there is no terminal and no key device; --keys names where keys come from");
        }
        watchers.plain = Some(Box::new(Plain));
    }
    if let Some(folder) = &asked.devices.frames {
        watchers.frames = Some(FrameFolder::open(folder).map_err(Failure::usage)?);
    }
    Ok(watchers)
}

/// Plain lines are messages: they go to standard error, one by one as they come.
struct Plain;

impl Write for Plain {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        std::io::stderr().write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        std::io::stderr().flush()
    }
}
