//! The high-water mark: how far a trial's journal was durable, in a file of its own.
//!
//! A journal that ends before its mark was cut, however well its last frame reads.
//!
//! ```text
//! slot, at 0 and at 512                  24 sequence 8  of the last durable frame; all ones: none
//!  0 magic    4  "tmrk"                  32 its sum  4  its checksum
//!  4 counter  8  the higher slot counts  36 checksum 4  CRC-32C over the slot so far
//! 12 segment  4
//! 16 length   8  durable bytes
//! ```
//!
//! It is written after the journal's sync, so it may lag behind but never runs ahead. It is synced once in 16 writes,
//! and only the slot that was not synced last is written in between: a power cut can spoil one slot at most.

use std::{
    io,
    path::{Path, PathBuf},
};

use crate::{Disk, OpenFile, frame::Link, write_all_at};

/// How far a trial's journal was durable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// In which segment.
    pub segment: u32,
    /// How many bytes of it.
    pub length: u64,
    /// The last durable frame; nothing if the segment was only begun.
    pub last: Option<Link>,
}

/// Keeps a trial's mark on disk.
pub(crate) struct MarkFile {
    path: PathBuf,
    file: Option<Box<dyn OpenFile>>,
    counter: u64,
    /// Which slot is written; the other one is durable.
    slot: u64,
    unsynced: u32,
}

impl MarkFile {
    /// Nothing is written before the first mark.
    pub(crate) fn new(path: PathBuf) -> Self {
        Self { path, file: None, counter: 0, slot: 0, unsynced: 0 }
    }

    /// Goes on from the slots on disk, without touching the better one.
    pub(crate) fn resume(disk: &dyn Disk, path: PathBuf) -> Self {
        let best = read_slots(disk, &path).into_iter().max_by_key(|(_, counter, _)| *counter);
        let (counter, slot) = best.map_or((0, 0), |(slot, counter, _)| (counter, 1 - slot));
        Self { path, file: None, counter, slot, unsynced: 0 }
    }

    /// Writes a mark; the next try starts over with opening the file if it fails.
    pub(crate) fn write(&mut self, disk: &dyn Disk, mark: Mark) -> io::Result<()> {
        let written = self.try_write(disk, mark);
        if written.is_err() {
            self.file = None;
        }
        written
    }

    /// Makes the last mark durable.
    pub(crate) fn sync(&mut self) -> io::Result<()> {
        if let Some(file) = self.file.as_mut().filter(|_| self.unsynced > 0) {
            file.sync_data()?;
            self.unsynced = 0;
            self.slot = 1 - self.slot;
        }
        Ok(())
    }

    fn try_write(&mut self, disk: &dyn Disk, mark: Mark) -> io::Result<()> {
        if self.file.is_none() {
            self.file = Some(match disk.create(&self.path) {
                Err(there) if there.kind() == io::ErrorKind::AlreadyExists => disk.open(&self.path)?,
                other => other?,
            });
        }
        let Some(file) = self.file.as_mut() else { return Ok(()) };
        self.counter += 1;
        let mut bytes = MAGIC.to_vec();
        bytes.extend_from_slice(&self.counter.to_le_bytes());
        bytes.extend_from_slice(&mark.segment.to_le_bytes());
        bytes.extend_from_slice(&mark.length.to_le_bytes());
        let last = mark.last.unwrap_or(Link { seq: u64::MAX, checksum: 0 });
        bytes.extend_from_slice(&last.seq.to_le_bytes());
        bytes.extend_from_slice(&last.checksum.to_le_bytes());
        bytes.extend_from_slice(&crc32c::crc32c(&bytes).to_le_bytes());
        write_all_at(&mut **file, self.slot * SLOT as u64, &bytes)?;
        self.unsynced += 1;
        if self.unsynced >= SYNC_EVERY { self.sync() } else { Ok(()) }
    }
}

/// The mark on disk; nothing if there is none or neither slot can be read.
pub(crate) fn read(disk: &dyn Disk, path: &Path) -> Option<Mark> {
    read_slots(disk, path).into_iter().max_by_key(|(_, counter, _)| *counter).map(|(_, _, mark)| mark)
}

fn read_slots(disk: &dyn Disk, path: &Path) -> Vec<(u64, u64, Mark)> {
    let bytes = disk.read(path, 4 * SLOT as u64).unwrap_or_default();
    let slots = (0..2).filter_map(|slot| {
        let (counter, mark) = read_slot(bytes.get(slot * SLOT..)?)?;
        Some((slot as u64, counter, mark))
    });
    slots.collect()
}

fn read_slot(bytes: &[u8]) -> Option<(u64, Mark)> {
    let (body, rest) = bytes.split_at_checked(SLOT_USED)?;
    let sound = body.starts_with(&MAGIC) && crc32c::crc32c(body).to_le_bytes() == *rest.first_chunk::<4>()?;
    let u32_at = |at: usize| Some(u32::from_le_bytes(*body.get(at..)?.first_chunk()?));
    let u64_at = |at: usize| Some(u64::from_le_bytes(*body.get(at..)?.first_chunk()?));
    let last = Link { seq: u64_at(24)?, checksum: u32_at(32)? };
    let last = (last.seq != u64::MAX).then_some(last);
    let mark = Mark { segment: u32_at(12)?, length: u64_at(16)?, last };
    sound.then_some((u64_at(4)?, mark))
}

const MAGIC: [u8; 4] = *b"tmrk";
/// A slot is alone in its sector.
const SLOT: usize = 512;
const SLOT_USED: usize = 36;
/// A journal cut by more than this many commits at once with the power shows as cut.
const SYNC_EVERY: u32 = 16;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Crash, MemDisk};

    fn mark(seq: u64) -> Mark {
        Mark { segment: 1, length: seq * 100, last: Some(Link { seq, checksum: seq as u32 ^ 0xabcd }) }
    }

    fn seq(mark: Mark) -> u64 {
        mark.last.unwrap().seq
    }

    #[test]
    fn the_last_mark_is_read() {
        let disk = MemDisk::default();
        let path = Path::new("d/t.mark");
        assert_eq!(read(&disk, path), None);
        let mut file = MarkFile::new(path.to_owned());
        for seq in 0..100 {
            file.write(&disk, mark(seq)).unwrap();
            assert_eq!(read(&disk, path), Some(mark(seq)));
        }
        let mut again = MarkFile::resume(&disk, path.to_owned());
        again.write(&disk, mark(100)).unwrap();
        assert_eq!(read(&disk, path), Some(mark(100)));
    }

    #[test]
    fn a_power_cut_leaves_a_true_mark_at_most_16_writes_old() {
        let path = Path::new("d/t.mark");
        for writes in 17..60 {
            let disk = MemDisk::default();
            let mut file = MarkFile::new(path.to_owned());
            for seq in 0..writes {
                file.write(&disk, mark(seq)).unwrap();
            }
            for seed in 0..50 {
                let after = disk.after(Crash::Garbage { seed });
                let found = read(&after, path).expect("one slot is always durable");
                assert_eq!(found, mark(seq(found)));
                assert!(seq(found) + 16 >= writes - 1, "{found:?} after {writes}");
            }
        }
    }

    #[test]
    fn no_flipped_bit_gives_a_wrong_mark() {
        let disk = MemDisk::default();
        let path = Path::new("d/t.mark");
        let mut file = MarkFile::new(path.to_owned());
        for seq in 0..17 {
            file.write(&disk, mark(seq)).unwrap();
        }
        for bit in 0..(SLOT + SLOT_USED + 4) * 8 {
            disk.spoil(path, |bytes| bytes[bit / 8] ^= 1 << (bit % 8)).unwrap();
            let found = read(&disk, path).expect("the other slot still reads");
            assert_eq!(found, mark(seq(found)));
            disk.spoil(path, |bytes| bytes[bit / 8] ^= 1 << (bit % 8)).unwrap();
        }
    }
}
