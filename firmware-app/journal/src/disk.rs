use std::{
    fs::{File, OpenOptions},
    io,
    os::unix::fs::FileExt,
    path::{Path, PathBuf},
};

/// The few things the record asks of a disk, so that a test can stand in for one and make it fail.
///
/// An operation that returns `Ok` on a name (create, rename, remove) has made that name durable; bytes are durable only
/// after [`OpenFile::sync_data`].
pub trait Disk: Send + Sync {
    /// Makes a new, empty file; fails with `AlreadyExists` rather than touch one that is there.
    fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>>;
    /// Opens a file that is there for writing.
    fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>>;
    /// All bytes of a file; fails with `FileTooLarge` if there are more than `most`.
    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>>;
    /// The names of the files in a folder, sorted.
    fn list(&self, folder: &Path) -> io::Result<Vec<String>>;
    /// Gives a file another name in the same folder, in place of one that has it.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Takes a file away.
    fn remove(&self, path: &Path) -> io::Result<()>;
}

/// A file open for writing.
pub trait OpenFile: Send {
    /// Writes at a place and says how many bytes were taken: fewer than given is no error.
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize>;
    /// Makes all written bytes and the length durable.
    fn sync_data(&mut self) -> io::Result<()>;
    /// Sees to it that the file has this length at least, with its blocks taken on the disk and read as zeros.
    fn allocate(&mut self, length: u64) -> io::Result<()>;
    /// Cuts the file to a length, or lengthens it with zeros.
    fn set_length(&mut self, length: u64) -> io::Result<()>;
}

/// Writes all of `bytes`, going on after short writes.
pub fn write_all_at(file: &mut dyn OpenFile, mut at: u64, mut bytes: &[u8]) -> io::Result<()> {
    while !bytes.is_empty() {
        let taken = file.write_at(at, bytes)?;
        if taken == 0 {
            return Err(io::ErrorKind::WriteZero.into());
        }
        at += taken as u64;
        bytes = bytes.get(taken..).unwrap_or_default();
    }
    Ok(())
}

/// Puts a whole file in place at once: whoever looks finds the old one or the new one, never a part.
///
/// The bytes are first written beside it under the same name with `.part` behind it; a part left by a power cut is
/// overwritten by the next try.
pub fn write_whole(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut name = path.as_os_str().to_owned();
    name.push(".part");
    let part = PathBuf::from(name);
    let written = (|| {
        let mut file = match disk.create(&part) {
            Err(there) if there.kind() == io::ErrorKind::AlreadyExists => {
                disk.remove(&part)?;
                disk.create(&part)?
            }
            other => other?,
        };
        write_all_at(&mut *file, 0, bytes)?;
        file.sync_data()?;
        disk.rename(&part, path)
    })();
    if written.is_err() {
        // the error that matters is the first one
        let _ = disk.remove(&part);
    }
    written
}

/// The disk of the machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct RealDisk;

struct RealFile(File);

impl Disk for RealDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        sync_folder(path)?;
        Ok(Box::new(RealFile(file)))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
        Ok(Box::new(RealFile(OpenOptions::new().write(true).open(path)?)))
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let file = File::open(path)?;
        let mut bytes = Vec::new();
        if file.metadata()?.len() > most {
            return Err(io::ErrorKind::FileTooLarge.into());
        }
        io::Read::read_to_end(&mut io::Read::take(file, most), &mut bytes)?;
        Ok(bytes)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in std::fs::read_dir(folder)? {
            let entry = entry?;
            // a name that is not text is not one of ours
            if let (true, Ok(name)) = (entry.file_type()?.is_file(), entry.file_name().into_string()) {
                names.push(name);
            }
        }
        names.sort();
        Ok(names)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)?;
        sync_folder(to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)?;
        sync_folder(path)
    }
}

impl OpenFile for RealFile {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize> {
        self.0.write_at(bytes, at)
    }

    fn sync_data(&mut self) -> io::Result<()> {
        Ok(rustix::fs::fdatasync(&self.0)?)
    }

    fn allocate(&mut self, length: u64) -> io::Result<()> {
        Ok(rustix::fs::fallocate(&self.0, rustix::fs::FallocateFlags::empty(), 0, length)?)
    }

    fn set_length(&mut self, length: u64) -> io::Result<()> {
        self.0.set_len(length)
    }
}

/// Makes the names in the folder of `path` durable.
fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Fault, FaultyDisk, MemDisk, Trouble};
    use std::sync::Arc;

    #[test]
    fn the_real_disk_keeps_these_promises() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        let mut file = RealDisk.create(&path).unwrap();
        assert_eq!(RealDisk.create(&path).err().unwrap().kind(), io::ErrorKind::AlreadyExists);
        write_all_at(&mut *file, 0, b"warm").unwrap();
        file.allocate(4096).unwrap();
        file.sync_data().unwrap();
        let bytes = RealDisk.read(&path, 5000).unwrap();
        assert_eq!((bytes.len(), &bytes[..5]), (4096, &b"warm\0"[..]));
        assert_eq!(RealDisk.read(&path, 4095).unwrap_err().kind(), io::ErrorKind::FileTooLarge);
        file.set_length(4).unwrap();
        assert_eq!(RealDisk.read(&path, 5000).unwrap(), b"warm");
        RealDisk.rename(&path, &folder.path().join("b")).unwrap();
        assert_eq!(RealDisk.list(folder.path()).unwrap(), ["b"]);
        RealDisk.remove(&folder.path().join("b")).unwrap();
        assert!(RealDisk.list(folder.path()).unwrap().is_empty());
    }

    #[test]
    fn a_failed_whole_write_leaves_the_old_file() {
        for trouble in [Trouble::Io, Trouble::Full, Trouble::Cut] {
            let mut at = 0;
            loop {
                let mem = MemDisk::default();
                let path = Path::new("d/export.csv");
                write_whole(&mem, path, b"old").unwrap();
                let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at, trouble });
                let written = write_whole(&disk, path, b"the new one");
                if disk.fired() == 0 {
                    assert!(at > 3, "the fault never came in the way");
                    break;
                }
                let found = mem.read(path, 100).unwrap();
                assert!(found == b"old" || found == b"the new one", "{trouble:?} at {at}: {found:?}");
                assert_eq!(written.is_ok(), found == b"the new one", "{trouble:?} at {at}");
                at += 1;
            }
        }
    }
}
