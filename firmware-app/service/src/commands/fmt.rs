use std::{io::Write, path::Path};

use recipe_parser::Source;

use crate::{
    args::Fmt,
    commands::Session,
    failure::{Failure, Outcome},
    output::{Out, WholeFile},
};

pub(super) fn run(args: &Fmt, _session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::Done;
    for path in &args.recipes {
        let (name, text) = super::check::read(path)?;
        match recipe_parser::format(&text) {
            Ok(formatted) => match (path == Path::new("-"), formatted == text) {
                (true, same) => {
                    if args.check {
                        if !same {
                            outcome = Outcome::Finding;
                        }
                    } else {
                        out.bytes(formatted.as_bytes())?;
                    }
                }
                (false, true) => {}
                (false, false) if args.check => {
                    out.line(format_args!("{name} is not in the usual form"))?;
                    outcome = Outcome::Finding;
                }
                (false, false) => replace(path, formatted.as_bytes()).map_err(Failure::failed)?,
            },
            Err(complaints) => {
                let colour = out.colors_data();
                for complaint in &complaints {
                    out.line(recipe_parser::render(complaint, &Source { name: &name, text: &text }, colour))?;
                }
                outcome = Outcome::Finding;
            }
        }
    }
    Ok(outcome)
}

fn replace(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = WholeFile::create(path)?;
    file.write_all(bytes)?;
    file.finish()
}
