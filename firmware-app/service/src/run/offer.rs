//! The list of recipes on the panel, kept as the files are.

use std::{
    fs,
    os::unix::fs::MetadataExt,
    path::{Path, PathBuf},
};

use journal::index::Filter;

use super::{shelf, station::Station};
use crate::library::Library;

/// What the panel offers: the recipes of some folders, with how many trials there are of each.
///
/// Files are read on the loop, so it is to be renewed only while no trial is open.
pub struct Offer {
    folders: Vec<PathBuf>,
    library: Library,
    seen: Option<Seen>,
}

/// How the files were when they were read; any change to one of them changes its line.
#[derive(PartialEq, Eq)]
struct Seen {
    recipes: Vec<FileState>,
    index: Vec<FileState>,
}

#[derive(PartialEq, Eq)]
struct FileState {
    path: PathBuf,
    inode: u64,
    len: u64,
    /// Seconds and nanoseconds of the last change, also of one that kept the time of writing.
    changed: (i64, i64),
}

impl Offer {
    /// The recipes of these folders; nothing is read before the first [`Self::renew`].
    pub fn new(folders: Vec<PathBuf>, library: Library) -> Self {
        Self { folders, library, seen: None }
    }

    /// Reads the recipes where they are not as they were the last time, and says whether it did.
    pub fn renew(&mut self, station: &mut Station) -> bool {
        let recipes = self.recipes();
        if self.seen.as_ref().is_some_and(|seen| seen.recipes == recipes && seen.index == self.index()) {
            return false;
        }
        let shelf = shelf::all(&self.folders);
        let index = self.library.index.is_file().then(|| self.library.open_index().ok()).flatten();
        let trials_of = |recipe: &str| {
            let filter = Filter { recipe: Some(recipe.into()), ..Filter::default() };
            let rows = index.as_ref().and_then(|index| index.list(&filter).ok()).map_or(0, |rows| rows.len());
            u32::try_from(rows).unwrap_or(u32::MAX)
        };
        let name = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        station.set_shelf(shelf.into_iter().map(|(path, read)| (name(&path), read)).collect(), trials_of);
        drop(index);
        // looked at last, since reading an index can tidy its files
        self.seen = Some(Seen { recipes, index: self.index() });
        true
    }

    fn recipes(&self) -> Vec<FileState> {
        let entries = self.folders.iter().filter_map(|folder| fs::read_dir(folder).ok()).flatten();
        let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
        let paths = paths.filter(|path| path.extension().is_some_and(|end| end == "toml"));
        let mut states: Vec<FileState> = paths.filter_map(|path| state_of(&path)).collect();
        states.sort_by(|a, b| a.path.cmp(&b.path));
        states
    }

    fn index(&self) -> Vec<FileState> {
        // what is new stands in the second one at first
        let log = self.library.index.with_extension("sqlite-wal");
        [self.library.index.as_path(), &log].into_iter().filter_map(state_of).collect()
    }
}

fn state_of(path: &Path) -> Option<FileState> {
    let found = fs::metadata(path).ok()?;
    let changed = (found.ctime(), found.ctime_nsec());
    Some(FileState { path: path.into(), inode: found.ino(), len: found.len(), changed })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;

    use super::*;
    use crate::{
        clock::{Clock, SystemClock},
        run::book::Book,
    };

    const SOUP: &str = include_str!("../../../../recipes/library/soup-reheat.toml");

    #[test]
    fn a_recipe_that_comes_changes_or_goes_is_seen_without_a_restart() {
        let home = tempfile::tempdir().unwrap();
        let library = Library::at(&home.path().join("data"));
        let book = Book::open(Library::disk(), &library.trials, library.index.clone()).unwrap();
        let mut station = Station::new(book, SystemClock::new().stamp(), None, None, BTreeSet::new());
        let folder = home.path().join("recipes");
        let mut offer = Offer::new(vec![folder.clone()], library);
        let titles = |station: &Station| -> Vec<String> {
            station.offered().iter().map(|line| line.title.clone()).filter(|title| !title.contains(": ")).collect()
        };

        assert!(offer.renew(&mut station));
        assert_eq!(titles(&station), [""; 0]);
        fs::create_dir(&folder).unwrap();
        fs::write(folder.join("soup.toml"), SOUP).unwrap();
        assert!(offer.renew(&mut station));
        assert_eq!(titles(&station), ["Lentil soup, reheated in the microwave"]);
        assert!(!offer.renew(&mut station), "nothing changed");
        // the same length, written into the same file
        fs::write(folder.join("soup.toml"), SOUP.replace("Lentil soup,", "Barley soup,")).unwrap();
        assert!(offer.renew(&mut station));
        assert_eq!(titles(&station), ["Barley soup, reheated in the microwave"]);
        fs::remove_file(folder.join("soup.toml")).unwrap();
        assert!(offer.renew(&mut station));
        assert_eq!(titles(&station), [""; 0]);
    }
}
