use crate::{
    args::Show,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::Out,
    report,
};

pub(super) fn run(args: &Show, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let file = library.read(&args.trial)?;
    let record = Library::record(&file)?;
    if args.reads.json {
        out.json(&record)?;
    } else {
        report::print(&record, out)?;
    }
    for lost in &file.lost {
        out.warn(lost);
    }
    Ok(if file.is_sound() { Outcome::Done } else { Outcome::Finding })
}
