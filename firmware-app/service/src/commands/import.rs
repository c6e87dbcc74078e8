use journal::{
    RealDisk,
    export::{Import as Imported, ImportError},
    list_trials,
};

use crate::{
    args::Import,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::{Consent, Go, Out},
    run::book::seed_of,
};

pub(super) fn run(args: &Import, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let (_, text) = super::check::read(&args.file)?;
    let import = Imported::read(&text)
        .map_err(|why| Failure::Failed(format!("{} is not imported: {why}", args.file.display()).into()))?;
    // said before a question that could only be answered in vain, and in a dry run too
    if list_trials(&RealDisk, &library.trials).is_ok_and(|there| there.contains(import.trial())) {
        return Err(Failure::failed(ImportError::Exists { trial: import.trial().clone() }));
    }
    for lost in import.lost() {
        out.warn(format_args!("it was exported with something missing: {lost}"));
    }
    let question =
        format!("store trial {} with {} facts in {}?", import.trial(), import.facts(), library.trials.display());
    match Consent::new(args.changes).ask(&question, out).map_err(Failure::usage)? {
        Go::DryRun => out.line(format_args!("would store trial {} with {} facts", import.trial(), import.facts()))?,
        Go::Refused => out.note("nothing was stored"),
        Go::Do => {
            std::fs::create_dir_all(&library.trials).map_err(Failure::failed)?;
            import.store(&RealDisk, &library.trials, seed_of(import.trial())).map_err(Failure::failed)?;
            let file = library.read(import.trial().as_str())?;
            library.open_index()?.put(&file).map_err(Failure::failed)?;
            out.line(format_args!("stored trial {}", import.trial()))?;
        }
    }
    Ok(Outcome::Done)
}
