use super::run_station::{Asked, Station as Started};
use crate::{
    args::{Cook, KeySource},
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::Out,
    report::Report,
    run::{
        drive::{Ended, Until},
        shelf::{self, ShelfError},
    },
};

pub(super) fn run(args: &Cook, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let shelved = match shelf::find(&args.recipe, &session.settings.recipe_dirs.value) {
        Ok(shelved) => shelved,
        Err(ShelfError::Refused { path, complaints, text, .. }) => {
            let name = path.display().to_string();
            let colour = out.colors_data();
            for complaint in &complaints {
                out.line(recipe_parser::render(
                    complaint,
                    &recipe_parser::Source { name: &name, text: &text },
                    colour,
                ))?;
            }
            return Ok(Outcome::Finding);
        }
        Err(why @ (ShelfError::NotFound { .. } | ShelfError::NoVariant { .. })) => return Err(Failure::usage(why)),
        Err(why @ ShelfError::Unreadable { .. }) => return Err(Failure::failed(why)),
    };
    // said before anything starts
    shelved.variant(args.variant.as_deref()).map_err(Failure::usage)?;
    let asked =
        Asked { devices: &args.devices, cook: args.cook.as_deref(), plain: args.plain, until: Until::AllClosed };
    let mut started = Started::start(&asked, Some(&shelved), session, out)?;
    let trial = started.open(shelved, args.variant.clone(), args.ready).map_err(Failure::failed)?;
    let ended = started.run()?;
    let started_in_sim = started.is_simulated();
    let trouble = started.trouble().map(ToOwned::to_owned);
    drop(started);
    let library = Library::at(&session.settings.data_dir.value);
    let file = match (library.read(trial.as_str()), trouble) {
        (Ok(file), _) => file,
        (Err(_), Some(trouble)) => {
            return Err(Failure::Failed(
                format!(
                    "trial {trial} was not kept, nothing of it could be written to {}: {trouble}",
                    library.trials.display()
                )
                .into(),
            ));
        }
        (Err(failure), None) => return Err(failure),
    };
    for lost in &file.lost {
        out.warn(lost);
    }
    if let Some(report) = Report::of(&file)? {
        out.line("")?;
        report.print(out)?;
    }
    if ended == Ended::Told {
        let kitchen = if started_in_sim { " --sim" } else { "" };
        let folder = session.settings.data_dir.value.display();
        out.note(format_args!(
            "the food goes on cooking, and trial {trial} stays open: tallyhob serve{kitchen} --data-dir {folder} takes it up again"
        ));
        return Ok(Outcome::Finding);
    }
    Ok(Outcome::Done)
}

/// Who presses, if nobody said: the simulated cook in a simulated kitchen, this terminal otherwise.
pub(super) fn who_presses(asked: Option<&KeySource>, simulated: bool) -> KeySource {
    asked.cloned().unwrap_or(if simulated { KeySource::Script } else { KeySource::Live })
}
