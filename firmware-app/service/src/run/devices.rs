//! Real probes and keys: each source on a thread of its own, handing over what came.

use std::{
    collections::{BTreeMap, BTreeSet},
    io::Read,
    os::unix::fs::FileTypeExt,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
    thread,
    time::Duration,
};

use hardware::{
    AllProbes, Key, KeyEvent, ProbeId, Probes,
    hwmon::HwmonProbes,
    keys::{InputKeys, KeyMap, Keys, KeysLost},
    w1::W1Probes,
};
use quantities::Reading;
use recipe_model::ProbeName;
use run_engine::ProbeDevice;
use tokio::sync::mpsc;

use super::station::{NamedProbe, ProbeMap};
use crate::clock::Clock;

/// The probes of this machine.
pub struct RealProbes {
    names: BTreeMap<ProbeName, ProbeDevice>,
    roots: (PathBuf, PathBuf),
}

/// What a source of keys tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeyNews {
    /// A contact changed, at this boot time.
    Event(u64, KeyEvent),
    /// The source is there; these keys were down when it was opened.
    Found(Vec<Key>),
    /// The source is gone.
    Lost,
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

    /// The probes that the settings name.
    pub fn named(&self) -> Vec<NamedProbe> {
        let named =
            |(name, device): (&ProbeName, &ProbeDevice)| NamedProbe { name: name.clone(), device: device.clone() };
        self.names.iter().map(named).collect()
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
pub fn device_keys(path: PathBuf, map: KeyMap, clock: Arc<dyn Clock>) -> std::io::Result<mpsc::Receiver<KeyNews>> {
    let (to, keys) = mpsc::channel(KEYS_WAITING);
    let open = move || {
        let keys = InputKeys::open(&path, map.clone())?;
        let down = keys.down()?;
        Ok((keys, down))
    };
    thread::Builder::new()
        .name("keys".into())
        .spawn(move || watch_keys(&to, open, || clock.boot_ms(), thread::sleep))?;
    Ok(keys)
}

/// Hands over what the keys say, with its time, until nobody listens. A loss is said once, and so is the return.
fn watch_keys<K: Keys>(
    to: &mpsc::Sender<KeyNews>,
    mut open: impl FnMut() -> Result<(K, Vec<Key>), KeysLost>,
    mut boot_ms: impl FnMut() -> u64,
    mut wait: impl FnMut(Duration),
) {
    let mut device: Option<K> = None;
    let mut lost = false;
    while !to.is_closed() {
        let mut found = None;
        let events = match &mut device {
            Some(keys) => keys.timed_events(),
            None => open().and_then(|(mut keys, down)| {
                let events = keys.timed_events();
                device = Some(keys);
                found = Some(KeyNews::Found(down));
                events
            }),
        };
        match events {
            Ok(events) => {
                if std::mem::take(&mut lost) {
                    tracing::info!("the keys are back");
                }
                let now = boot_ms();
                let news =
                    events.into_iter().map(|(ago, event)| KeyNews::Event(now.saturating_sub(ago.millis()), event));
                for news in found.into_iter().chain(news) {
                    if to.blocking_send(news).is_err() {
                        return;
                    }
                }
                wait(KEYS_EVERY);
            }
            Err(why) => {
                if !std::mem::replace(&mut lost, true) {
                    tracing::error!("no keys: {why}; looking again every {} s", KEYS_AGAIN.as_secs());
                    if to.blocking_send(KeyNews::Lost).is_err() {
                        return;
                    }
                }
                device = None;
                wait(KEYS_AGAIN);
            }
        }
    }
}

/// Keys from text: a pipe, a file, or standard input for `-`. One letter a key, as it comes; a named pipe can be written
/// into again and again.
pub fn text_keys(path: &Path, clock: Arc<dyn Clock>) -> std::io::Result<mpsc::Receiver<KeyNews>> {
    let (to, keys) = mpsc::channel(KEYS_WAITING);
    let path = path.to_owned();
    thread::Builder::new().name("keys".into()).spawn(move || {
        // a pipe opens only when someone writes into it, so it is opened here and not on the loop
        let source: std::io::Result<Box<dyn Read + Send>> = if path.as_os_str() == "-" {
            Ok(Box::new(std::io::stdin()))
        } else {
            std::fs::File::open(&path).map(|file| Box::new(file) as _)
        };
        let failed = |error: std::io::Error| tracing::error!("cannot read keys from {}: {error}", path.display());
        let mut source = match source {
            Ok(source) => source,
            Err(error) => return failed(error),
        };
        let again = std::fs::metadata(&path).is_ok_and(|found| found.file_type().is_fifo());
        let mut letters = [0u8; 64];
        loop {
            let n = match source.read(&mut letters) {
                // the next writer opens the pipe anew
                Ok(0) if again => match std::fs::File::open(&path) {
                    Ok(file) => {
                        source = Box::new(file);
                        continue;
                    }
                    Err(error) => return failed(error),
                },
                Ok(0) => return,
                Ok(n) => n,
                Err(error) => return failed(error),
            };
            let text = String::from_utf8_lossy(&letters[..n]).into_owned();
            match hardware::keys::key_events_in(&text) {
                Ok(events) => {
                    let now = clock.boot_ms();
                    for event in events {
                        if to.blocking_send(KeyNews::Event(now, event)).is_err() {
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::io::{Error, Write};

    use hardware::{Key, LaneKey};
    use quantities::Span;

    use super::*;
    use crate::clock::SystemClock;

    /// Gives these events, each so long ago; then fails at each read, as a device does while it is being pulled out.
    struct Pulled(Option<Vec<(Span, KeyEvent)>>);

    impl Keys for Pulled {
        fn events(&mut self) -> Result<Vec<KeyEvent>, KeysLost> {
            Ok(self.timed_events()?.into_iter().map(|(_, event)| event).collect())
        }
        fn timed_events(&mut self) -> Result<Vec<(Span, KeyEvent)>, KeysLost> {
            self.0.take().ok_or(KeysLost::Read { path: "keys".into(), source: Error::from_raw_os_error(19) })
        }
    }

    #[test]
    fn keys_that_open_but_cannot_be_read_are_looked_for_without_haste_and_lost_once() {
        let (to, keys) = mpsc::channel(9);
        let mut keys = Some(keys);
        let (mut opened, mut waited, mut news) = (0, Vec::new(), Vec::new());
        let open = || {
            opened += 1;
            Ok((Pulled(None), Vec::new()))
        };
        watch_keys(
            &to,
            open,
            || 0,
            |span| {
                waited.push(span);
                while let Some(one) = keys.as_mut().and_then(|keys| keys.try_recv().ok()) {
                    news.push(one);
                }
                if waited.len() == 3 {
                    keys = None;
                }
            },
        );
        assert_eq!((opened, waited), (3, vec![KEYS_AGAIN; 3]));
        assert_eq!(news, [KeyNews::Lost]);
    }

    #[test]
    fn what_was_down_at_the_start_is_told_and_what_was_read_late_keeps_its_time() {
        let (to, mut keys) = mpsc::channel(9);
        let down = Key::Lane(LaneKey::ALL[1]);
        let events = vec![(Span::from_millis(40), KeyEvent::Down(Key::Pedal)), (Span::ZERO, KeyEvent::Up(Key::Pedal))];
        let mut opened = 0;
        let open = || {
            opened += 1;
            Ok((Pulled((opened == 1).then(|| events.clone())), vec![down]))
        };
        let mut waits = 0;
        let mut news = Vec::new();
        let mut receiver = Some(&mut keys);
        watch_keys(
            &to,
            open,
            || 1000,
            |_| {
                waits += 1;
                if let Some(keys) = &mut receiver {
                    while let Ok(one) = keys.try_recv() {
                        news.push(one);
                    }
                    if waits == 3 {
                        keys.close();
                    }
                }
            },
        );
        assert_eq!(
            news,
            [
                KeyNews::Found(vec![down]),
                KeyNews::Event(960, KeyEvent::Down(Key::Pedal)),
                KeyNews::Event(1000, KeyEvent::Up(Key::Pedal)),
                KeyNews::Lost
            ]
        );
    }

    #[test]
    fn a_named_pipe_gives_the_keys_of_each_writer() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("keys");
        rustix::fs::mknodat(rustix::fs::CWD, &pipe, rustix::fs::FileType::Fifo, rustix::fs::Mode::RWXU, 0).unwrap();
        let mut keys = text_keys(&pipe, Arc::new(SystemClock::new())).unwrap();
        for lane in LaneKey::ALL {
            let mut writer = std::fs::OpenOptions::new().write(true).open(&pipe).unwrap();
            write!(writer, "{lane}").unwrap();
            drop(writer);
            let down = KeyEvent::Down(Key::Lane(lane));
            assert!(matches!(keys.blocking_recv(), Some(KeyNews::Event(_, event)) if event == down));
            assert!(matches!(keys.blocking_recv(), Some(KeyNews::Event(_, KeyEvent::Up(_)))));
        }
    }
}
