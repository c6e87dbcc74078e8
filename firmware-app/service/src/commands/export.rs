use std::{io::Write, path::Path};

use journal::{RealDisk, export, list_trials};

use crate::{
    args::{Export, ExportFormat},
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::{Destination, Out},
};

pub(super) fn run(args: &Export, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let library = Library::at(&session.settings.data_dir.value);
    let trials: Vec<String> = if args.trials.is_empty() {
        let listed = list_trials(&RealDisk, &library.trials);
        listed.map_err(Failure::failed)?.iter().map(ToString::to_string).collect()
    } else {
        args.trials.clone()
    };
    if args.format == ExportFormat::Jsonl && trials.len() != 1 && args.output != Path::new("-") {
        return Err(Failure::usage(
            "expected one trial for a JSON Lines file, since each is checked as a whole: name it",
        ));
    }
    let mut outcome = Outcome::Done;
    let mut whole = Vec::new();
    for (i, trial) in trials.iter().enumerate() {
        let file = library.read(trial)?;
        if !file.is_sound() {
            outcome = Outcome::Finding;
            for lost in &file.lost {
                out.warn(format_args!("{trial}: {lost}"));
            }
        }
        match args.format {
            ExportFormat::Jsonl => whole.extend(export::json_lines(&file).into_bytes()),
            ExportFormat::Csv => {
                let record = Library::record(&file)?;
                let mut part = Vec::new();
                if args.readings {
                    let blocks = file.readings().map_err(Failure::failed)?;
                    export::readings_csv(&record, &blocks, &mut part).map_err(Failure::failed)?;
                } else {
                    export::steps_csv(&record, &mut part).map_err(Failure::failed)?;
                }
                // one heading for all trials
                let skip = if i == 0 { 0 } else { part.iter().position(|byte| *byte == b'\n').map_or(0, |at| at + 1) };
                whole.extend(&part[skip..]);
            }
        }
    }
    if args.output == Path::new("-") {
        out.bytes(&whole)?;
        return Ok(outcome);
    }
    let mut to = Destination::open(&args.output, out.writer()).map_err(Failure::failed)?;
    to.write_all(&whole).map_err(Failure::failed)?;
    to.finish().map_err(Failure::failed)?;
    Ok(outcome)
}
