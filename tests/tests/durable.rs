//! A fact is durable before anyone is told: looked at from inside, at the moment of the telling, on a disk that is slow.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{
    collections::BTreeSet,
    io::{self, Write},
    num::NonZeroU32,
    path::{Path, PathBuf},
    sync::{Arc, Mutex},
    time::Duration,
};

use journal::{Disk, OpenFile, RealDisk, list_trials, read_trial};
use quantities::{RunTime, Span};
use station_tests::repository;
use tallyhob::{
    clock::{Clock, SystemClock},
    run::{
        book::Book,
        drive::{Driver, Ended, Pace, Until, Watchers, World},
        shelf::{self, probes_of},
        sim::Sim,
        station::{Chosen, Station},
        tell,
    },
};

/// A disk on which bytes arrive only when they are synchronised, and that takes its time about it.
struct SlowDisk(Duration);

struct SlowFile {
    file: Box<dyn OpenFile>,
    waiting: Vec<(u64, Vec<u8>)>,
    takes: Duration,
}

impl SlowDisk {
    fn slow(&self, file: io::Result<Box<dyn OpenFile>>) -> io::Result<Box<dyn OpenFile>> {
        Ok(Box::new(SlowFile { file: file?, waiting: Vec::new(), takes: self.0 }))
    }
}

impl Disk for SlowDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        self.slow(RealDisk.create(path))
    }
    fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        self.slow(RealDisk.open(path))
    }
    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        RealDisk.read(path, most)
    }
    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        RealDisk.list(folder)
    }
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        RealDisk.rename(from, to)
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        RealDisk.remove(path)
    }
}

impl OpenFile for SlowFile {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize> {
        self.waiting.push((at, bytes.to_vec()));
        Ok(bytes.len())
    }
    fn sync_data(&mut self) -> io::Result<()> {
        std::thread::sleep(self.takes);
        for (at, bytes) in self.waiting.drain(..) {
            journal::write_all_at(&mut *self.file, at, &bytes)?;
        }
        Ok(())
    }
    fn allocate(&mut self, length: u64) -> io::Result<()> {
        self.file.allocate(length)
    }
    fn set_length(&mut self, length: u64) -> io::Result<()> {
        self.waiting.clear();
        self.file.set_length(length)
    }
}

/// What one line was when it was told, and whether the journal had it by then.
type Told = Arc<Mutex<Vec<(String, bool)>>>;

/// Reads the journal at each line.
struct Witness {
    trials: PathBuf,
    told: Told,
}

impl Write for Witness {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let text = String::from_utf8_lossy(bytes);
        for line in text.lines().filter(|line| !line.is_empty()) {
            let mut told = self.told.lock().unwrap();
            let kept = lines_on_disk(&self.trials).get(told.len()).is_some_and(|kept| kept == line);
            told.push((line.to_owned(), kept));
        }
        Ok(bytes.len())
    }
    fn write_fmt(&mut self, line: std::fmt::Arguments<'_>) -> io::Result<()> {
        self.write(line.to_string().as_bytes()).map(drop)
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn lines_on_disk(trials: &Path) -> Vec<String> {
    let Some(trial) = list_trials(&RealDisk, trials).unwrap().into_iter().next() else { return Vec::new() };
    let Ok(file) = read_trial(&RealDisk, trials, &trial) else { return Vec::new() };
    let facts = file.facts().unwrap_or_default();
    let opened = facts.first().map_or(RunTime::START, |first| first.entry.at);
    facts.iter().filter_map(|stamped| tell::line(&stamped.entry, opened)).collect()
}

/// Cooks a soup in the simulated kitchen on a disk that takes so long for each fact.
fn cooked(pace: Pace, takes: Duration) -> Vec<(String, bool)> {
    let home = tempfile::tempdir().unwrap();
    let trials = home.path().join("trials");
    let path = repository().join("recipes/library/soup-reheat.toml");
    let shelved = shelf::read(&path).unwrap();
    let (_, programme) = shelved.variant(None).unwrap();
    let clock: Arc<dyn Clock> = Arc::new(SystemClock::new());
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let inside = runtime.enter();
    let book = Book::open(Arc::new(SlowDisk(takes)), &trials, home.path().join("index.sqlite")).unwrap();
    let station = Station::new(book, clock.stamp(), None, None, BTreeSet::new());
    let sim = Sim::new(None, Some(&path), &[&shelved.recipe.base], 5, true).unwrap();
    let told = Told::default();
    let witness = Witness { trials, told: Arc::clone(&told) };
    let watchers = Watchers { plain: Some(Box::new(witness)), ..Watchers::default() };
    let world = World::Sim(Box::new(sim));
    let mut driver =
        Driver::new(station, world, pace, Until::AllClosed, watchers, None, Arc::clone(&clock), RunTime::START);
    let probes = driver.probes_for(&probes_of(&programme));
    driver.open(Chosen { shelved, variant: None, probes, left_open: Vec::new(), wanted: None }).unwrap();
    drop(inside);
    let limit = Span::from_secs(60);
    let ended =
        runtime.block_on(async { tokio::time::timeout(Duration::from_millis(limit.millis()), driver.run()).await });
    assert_eq!(ended.expect("the cook comes to its end in a minute").unwrap(), Ended::AllClosed);
    drop(driver);
    Arc::try_unwrap(told).unwrap().into_inner().unwrap()
}

fn all_were_on_disk(told: &[(String, bool)]) {
    assert!(told.len() > 15, "only {} lines were told", told.len());
    assert!(told.last().is_some_and(|(line, _)| !line.is_empty()));
    let early: Vec<&String> = told.iter().filter(|(_, kept)| !kept).map(|(line, _)| line).collect();
    assert!(early.is_empty(), "{} of {} lines were told before they were durable: {early:?}", early.len(), told.len());
}

#[test]
fn nothing_is_told_before_it_is_durable_at_a_steady_pace() {
    all_were_on_disk(&cooked(Pace::Times(NonZeroU32::new(150).unwrap()), Duration::from_millis(15)));
}

#[test]
fn nothing_is_told_before_it_is_durable_when_time_jumps() {
    all_were_on_disk(&cooked(Pace::Jump, Duration::from_millis(2)));
}
