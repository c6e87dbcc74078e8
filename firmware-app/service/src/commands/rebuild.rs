use std::io::Read;

use journal::{RealDisk, index::Index};

use crate::{
    args::Rebuild,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::{Out, counted},
};

pub(super) fn run(args: &Rebuild, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let mut index = if args.dry_run {
        Index::in_memory().map_err(Failure::failed)?
    } else {
        if let Some(folder) = library.index.parent() {
            std::fs::create_dir_all(folder).map_err(Failure::failed)?;
        }
        put_aside_what_is_no_index(&library, out).map_err(Failure::failed)?;
        Index::open(&library.index).map_err(Failure::failed)?
    };
    if !library.trials.is_dir() {
        out.note(format_args!("no trial in {}; tallyhob cook makes one", library.trials.display()));
        return Ok(Outcome::Done);
    }
    let rebuilt = index.rebuild(&RealDisk, &library.trials).map_err(Failure::failed)?;
    let verb = if args.dry_run { "would hold" } else { "holds" };
    out.line(format_args!("the index {verb} {}", counted(rebuilt.trials, "trial")))?;
    for (trial, why) in &rebuilt.left_out {
        out.warn(format_args!("{trial} is left out: {why}"));
    }
    Ok(if rebuilt.left_out.is_empty() { Outcome::Done } else { Outcome::Finding })
}

/// Puts a file aside that stands where the index should and is none: all an index holds comes from the journals.
///
/// An index that a later program wrote is one, and stays.
fn put_aside_what_is_no_index(library: &Library, out: &mut Out) -> std::io::Result<()> {
    let mut start = Vec::new();
    match std::fs::File::open(&library.index) {
        Ok(file) => file.take(SQLITE.len() as u64).read_to_end(&mut start)?,
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(why) => return Err(why),
    };
    // an empty file becomes an index
    if start.is_empty() || start == SQLITE {
        return Ok(());
    }
    let aside = library.index.with_extension("sqlite.broken");
    std::fs::rename(&library.index, &aside)?;
    out.note(format_args!("{} is no index: it lies aside as {}", library.index.display(), aside.display()));
    Ok(())
}

/// How every SQLite file begins; from the SQLite file format description.
const SQLITE: &[u8] = b"SQLite format 3\0";
