use clap::CommandFactory;

use crate::{
    args::{Cli, Completions},
    failure::{Failure, Outcome},
    output::Out,
};

/// Prints what the shell needs to complete our commands and options.
pub(super) fn run(args: &Completions, out: &mut Out) -> Result<Outcome, Failure> {
    // generated in memory first: the generator panics if its writer fails
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "tallyhob", &mut script);
    out.bytes(&script)?;
    Ok(Outcome::Done)
}
