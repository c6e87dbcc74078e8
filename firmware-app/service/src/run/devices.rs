//! Real probes and keys: each source on a thread of its own, handing over what came.

use std::{
    collections::{BTreeMap, BTreeSet},
    io::Read,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
    thread,
    time::Duration,
};

use hardware::{
    AllProbes, KeyEvent, ProbeId, Probes,
    hwmon::HwmonProbes,
    keys::{InputKeys, KeyMap, Keys},
    w1::W1Probes,
};
use quantities::Reading;
use recipe_model::ProbeName;
use run_engine::ProbeDevice;
use tokio::sync::mpsc;

use super::station::ProbeMap;

/// The probes of this machine.
pub struct RealProbes {
    names: BTreeMap<ProbeName, ProbeDevice>,
    roots: (PathBuf, PathBuf),
}

/// The devices that are read at this moment.
pub type Wanted = Arc<Mutex<BTreeSet<ProbeDevice>>>;

/// Readings that wait to be taken; more are dropped, since the next one says more.
const READINGS_WAITING: usize = 256;
/// Keys that wait to be taken.
const KEYS_WAITING: usize = 64;
/// How often a key device is looked at.
const KEYS_EVERY: Duration = Duration::from_millis(8);
/// A key device that went away is looked for this often.
const KEYS_AGAIN: Duration = Duration::from_secs(2);

impl RealProbes {
    /// Probes by the names of the settings, at these roots.
    pub fn new<'a>(names: impl Iterator<Item = (&'a str, &'a str)>, w1: &Path, hwmon: &Path) -> Self {
        let names = names.map(|(name, id)| (ProbeName::new(name), ProbeDevice(id.into()))).collect();
        Self { names, roots: (w1.into(), hwmon.into()) }
    }

    /// All probes that are there.
    pub fn buses(&self) -> AllProbes {
        all_probes(&self.roots.0, &self.roots.1)
    }
}

/// All probes at these roots.
pub fn all_probes(w1: &Path, hwmon: &Path) -> AllProbes {
    AllProbes::new(vec![Box::new(W1Probes::new(w1)), Box::new(HwmonProbes::new(hwmon))])
}

impl ProbeMap for RealProbes {
    /// By name where the settings name it; a single probe on the one-wire bus stands for a single name that is left.
    fn devices(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice> {
        let mut found: BTreeMap<_, _> =
            wanted.iter().filter_map(|name| Some((name.clone(), self.names.get(name)?.clone()))).collect();
        let left: Vec<&ProbeName> = wanted.iter().filter(|name| !found.contains_key(*name)).collect();
        if let [only] = left[..] {
            let taken: BTreeSet<&str> = found.values().map(|device: &ProbeDevice| device.0.as_str()).collect();
            let free: Vec<String> = self
                .buses()
                .list()
                .into_iter()
                .map(|info| info.id.into())
                .filter(|id: &String| id.starts_with("28-") && !taken.contains(id.as_str()))
                .collect();
            if let [device] = &free[..] {
                found.insert(only.clone(), ProbeDevice(device.clone()));
            }
        }
        found
    }
}

/// Reads the wanted probes again and again on a thread; ends when nobody listens.
#[expect(clippy::disallowed_methods, reason = "its own thread, which blocks in reads anyway; nothing is timed by it")]
pub fn read_probes(
    mut probes: AllProbes,
    wanted: Wanted,
    every: Duration,
) -> std::io::Result<mpsc::Receiver<(ProbeDevice, Reading)>> {
    let (to, readings) = mpsc::channel(READINGS_WAITING);
    thread::Builder::new().name("probes".into()).spawn(move || {
        loop {
            thread::sleep(every);
            let devices = wanted.lock().unwrap_or_else(PoisonError::into_inner).clone();
            for device in devices {
                let Ok(id) = ProbeId::new(&device.0) else { continue };
                let read = probes.read(&id);
                if let Err(why) = read.reading {
                    tracing::debug!(probe = %device.0, place = %read.place, "no reading: {why:?}");
                }
                match to.try_send((device, read.reading)) {
                    Ok(()) => {}
                    Err(mpsc::error::TrySendError::Full(_)) => {
                        tracing::warn!("readings come faster than they are taken")
                    }
                    Err(mpsc::error::TrySendError::Closed(_)) => return,
                }
            }
            if to.is_closed() {
                return;
            }
        }
    })?;
    Ok(readings)
}

/// Keys from an input device of the kernel; one that goes away is looked for again.
#[expect(clippy::disallowed_methods, reason = "a thread of its own that looks at the device; nothing is timed by it")]
pub fn device_keys(path: PathBuf) -> std::io::Result<mpsc::Receiver<KeyEvent>> {
    let (to, keys) = mpsc::channel(KEYS_WAITING);
    thread::Builder::new().name("keys".into()).spawn(move || {
        let mut device: Option<InputKeys> = None;
        while !to.is_closed() {
            let Some(open) = &mut device else {
                match InputKeys::open(&path, KeyMap::default()) {
                    Ok(opened) => device = Some(opened),
                    Err(why) => {
                        tracing::warn!("{why}");
                        thread::sleep(KEYS_AGAIN);
                    }
                }
                continue;
            };
            match open.events() {
                Ok(events) => {
                    for event in events {
                        if to.blocking_send(event).is_err() {
                            return;
                        }
                    }
                    thread::sleep(KEYS_EVERY);
                }
                Err(why) => {
                    tracing::warn!("{why}");
                    device = None;
                }
            }
        }
    })?;
    Ok(keys)
}

/// Keys from text: a pipe, a file, or standard input for `-`. One letter a key, as it comes.
pub fn text_keys(path: &Path) -> std::io::Result<mpsc::Receiver<KeyEvent>> {
    let (to, keys) = mpsc::channel(KEYS_WAITING);
    let path = path.to_owned();
    thread::Builder::new().name("keys".into()).spawn(move || {
        // a pipe opens only when someone writes into it, so it is opened here and not on the loop
        let source: std::io::Result<Box<dyn Read + Send>> = if path.as_os_str() == "-" {
            Ok(Box::new(std::io::stdin()))
        } else {
            std::fs::File::open(&path).map(|file| Box::new(file) as _)
        };
        let mut source = match source {
            Ok(source) => source,
            Err(error) => {
                tracing::error!("cannot read keys from {}: {error}", path.display());
                return;
            }
        };
        let mut letters = [0u8; 64];
        loop {
            let n = match source.read(&mut letters) {
                Ok(0) | Err(_) => return,
                Ok(n) => n,
            };
            let text = String::from_utf8_lossy(&letters[..n]).into_owned();
            match hardware::keys::key_events_in(&text) {
                Ok(events) => {
                    for event in events {
                        if to.blocking_send(event).is_err() {
                            return;
                        }
                    }
                }
                Err(why) => tracing::warn!("{why}"),
            }
        }
    })?;
    Ok(keys)
}
