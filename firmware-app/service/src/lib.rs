//! The station's service and its command line: the shell round the pure core.
//!
//! Duties: read the arguments and the settings, ask the clock, open devices and files, carry values in and out of the
//! engine, draw, sound, serve. It decides nothing about food: steps, doneness, plans and alerts are the engine's.
//!
//! Where to start reading: [`args`] is everything a person can type, [`commands`] what each command does, [`config`] where
//! a setting came from, [`clock`] and [`wake`] the only two places that know what time it is.

pub mod args;
pub mod clock;
pub mod commands;
pub mod config;
pub mod drawn;
pub mod environment;
pub mod failure;
pub mod frames;
pub mod library;
pub mod logs;
pub mod output;
pub mod panel;
pub mod paths;
pub mod picture;
pub mod planning;
pub mod report;
pub mod run;
pub mod secret;
pub mod terminal;
pub mod wake;

use std::{ffi::OsString, process::ExitCode};

use clap::{CommandFactory, FromArgMatches};

use crate::{
    args::{Cli, Color},
    commands::Session,
    environment::Environment,
    failure::{Failure, Outcome},
    output::Out,
};

/// Version and git revision, as `--version` prints them after the name.
pub const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), " (", env!("TALLYHOB_REVISION"), ")");

/// Runs one command from its arguments, the program's name first, and gives the exit code.
///
/// 0 ok, 1 a finding, 2 usage, 3 failed, 141 nobody reads the output any more.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let color = args::color_asked(&args);
    let environment = Environment::of_process();
    let parsed = Cli::command().color(color.for_clap()).try_get_matches_from(args);
    let cli = match parsed.and_then(|matches| Cli::from_arg_matches(&matches)) {
        Ok(cli) => cli,
        Err(answer) => {
            let answer = args::with_one_suggestion(answer);
            // help, version and usage errors go to the right stream; a closed one is no news
            let _ = answer.print();
            return ExitCode::from(u8::try_from(answer.exit_code()).unwrap_or(Failure::USAGE));
        }
    };
    let mut out = Out::standard(cli.global.color, cli.global.quiet, &environment);
    ExitCode::from(match carry_out(&cli, environment, &mut out) {
        Ok(outcome) => outcome.exit_code(),
        Err(failure) => {
            // what was written before the failure stays readable
            let _ = out.flush();
            if !failure.is_closed_pipe() {
                out.error(&failure);
            }
            failure.exit_code()
        }
    })
}

fn carry_out(cli: &Cli, environment: Environment, out: &mut Out) -> Result<Outcome, Failure> {
    let places = paths::Places::choose(&environment);
    let settings = config::Settings::load(&cli.setting_flags(), &environment, &places)?;
    for warning in &settings.warnings {
        out.warn(warning);
    }
    logs::start(&settings, out.colors_messages());
    let mut session = Session { settings, places, environment, color: cli.global.color };
    let outcome = commands::run(&cli.command, &mut session, out)?;
    out.flush()?;
    Ok(outcome)
}

impl Color {
    fn for_clap(self) -> clap::ColorChoice {
        match self {
            Self::Auto => clap::ColorChoice::Auto,
            Self::Always => clap::ColorChoice::Always,
            Self::Never => clap::ColorChoice::Never,
        }
    }
}
