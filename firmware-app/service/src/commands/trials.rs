use journal::index::{Filter, Outcome as TrialOutcome, Status, TrialRow};

use crate::{
    args::Trials,
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::{Out, Table},
    run::tell::length,
};

pub(super) fn run(args: &Trials, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let index = library.open_index()?;
    let limit = args.limit.map(|limit| u32::try_from(limit).unwrap_or(u32::MAX));
    let rows =
        index.list(&Filter { recipe: args.recipe.clone(), limit, ..Filter::default() }).map_err(Failure::failed)?;
    if args.reads.json {
        out.json(&rows)?;
        return Ok(Outcome::Done);
    }
    if rows.is_empty() {
        let folder = library.trials.display();
        match &args.recipe {
            Some(recipe) => out.note(format_args!("no trial of {recipe} in {folder}; tallyhob trials lists all")),
            None => out.note(format_args!("no trial in {folder}; tallyhob cook makes one")),
        }
        return Ok(Outcome::Done);
    }
    let mut table = Table::new(["trial", "recipe", "variant", "opened", "took", "outcome"]);
    for row in &rows {
        table.row([
            row.trial.to_string(),
            row.recipe.clone(),
            row.variant.clone(),
            opened(row),
            row.took.map_or_else(String::new, length),
            outcome(row).into(),
        ]);
    }
    out.table(&table)?;
    Ok(Outcome::Done)
}

fn opened(row: &TrialRow) -> String {
    let time = jiff::Timestamp::from_millisecond(row.opened_wall_ms)
        .map(|time| jiff::tz::TimeZone::system().to_datetime(time));
    let text = time.map_or_else(|_| "unknown".into(), |time| time.strftime("%Y-%m-%d %H:%M").to_string());
    if row.opened_synced { text } else { format!("{text} ?") }
}

fn outcome(row: &TrialRow) -> &'static str {
    match (row.status, row.outcome) {
        (Status::Open, _) => "open",
        (Status::Closed, Some(TrialOutcome::Finished)) => "finished",
        (Status::Closed, Some(TrialOutcome::GivenUp)) => "given up",
        (Status::Closed, None) => "closed",
    }
}
