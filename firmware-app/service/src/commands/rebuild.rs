use journal::{RealDisk, index::Index};

use crate::{
    args::Rebuild,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::Out,
};

pub(super) fn run(args: &Rebuild, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let mut index = if args.dry_run {
        Index::in_memory().map_err(Failure::failed)?
    } else {
        if let Some(folder) = library.index.parent() {
            std::fs::create_dir_all(folder).map_err(Failure::failed)?;
        }
        Index::open(&library.index).map_err(Failure::failed)?
    };
    let rebuilt = index.rebuild(&RealDisk, &library.trials).map_err(Failure::failed)?;
    let verb = if args.dry_run { "would hold" } else { "holds" };
    out.line(format_args!("the index {verb} {} trials", rebuilt.trials))?;
    for (trial, why) in &rebuilt.left_out {
        out.warn(format_args!("{trial} is left out: {why}"));
    }
    Ok(if rebuilt.left_out.is_empty() { Outcome::Done } else { Outcome::Finding })
}
