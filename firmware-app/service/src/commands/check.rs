use std::{io::Read, path::Path};

use recipe_parser::{Complaint, Severity, Source};
use serde::Serialize;

use crate::{
    args::Check,
    commands::Session,
    failure::{Failure, Outcome},
    output::{Out, counted},
};

#[derive(Serialize)]
struct Checked {
    file: String,
    ok: bool,
    complaints: Vec<Complaint>,
}

pub(super) fn run(args: &Check, _session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let mut all = Vec::new();
    let mut unreadable = false;
    for path in &args.recipes {
        let (name, text) = match read(path) {
            Ok(read) => read,
            Err(why) if args.recipes.len() == 1 => return Err(why),
            // the others are checked all the same
            Err(why) => {
                out.error(&why);
                unreadable = true;
                continue;
            }
        };
        let parsed = recipe_parser::parse(&name, &text);
        if !args.reads.json {
            let colour = out.colors_data();
            for complaint in &parsed.complaints {
                out.line(recipe_parser::render(complaint, &Source { name: &name, text: &text }, colour))?;
            }
            let errors = parsed.complaints.iter().filter(|c| c.severity == Severity::Error).count();
            let warnings = parsed.complaints.len() - errors;
            match (&parsed.recipe, warnings) {
                (Some(recipe), 0) => {
                    out.line(format_args!("{name}: {} is in order, {}", recipe.title, size(recipe)))?
                }
                (Some(recipe), n) => {
                    out.line(format_args!("{name}: {} can be cooked, {n} to look at", recipe.title))?
                }
                (None, n) => out.line(format_args!(
                    "{name}: refused, {} and {}",
                    counted(errors, "error"),
                    counted(n, "warning")
                ))?,
            }
        }
        all.push(Checked { file: name, ok: parsed.recipe.is_some(), complaints: parsed.complaints });
    }
    if args.reads.json {
        out.json(&all)?;
    }
    if unreadable {
        return Err(Failure::Failed("not every file could be read, see above".into()));
    }
    let found = all.iter().any(|checked| !checked.ok);
    Ok(if found { Outcome::Finding } else { Outcome::Done })
}

fn size(recipe: &recipe_model::Recipe) -> String {
    let stages = counted(recipe.base.stages.len(), "stage");
    let steps = counted(recipe.base.steps().count(), "step");
    match recipe.variants.len() {
        0 => format!("{stages}, {steps}"),
        n => format!("{stages}, {steps}, {}", counted(n, "variant")),
    }
}

/// The text of a recipe file, or of standard input for `-`.
pub(super) fn read(path: &Path) -> Result<(String, String), Failure> {
    let unreadable = |why: std::io::Error| Failure::Failed(format!("cannot read {}: {why}", path.display()).into());
    if path == Path::new("-") {
        let mut text = String::new();
        std::io::stdin().read_to_string(&mut text).map_err(unreadable)?;
        return Ok(("-".into(), text));
    }
    let text = std::fs::read_to_string(path).map_err(unreadable)?;
    Ok((path.display().to_string(), text))
}
