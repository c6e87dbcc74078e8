//! What each command does, one file a command.

mod check;
mod completions;
mod config;
mod cook;
mod export;
mod fmt;
mod foresight;
mod foretell;
mod import;
mod man;
mod outputs;
mod plan;
mod play;
mod probes;
mod rebuild;
mod rules;
mod run_station;
mod schema;
mod serve;
mod sheet;
mod show;
mod trials;

use crate::{
    args::{Color, Command, ConfigCommand},
    config::Settings,
    environment::Environment,
    failure::{Failure, Outcome},
    output::Out,
    paths::Places,
};

/// What every command is given besides its own options.
#[derive(Debug)]
pub struct Session {
    /// The settings, each with where it came from.
    pub settings: Settings,
    /// The default places.
    pub places: Places,
    /// The environment variables.
    pub environment: Environment,
    /// When to use colour.
    pub color: Color,
}

/// Carries out one command.
pub fn run(command: &Command, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    match command {
        Command::Check(args) => check::run(args, session, out),
        Command::Fmt(args) => fmt::run(args, session, out),
        Command::Cook(args) => cook::run(args, session, out),
        Command::Serve(args) => serve::run(args, session, out),
        Command::Trials(args) => trials::run(args, session, out),
        Command::Show(args) => show::run(args, session, out),
        Command::Export(args) => export::run(args, session, out),
        Command::Import(args) => import::run(args, session, out),
        Command::Rebuild(args) => rebuild::run(args, session, out),
        Command::Schema => schema::run(session, out),
        Command::Rules(args) => rules::run(args, session, out),
        Command::Probes(args) => probes::run(args, session, out),
        Command::Play(args) => play::run(args, session, out),
        Command::Plan(args) => plan::run(args, session, out),
        Command::Foretell(args) => foretell::run(args, session, out),
        Command::Sheet(args) => sheet::run(args, out),
        Command::Config(args) => match &args.command {
            ConfigCommand::Show(reads) => config::show(*reads, session, out),
        },
        Command::Completions(args) => completions::run(args, out),
        Command::Man => man::run(out),
    }
}
