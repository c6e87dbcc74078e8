use std::{
    fs::{self, File},
    io::{self, BufWriter, Write},
    os::{fd::AsRawFd, unix::fs::PermissionsExt},
    path::{Path, PathBuf},
};

use rustix::{
    fs::{AtFlags, CWD, Mode, OFlags},
    io::Errno,
};
use tempfile::NamedTempFile;

/// A file that appears whole or not at all.
///
/// It is written without a name where the file system can do that, so that even a killed process leaves nothing behind;
/// elsewhere under a name of its own beside the old file. Dropped without [`WholeFile::finish`], it is gone and the old file stays.
#[derive(Debug)]
pub struct WholeFile {
    path: PathBuf,
    written: Written,
}

#[derive(Debug)]
enum Written {
    Unnamed(BufWriter<File>),
    Named(BufWriter<NamedTempFile>),
}

/// Where an export goes: a file, or standard output for `-`.
pub enum Destination<'a> {
    /// Standard output.
    Output(&'a mut (dyn Write + Send)),
    /// A file.
    File(WholeFile),
    /// A device or pipe, which is written to and never replaced.
    Device(File),
}

impl WholeFile {
    /// Starts a file that will stand at `path`, or where it points if it is a link.
    pub fn create(path: &Path) -> io::Result<Self> {
        let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let flags = OFlags::WRONLY | OFlags::TMPFILE | OFlags::CLOEXEC;
        match rustix::fs::open(folder_of(&path), flags, Mode::from_raw_mode(0o666)) {
            Ok(unnamed) => Ok(Self { path, written: Written::Unnamed(BufWriter::new(unnamed.into())) }),
            // the ways a file system or kernel says that it has no unnamed files (open(2))
            Err(Errno::OPNOTSUPP | Errno::ISDIR | Errno::INVAL) => Self::create_named(path),
            Err(error) => Err(error.into()),
        }
    }

    fn create_named(path: PathBuf) -> io::Result<Self> {
        let mode = fs::Permissions::from_mode(0o666);
        let named = tempfile::Builder::new().permissions(mode).tempfile_in(folder_of(&path))?;
        Ok(Self { path, written: Written::Named(BufWriter::new(named)) })
    }

    /// Puts the file in its place, on the disk before it is seen.
    ///
    /// A file that stood there keeps its permissions.
    pub fn finish(self) -> io::Result<()> {
        let folder = folder_of(&self.path).to_owned();
        let old = fs::metadata(&self.path).ok().map(|old| old.permissions());
        match self.written {
            Written::Unnamed(writer) => {
                let file = writer.into_inner().map_err(io::IntoInnerError::into_error)?;
                durable(&file, old)?;
                name(&file, &self.path)?;
            }
            Written::Named(writer) => {
                let file = writer.into_inner().map_err(io::IntoInnerError::into_error)?;
                durable(file.as_file(), old)?;
                file.persist(&self.path).map_err(|error| error.error)?;
            }
        }
        // the name is durable only once the folder is
        File::open(folder)?.sync_all()
    }
}

impl Write for WholeFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.written {
            Written::Unnamed(writer) => writer.write(bytes),
            Written::Named(writer) => writer.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &mut self.written {
            Written::Unnamed(writer) => writer.flush(),
            Written::Named(writer) => writer.flush(),
        }
    }
}

impl<'a> Destination<'a> {
    /// Opens the file, or takes `output` for `-`.
    pub fn open(path: &Path, output: &'a mut (dyn Write + Send)) -> io::Result<Self> {
        if path == Path::new("-") {
            return Ok(Self::Output(output));
        }
        match fs::metadata(path) {
            Ok(there) if there.is_dir() => Err(io::ErrorKind::IsADirectory.into()),
            Ok(there) if !there.is_file() => File::options().write(true).open(path).map(Self::Device),
            Ok(_) | Err(_) => WholeFile::create(path).map(Self::File),
        }
    }

    /// Ends it: a file appears in its place.
    pub fn finish(self) -> io::Result<()> {
        match self {
            Self::Output(output) => output.flush(),
            Self::File(file) => file.finish(),
            Self::Device(_) => Ok(()),
        }
    }
}

impl Write for Destination<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::Output(output) => output.write(bytes),
            Self::File(file) => file.write(bytes),
            Self::Device(file) => file.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self {
            Self::Output(output) => output.flush(),
            Self::File(file) => file.flush(),
            Self::Device(file) => file.flush(),
        }
    }
}

fn durable(file: &File, old: Option<fs::Permissions>) -> io::Result<()> {
    if let Some(permissions) = old {
        file.set_permissions(permissions)?;
    }
    file.sync_all()
}

/// Gives an unnamed file its name. A link cannot replace a file: the name beside it stands for two system calls only.
fn name(file: &File, path: &Path) -> io::Result<()> {
    let open = format!("/proc/self/fd/{}", file.as_raw_fd());
    match rustix::fs::linkat(CWD, &open, CWD, path, AtFlags::SYMLINK_FOLLOW) {
        Ok(()) => return Ok(()),
        Err(Errno::EXIST) => {}
        Err(error) => return Err(error.into()),
    }
    let mut beside = path.file_name().unwrap_or_default().to_owned();
    beside.push(format!(".{}.new", std::process::id()));
    let beside = folder_of(path).join(beside);
    rustix::fs::linkat(CWD, &open, CWD, &beside, AtFlags::SYMLINK_FOLLOW)?;
    fs::rename(&beside, path).inspect_err(|_| drop(fs::remove_file(&beside)))
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }

    /// Both ways of writing, so that the one this file system does not use is tried too.
    const WAYS: [fn(&Path) -> io::Result<WholeFile>; 2] =
        [WholeFile::create, |path| WholeFile::create_named(path.to_owned())];

    #[test]
    fn a_file_appears_only_when_it_is_finished() {
        for way in WAYS {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("trials.csv");
            let mut file = way(&path).unwrap();
            file.write_all(b"one\n").unwrap();
            file.flush().unwrap();
            assert!(!path.exists());
            file.finish().unwrap();
            assert_eq!(fs::read(&path).unwrap(), b"one\n");
            assert_eq!(names(folder.path()), ["trials.csv"]);
        }
    }

    #[test]
    fn an_unfinished_file_leaves_the_old_one_and_nothing_else() {
        for way in WAYS {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("trials.csv");
            fs::write(&path, "old").unwrap();
            let mut file = way(&path).unwrap();
            file.write_all(&vec![b'x'; 100_000]).unwrap();
            drop(file);
            assert_eq!(fs::read(&path).unwrap(), b"old");
            assert_eq!(names(folder.path()), ["trials.csv"]);
        }
    }

    #[test]
    fn a_replaced_file_keeps_its_permissions() {
        for way in WAYS {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("trials.csv");
            fs::write(&path, "old").unwrap();
            fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
            let mut file = way(&path).unwrap();
            file.write_all(b"new").unwrap();
            file.finish().unwrap();
            assert_eq!(fs::read(&path).unwrap(), b"new");
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
            assert_eq!(names(folder.path()), ["trials.csv"]);
        }
    }

    #[test]
    fn both_ways_give_a_new_file_the_same_permissions() {
        let folder = tempfile::tempdir().unwrap();
        let modes = WAYS.map(|way| {
            let path = folder.path().join("new.csv");
            way(&path).unwrap().finish().unwrap();
            let mode = fs::metadata(&path).unwrap().permissions().mode();
            fs::remove_file(&path).unwrap();
            mode
        });
        assert_eq!(modes[0], modes[1]);
    }

    #[test]
    fn a_link_stays_a_link_and_a_device_a_device() {
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("real.csv"), folder.path().join("link.csv"));
        fs::write(&file, "old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        let mut unused = Vec::new();
        let mut destination = Destination::open(&link, &mut unused).unwrap();
        destination.write_all(b"new").unwrap();
        destination.finish().unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"new");
        let null = Destination::open(Path::new("/dev/null"), &mut unused).unwrap();
        assert!(matches!(null, Destination::Device(_)));
        assert!(Destination::open(folder.path(), &mut Vec::new()).is_err());
    }

    #[test]
    fn a_hyphen_is_the_output() {
        let mut output = Vec::new();
        let mut destination = Destination::open(Path::new("-"), &mut output).unwrap();
        destination.write_all(b"rows").unwrap();
        destination.finish().unwrap();
        assert_eq!(output, b"rows");
    }
}
