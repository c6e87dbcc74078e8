use std::{
    collections::{BTreeMap, BTreeSet},
    io,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use crate::{Disk, OpenFile};

/// A disk in memory that knows which bytes a power cut may take: everything written since the last sync of its file.
///
/// Clones are the same disk. Names (create, rename, remove) are durable at once, as [`Disk`] promises.
#[derive(Clone, Debug, Default)]
pub struct MemDisk {
    files: Arc<Mutex<BTreeMap<PathBuf, Shared>>>,
}

type Shared = Arc<Mutex<MemFile>>;

#[derive(Clone, Debug, Default)]
struct MemFile {
    durable: Vec<u8>,
    now: Vec<u8>,
    /// Sectors of `now` that were written since the last sync.
    dirty: BTreeSet<usize>,
}

/// What a power cut leaves of the bytes that were not synced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Crash {
    /// None of them.
    DropUnsynced,
    /// All of them.
    KeepAll,
    /// Each sector of 512 bytes by chance, in any order.
    Sectors {
        /// Names the chances.
        seed: u64,
    },
    /// Each sector by chance its old bytes, its new ones, or noise.
    Garbage {
        /// Names the chances.
        seed: u64,
    },
}

impl MemDisk {
    /// The disk as it is found after a power cut; this one stays as it is.
    pub fn after(&self, crash: Crash) -> Self {
        let files = lock(&self.files);
        let left = files.iter().enumerate().map(|(number, (path, file))| {
            let bytes = lock(file).after(crash, number as u64);
            let file = MemFile { durable: bytes.clone(), now: bytes, dirty: BTreeSet::new() };
            (path.clone(), Arc::new(Mutex::new(file)))
        });
        Self { files: Arc::new(Mutex::new(left.collect())) }
    }

    /// Changes the bytes of a file behind everyone's back, as rot does.
    pub fn spoil(&self, path: &Path, how: impl FnOnce(&mut Vec<u8>)) -> io::Result<()> {
        let file = self.file(path)?;
        let mut file = lock(&file);
        let mut bytes = file.now.clone();
        how(&mut bytes);
        *file = MemFile { durable: bytes.clone(), now: bytes, dirty: BTreeSet::new() };
        Ok(())
    }

    fn file(&self, path: &Path) -> io::Result<Shared> {
        lock(&self.files).get(path).cloned().ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl MemFile {
    fn after(&self, crash: Crash, number: u64) -> Vec<u8> {
        let (seed, noise) = match crash {
            Crash::DropUnsynced => return self.durable.clone(),
            Crash::KeepAll => return self.now.clone(),
            Crash::Sectors { seed } => (seed, false),
            Crash::Garbage { seed } => (seed, true),
        };
        let mut chance = Chance(seed ^ number.rotate_left(40));
        let grown = chance.next().is_multiple_of(2);
        let length = if grown { self.now.len() } else { self.durable.len() };
        let mut bytes = self.durable.clone();
        bytes.resize(length, 0);
        for &sector in &self.dirty {
            let start = sector * SECTOR;
            let end = (start + SECTOR).min(bytes.len());
            let choice = chance.next() % if noise { 3 } else { 2 };
            let old = bytes.get_mut(start..end).unwrap_or_default();
            for (byte, at) in old.iter_mut().zip(start..) {
                match choice {
                    0 => {}
                    1 => *byte = self.now.get(at).copied().unwrap_or(0),
                    _ => *byte = chance.next() as u8,
                }
            }
        }
        bytes
    }

    fn resize(&mut self, length: usize) {
        if length < self.now.len() {
            // what comes back in the place of the cut bytes has to be written again
            self.dirty.extend(length / SECTOR..=self.now.len() / SECTOR);
        }
        self.now.resize(length, 0);
    }
}

impl Disk for MemDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        let mut files = lock(&self.files);
        if files.contains_key(path) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let file = Shared::default();
        files.insert(path.to_owned(), Arc::clone(&file));
        Ok(Box::new(file))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        Ok(Box::new(self.file(path)?))
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let file = self.file(path)?;
        let file = lock(&file);
        if file.now.len() as u64 > most {
            return Err(io::ErrorKind::FileTooLarge.into());
        }
        Ok(file.now.clone())
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        let files = lock(&self.files);
        let inside = files.keys().filter(|path| path.parent() == Some(folder));
        Ok(inside.filter_map(|path| Some(path.file_name()?.to_str()?.to_owned())).collect())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut files = lock(&self.files);
        let file = files.remove(from).ok_or(io::ErrorKind::NotFound)?;
        files.insert(to.to_owned(), file);
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        lock(&self.files).remove(path).map(|_| ()).ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl OpenFile for Shared {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize> {
        let mut file = lock(self);
        let start = at as usize;
        let end = start + bytes.len();
        if file.now.len() < end {
            file.now.resize(end, 0);
        }
        file.now[start..end].copy_from_slice(bytes);
        file.dirty.extend(start / SECTOR..end.div_ceil(SECTOR));
        Ok(bytes.len())
    }

    fn sync_data(&mut self) -> io::Result<()> {
        let mut file = lock(self);
        file.durable = file.now.clone();
        file.dirty.clear();
        Ok(())
    }

    fn allocate(&mut self, length: u64) -> io::Result<()> {
        let mut file = lock(self);
        let length = file.now.len().max(length as usize);
        file.resize(length);
        Ok(())
    }

    fn set_length(&mut self, length: u64) -> io::Result<()> {
        lock(self).resize(length as usize);
        Ok(())
    }
}

/// The file as it is: a test that failed elsewhere while holding it has already been reported.
fn lock<T>(what: &Mutex<T>) -> MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Chances from a seed (splitmix64, public domain, S. Vigna).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }
}

/// What a disk writes as one, at least.
const SECTOR: usize = 512;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn half_synced() -> MemDisk {
        let disk = MemDisk::default();
        let mut file = disk.create(Path::new("f")).unwrap();
        file.write_at(0, &[1; 2048]).unwrap();
        file.sync_data().unwrap();
        file.write_at(0, &[2; 4096]).unwrap();
        disk
    }

    fn found(disk: &MemDisk) -> Vec<u8> {
        disk.read(Path::new("f"), 10_000).unwrap()
    }

    #[test]
    fn a_cut_takes_what_was_not_synced_and_nothing_else() {
        assert_eq!(found(&half_synced().after(Crash::DropUnsynced)), [1; 2048]);
        assert_eq!(found(&half_synced().after(Crash::KeepAll)), [2; 4096]);
    }

    #[test]
    fn sectors_are_kept_or_dropped_whole_and_every_mix_comes() {
        let mut mixes = BTreeSet::new();
        for seed in 0..200 {
            let bytes = found(&half_synced().after(Crash::Sectors { seed }));
            let sectors: Vec<u8> = bytes.chunks(SECTOR).map(|sector| sector[0]).collect();
            assert!(bytes.chunks(SECTOR).all(|sector| sector.iter().all(|&b| b == sector[0])));
            mixes.insert(sectors[..4].to_vec());
        }
        assert_eq!(mixes.len(), 16, "of the 16 mixes of four sectors");
    }

    #[test]
    fn the_same_seed_gives_the_same_state() {
        let crash = Crash::Garbage { seed: 7 };
        assert_eq!(found(&half_synced().after(crash)), found(&half_synced().after(crash)));
        assert_ne!(found(&half_synced().after(crash)), found(&half_synced().after(Crash::Garbage { seed: 8 })));
    }
}
