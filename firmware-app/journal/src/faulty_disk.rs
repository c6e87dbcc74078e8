use std::{
    io,
    path::Path,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use crate::{Disk, OpenFile};

/// Which operation fails, and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The number of the operation, from 0; [`FaultyDisk::operations`] says how many a script takes.
    pub at: u64,
    /// How it fails.
    pub trouble: Trouble,
}

/// How an operation fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// This one with an input/output error.
    Io,
    /// This one with "no space left".
    Full,
    /// This one takes only half of its bytes; on anything but a write it does nothing, and does not count as fired.
    Short,
    /// This one is done but reports an input/output error.
    DoneButFailed,
    /// This one and all after it with "no space left", until [`FaultyDisk::heal`].
    FullFromHere,
    /// This one and all after it: the power is gone.
    Cut,
}

/// Any disk with one fault planted in it, and a count of how often the fault came in the way.
///
/// Clones share fault and counts.
#[derive(Clone)]
pub struct FaultyDisk {
    under: Arc<dyn Disk>,
    state: Arc<Mutex<State>>,
}

struct State {
    fault: Option<Fault>,
    operations: u64,
    fired: u64,
}

struct FaultyFile {
    under: Box<dyn OpenFile>,
    state: Arc<Mutex<State>>,
}

/// What becomes of one operation.
enum Course {
    Go,
    Half,
    GoThenFail,
    Fail(io::Error),
}

impl FaultyDisk {
    /// Plants `fault` in `under`.
    pub fn new(under: Arc<dyn Disk>, fault: Fault) -> Self {
        Self { under, state: Arc::new(Mutex::new(State { fault: Some(fault), operations: 0, fired: 0 })) }
    }

    /// Counts the operations on `under` without failing any.
    pub fn counting(under: Arc<dyn Disk>) -> Self {
        Self { under, state: Arc::new(Mutex::new(State { fault: None, operations: 0, fired: 0 })) }
    }

    /// How many operations there were.
    pub fn operations(&self) -> u64 {
        lock(&self.state).operations
    }

    /// How many of them failed by the fault. A test whose fault never fired has tested nothing.
    pub fn fired(&self) -> u64 {
        lock(&self.state).fired
    }

    /// Takes the fault away.
    pub fn heal(&self) {
        lock(&self.state).fault = None;
    }
}

impl State {
    fn next(&mut self, is_write: bool) -> Course {
        let number = self.operations;
        self.operations += 1;
        let Some(fault) = self.fault else { return Course::Go };
        let course = match fault.trouble {
            Trouble::Io if number == fault.at => Course::Fail(broken()),
            Trouble::Full if number == fault.at => Course::Fail(full()),
            Trouble::Short if number == fault.at && is_write => Course::Half,
            Trouble::DoneButFailed if number == fault.at => Course::GoThenFail,
            Trouble::FullFromHere if number >= fault.at => Course::Fail(full()),
            Trouble::Cut if number >= fault.at => Course::Fail(broken()),
            Trouble::Io
            | Trouble::Full
            | Trouble::Short
            | Trouble::DoneButFailed
            | Trouble::FullFromHere
            | Trouble::Cut => return Course::Go,
        };
        self.fired += 1;
        course
    }
}

fn run<T>(state: &Mutex<State>, operation: impl FnOnce() -> io::Result<T>) -> io::Result<T> {
    // the lock is not held over the operation: it may call back into this disk
    let course = lock(state).next(false);
    match course {
        Course::Go | Course::Half => operation(),
        Course::GoThenFail => operation().and(Err(broken())),
        Course::Fail(error) => Err(error),
    }
}

impl Disk for FaultyDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        let under = run(&self.state, || self.under.create(path))?;
        Ok(Box::new(FaultyFile { under, state: Arc::clone(&self.state) }))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        let under = run(&self.state, || self.under.open(path))?;
        Ok(Box::new(FaultyFile { under, state: Arc::clone(&self.state) }))
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        run(&self.state, || self.under.read(path, most))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        run(&self.state, || self.under.list(folder))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        run(&self.state, || self.under.rename(from, to))
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        run(&self.state, || self.under.remove(path))
    }
}

impl OpenFile for FaultyFile {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize> {
        let course = lock(&self.state).next(true);
        match course {
            Course::Go => self.under.write_at(at, bytes),
            Course::Half => self.under.write_at(at, &bytes[..bytes.len() / 2]),
            Course::GoThenFail => self.under.write_at(at, bytes).and(Err(broken())),
            Course::Fail(error) => Err(error),
        }
    }

    fn sync_data(&mut self) -> io::Result<()> {
        run(&self.state, || self.under.sync_data())
    }

    fn allocate(&mut self, length: u64) -> io::Result<()> {
        run(&self.state, || self.under.allocate(length))
    }

    fn set_length(&mut self, length: u64) -> io::Result<()> {
        run(&self.state, || self.under.set_length(length))
    }
}

fn broken() -> io::Error {
    rustix::io::Errno::IO.into()
}

fn full() -> io::Error {
    rustix::io::Errno::NOSPC.into()
}

fn lock(state: &Mutex<State>) -> MutexGuard<'_, State> {
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{MemDisk, write_all_at};

    fn write_twice(fault: Fault) -> (Vec<io::Result<()>>, FaultyDisk, Vec<u8>) {
        let mem = MemDisk::default();
        let disk = FaultyDisk::new(Arc::new(mem.clone()), fault);
        let path = Path::new("f");
        let mut file = disk.create(path).unwrap();
        let results = vec![write_all_at(&mut *file, 0, b"abcd"), write_all_at(&mut *file, 4, b"efgh")];
        (results, disk, mem.read(path, 100).unwrap())
    }

    #[test]
    fn one_fault_fails_one_operation() {
        let (results, disk, bytes) = write_twice(Fault { at: 1, trouble: Trouble::Full });
        assert_eq!(results[0].as_ref().unwrap_err().kind(), io::ErrorKind::StorageFull);
        assert!(results[1].is_ok());
        assert_eq!((disk.fired(), disk.operations(), &bytes[..]), (1, 3, &b"\0\0\0\0efgh"[..]));
    }

    #[test]
    fn a_short_write_is_gone_on_with() {
        let (results, disk, bytes) = write_twice(Fault { at: 1, trouble: Trouble::Short });
        assert!(results.iter().all(Result::is_ok));
        assert_eq!((disk.fired(), disk.operations(), &bytes[..]), (1, 4, &b"abcdefgh"[..]));
    }

    #[test]
    fn a_power_cut_fails_everything_after_it() {
        let (results, disk, bytes) = write_twice(Fault { at: 1, trouble: Trouble::Cut });
        assert!(results.iter().all(Result::is_err));
        assert_eq!((disk.fired(), bytes.len()), (2, 0));
    }
}
