use std::{
    io,
    path::{Path, PathBuf},
    sync::Arc,
};

use crate::Disk;

/// A file of nothing that holds room on the disk, given up when the disk is full so that a running trial can end.
pub struct Reserve {
    disk: Arc<dyn Disk>,
    path: PathBuf,
    length: u64,
}

impl Reserve {
    /// A reserve of `length` bytes in `folder`; nothing is taken before [`Self::hold`].
    pub fn new(disk: Arc<dyn Disk>, folder: &Path, length: u64) -> Self {
        Self { disk, path: folder.join("reserve"), length }
    }

    /// Takes the room, or makes sure that it is taken; for the start, and after the disk was full.
    pub fn hold(&self) -> io::Result<()> {
        let mut file = match self.disk.create(&self.path) {
            Err(there) if there.kind() == io::ErrorKind::AlreadyExists => self.disk.open(&self.path)?,
            other => other?,
        };
        let held = file.allocate(self.length).and_then(|()| file.sync_data());
        if held.is_err() {
            // half a reserve would look like a whole one
            let _ = self.disk.remove(&self.path);
        }
        held
    }

    /// Gives the room up and says whether there was any; to be followed by a retry of what failed.
    pub fn free(&self) -> io::Result<bool> {
        match self.disk.remove(&self.path) {
            Ok(()) => Ok(true),
            Err(gone) if gone.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(error) => Err(error),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::RealDisk;

    #[test]
    fn the_reserve_takes_real_blocks_and_gives_them_back() {
        use std::os::unix::fs::MetadataExt;
        let folder = tempfile::tempdir().unwrap();
        let reserve = Reserve::new(Arc::new(RealDisk), folder.path(), 1 << 20);
        reserve.hold().unwrap();
        reserve.hold().unwrap();
        let blocks = std::fs::metadata(folder.path().join("reserve")).unwrap().blocks();
        assert!(blocks * 512 >= 1 << 20, "{blocks} blocks of 512 bytes");
        assert!(reserve.free().unwrap());
        assert!(!reserve.free().unwrap());
    }
}
