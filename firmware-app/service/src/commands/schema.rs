use crate::{
    commands::Session,
    failure::{Failure, Outcome},
    output::Out,
};

pub(super) fn run(_session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    out.line(recipe_parser::json_schema().trim_end())?;
    Ok(Outcome::Done)
}
