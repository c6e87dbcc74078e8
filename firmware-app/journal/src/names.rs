//! How the files of a trial are called: `<trial>.tjl`, `<trial>.2.tjl` and on, and `<trial>.mark`.
//!
//! A trial id has no dots, so that no file of one trial can be taken for a file of another.

use std::path::{Path, PathBuf};

use trial::TrialId;

/// The path of a trial's segment, from 1.
pub(crate) fn segment(folder: &Path, trial: &TrialId, number: u32) -> PathBuf {
    if number == 1 { folder.join(format!("{trial}.tjl")) } else { folder.join(format!("{trial}.{number}.tjl")) }
}

/// The path of a trial's high-water mark.
pub(crate) fn mark(folder: &Path, trial: &TrialId) -> PathBuf {
    folder.join(format!("{trial}.mark"))
}

/// The trial and segment that a file name stands for; nothing if it is no segment's.
pub(crate) fn read(name: &str) -> Option<(TrialId, u32)> {
    let stem = name.strip_suffix(".tjl")?;
    let (trial, number) = match stem.split_once('.') {
        None => (stem, 1),
        // "02" or "+2" would be a second name for the same segment
        Some((trial, digits)) => (trial, digits.parse().ok().filter(|n: &u32| *n > 1 && n.to_string() == digits)?),
    };
    Some((TrialId::new(trial)?, number))
}

/// Whether any of these files belongs to a trial; a mark without its journal does too.
pub(crate) fn any_of(names: &[String], trial: &TrialId) -> bool {
    names.iter().any(|name| {
        read(name).is_some_and(|(id, _)| id == *trial) || name.strip_suffix(".mark") == Some(trial.as_str())
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn names_read_back_and_strangers_do_not() {
        let trial = TrialId::new("20261125-1412-loin-a").unwrap();
        for number in [1, 2, 11] {
            let path = segment(Path::new("d"), &trial, number);
            assert_eq!(read(path.file_name().unwrap().to_str().unwrap()), Some((trial.clone(), number)));
        }
        for stranger in
            ["a.1.tjl", "a.02.tjl", "a.0.tjl", "a.tjl.part", "a.mark", ".tjl", "../a.tjl", "a.+2.tjl", "a.2.3.tjl"]
        {
            assert_eq!(read(stranger), None, "{stranger}");
        }
    }
}
