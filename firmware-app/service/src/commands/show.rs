use crate::{
    args::Show,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::Out,
    report::Report,
};

pub(super) fn run(args: &Show, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let file = library.read(&args.trial)?;
    let Some(report) = Report::of(&file)? else { return Err(Library::no_opening(&file)) };
    if args.reads.json {
        out.json(&report)?;
    } else {
        report.print(out)?;
    }
    for lost in &file.lost {
        out.warn(lost);
    }
    Ok(if file.is_sound() { Outcome::Done } else { Outcome::Finding })
}
