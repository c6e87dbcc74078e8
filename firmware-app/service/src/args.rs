//! Everything a person can type: the commands, their options and the examples on top of their help.

mod devices;
mod options;

use std::{ffi::OsString, path::PathBuf};

use clap::{
    Args, Parser, Subcommand, ValueEnum,
    error::{ContextKind, ContextValue},
};

pub use devices::{Devices, KeySource, Speed, SpeedError};
pub use options::{
    Changes, Check, Completions, Config, ConfigCommand, Cook, Export, ExportFormat, Fmt, Foretell, HeatedBy, Import,
    KitchenHas, Plan, Play, Probes, Reads, Rebuild, Rules, Serve, Sheet, Show, TimeOfDay, Trials,
};

use crate::{VERSION, config::Flag};

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "tallyhob",
    version = VERSION,
    about = "The station device for a recipe test kitchen",
    long_about = "The station device for a recipe test kitchen: runs the stages of a cook side by side, says what is next, \
        reads the probes, and keeps the record of what really happened.\n\n\
        It is an aid to memory and controls no heat. Never leave heat unattended.",
    before_help = "Examples:\n  tallyhob check pork-loin.toml\n  tallyhob cook pork-loin.toml --sim --speed 60\n  \
        tallyhob trials --recipe pork-loin\n  tallyhob show 20261125-1412-pork-loin-a",
    after_help = "Exit codes: 0 done, 1 something to look at, 2 wrong usage, 3 failed.",
    max_term_width = 100,
    arg_required_else_help = true,
    subcommand_required = true,
    disable_help_subcommand = true
)]
pub struct Cli {
    /// The options every command has.
    #[command(flatten)]
    pub global: Global,
    /// The command.
    #[command(subcommand)]
    pub command: Command,
}

/// The options every command has.
#[derive(Args, Debug)]
#[command(next_help_heading = "Global options")]
pub struct Global {
    /// Colour in text [env: NO_COLOR, CLICOLOR_FORCE]
    #[arg(long, value_name = "WHEN", default_value = "auto", global = true)]
    pub color: Color,
    /// Say only what went wrong
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Log more; twice for everything
    #[arg(short, long, action = clap::ArgAction::Count, global = true)]
    pub verbose: u8,
    /// Read this settings file and no other [env: TALLYHOB_CONFIG]
    #[arg(long, value_name = "FILE", global = true)]
    pub config: Option<PathBuf>,
    /// Keep trials, readings and the index here [env: TALLYHOB_DATA_DIR]
    #[arg(long, value_name = "DIR", global = true)]
    pub data_dir: Option<PathBuf>,
    /// How log lines look on stderr [env: TALLYHOB_LOG_FORMAT]
    #[arg(long, value_name = "FORMAT", global = true, value_parser = ["text", "json"])]
    pub log_format: Option<String>,
}

/// When text gets colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set
    #[default]
    Auto,
    /// Always, whatever the environment says
    Always,
    /// Never
    Never,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check recipe files and say what is wrong, with the place and what to write instead
    #[command(
        before_help = "Examples:\n  tallyhob check pork-loin.toml\n  tallyhob check recipes/*.toml --json\n  cat pork-loin.toml | tallyhob check -"
    )]
    Check(Check),
    /// Put recipe files in the usual form; comments stay
    #[command(
        before_help = "Examples:\n  tallyhob fmt pork-loin.toml\n  tallyhob fmt --check recipes/*.toml\n  tallyhob fmt - < draft.toml"
    )]
    Fmt(Fmt),
    /// Cook a recipe: with the real devices, or in a simulated kitchen at any speed
    #[command(
        before_help = "Examples:\n  tallyhob cook pork-loin.toml --sim --speed 60\n  tallyhob cook pork-loin --variant low-oven --cook IM\n  \
        tallyhob cook pork-loin.toml --sim --speed max --keys script --seed 7 --plain"
    )]
    Cook(Cook),
    /// Run the station: devices, record and everything it serves
    #[command(
        before_help = "Examples:\n  tallyhob serve\n  tallyhob serve --sim --speed 60\n  tallyhob serve --config /etc/tallyhob/tallyhob.toml --log-format json"
    )]
    Serve(Serve),
    /// List the trials on record
    #[command(
        before_help = "Examples:\n  tallyhob trials\n  tallyhob trials --recipe pork-loin --limit 20\n  tallyhob trials --json"
    )]
    Trials(Trials),
    /// Show one trial: what happened, when, and how its time is known
    #[command(
        before_help = "Examples:\n  tallyhob show 20261125-1412-pork-loin-a\n  tallyhob show 20261125-1412-pork-loin-a --json"
    )]
    Show(Show),
    /// Write trials out for a spreadsheet or a statistician
    #[command(
        before_help = "Examples:\n  tallyhob export 20261125-1412-pork-loin-a -o loin.jsonl\n  tallyhob export --format csv > trials.csv\n  tallyhob export --format csv --readings -o readings.csv"
    )]
    Export(Export),
    /// Read trials in that an export wrote
    #[command(before_help = "Examples:\n  tallyhob import loin.jsonl --dry-run\n  tallyhob import loin.jsonl --yes")]
    Import(Import),
    /// Build the index of trials again from their journals
    #[command(before_help = "Examples:\n  tallyhob rebuild\n  tallyhob rebuild --dry-run")]
    Rebuild(Rebuild),
    /// Print the JSON Schema of a recipe file
    #[command(before_help = "Examples:\n  tallyhob schema > recipe.schema.json")]
    Schema,
    /// List the rules a recipe is checked by, or explain one
    #[command(
        before_help = "Examples:\n  tallyhob rules\n  tallyhob rules core-below-minimum\n  tallyhob rules --json"
    )]
    Rules(Rules),
    /// List the live probes and what they read
    #[command(
        before_help = "Examples:\n  tallyhob probes\n  tallyhob probes --json\n  tallyhob probes --w1-root /tmp/w1"
    )]
    Probes(Probes),
    /// Play a temperature curve into a made-up probe tree, for trying the station without probes
    #[command(
        before_help = "Examples:\n  tallyhob play loin-curve.csv --w1-root /tmp/w1 --speed 60\n  tallyhob cook pork-loin.toml --real --w1-root /tmp/w1"
    )]
    Play(Play),
    /// Plan a cook: when to start what, so that the dishes land together with these hands and appliances
    #[command(
        before_help = "Examples:\n  tallyhob plan chicken-and-pilaf.toml --ready 18:45\n  tallyhob plan pork-loin pork-loin@low-oven --ready 12:30 --apart 2min --png plan.png\n  tallyhob plan beef-topside potato-gratin --ready 19:00 --cooks 2 --json"
    )]
    Plan(Plan),
    /// Replay a temperature curve and print what would have been foretold at each moment
    #[command(
        before_help = "Examples:\n  tallyhob foretell loin-curve.csv --target 63C --appliance oven --dial 180C\n  tallyhob foretell curves.csv.gz --id O016 --target 68C --appliance pan --turn 9min --every 60s\n  tallyhob foretell --trial 20261125-1412-pork-loin-a --step loin.roast --json"
    )]
    Foretell(Foretell),
    /// Draw every state of every screen of the panel on one sheet, as a PNG file
    #[command(
        before_help = "Examples:\n  tallyhob sheet --to colour.png\n  tallyhob sheet --panel mono --language de --units fahrenheit --to mono.png"
    )]
    Sheet(Sheet),
    /// Look at the settings
    #[command(before_help = "Examples:\n  tallyhob config show\n  tallyhob config show --json")]
    Config(Config),
    /// Print completions for a shell
    #[command(
        before_help = "Examples:\n  tallyhob completions bash > ~/.local/share/bash-completion/completions/tallyhob\n  tallyhob completions fish | source"
    )]
    Completions(Completions),
    /// Print the manual page
    #[command(before_help = "Examples:\n  tallyhob man | man -l -\n  tallyhob man > tallyhob.1")]
    Man,
}

impl Cli {
    /// The options that set a setting, with their values as typed.
    pub fn setting_flags(&self) -> Vec<Flag> {
        let global = &self.global;
        let mut flags = Vec::new();
        let mut path = |setting, flag, value: &Option<PathBuf>| {
            flags.extend(value.as_ref().map(|value| Flag::path(setting, flag, value)));
        };
        path("config", "--config", &global.config);
        path("data_dir", "--data-dir", &global.data_dir);
        let devices = match &self.command {
            Command::Cook(cook) => Some(&cook.devices),
            Command::Serve(serve) => Some(&serve.devices),
            Command::Probes(probes) => {
                path("w1_root", "--w1-root", &probes.w1_root);
                path("hwmon_root", "--hwmon-root", &probes.hwmon_root);
                None
            }
            Command::Check(_)
            | Command::Fmt(_)
            | Command::Trials(_)
            | Command::Show(_)
            | Command::Export(_)
            | Command::Import(_) => None,
            Command::Rebuild(_) | Command::Schema | Command::Rules(_) | Command::Play(_) | Command::Config(_) => None,
            Command::Foretell(_) | Command::Sheet(_) => None,
            Command::Plan(_) => None,
            Command::Completions(_) | Command::Man => None,
        };
        if let Some(devices) = devices {
            path("w1_root", "--w1-root", &devices.w1_root);
            path("hwmon_root", "--hwmon-root", &devices.hwmon_root);
            flags.extend(devices.kitchen.as_ref().map(|name| Flag::text("kitchen", "--kitchen", name)));
        }
        if let Command::Plan(plan) = &self.command {
            let has = &plan.has;
            let mut count = |setting, flag, value: Option<u16>| {
                flags.extend(value.map(|value| Flag::text(setting, flag, &value.to_string())));
            };
            count("cooks", "--cooks", has.cooks);
            count("ovens", "--ovens", has.ovens);
            count("oven_shelves", "--oven-shelves", has.oven_shelves);
            count("microwaves", "--microwaves", has.microwaves);
            count("burners", "--burners", has.burners);
        }
        flags.extend(global.log_format.as_ref().map(|format| Flag::text("log_format", "--log-format", format)));
        match (global.quiet, global.verbose) {
            (true, _) => flags.push(Flag::text("log", "--quiet", "error")),
            (false, 0) => {}
            (false, 1) => flags.push(Flag::text("log", "--verbose", "warn,tallyhob=debug")),
            (false, _) => flags.push(Flag::text("log", "--verbose", "debug,tallyhob=trace")),
        }
        flags
    }
}

/// The colour asked for, found before the arguments are read, so that a usage error has the right colour too.
pub fn color_asked(args: &[OsString]) -> Color {
    let mut asked = Color::Auto;
    let mut words = args.iter().skip(1).map(|word| word.to_string_lossy()).take_while(|word| word != "--");
    while let Some(word) = words.next() {
        let value = match word.strip_prefix("--color") {
            Some("") => words.next(),
            Some(rest) => rest.strip_prefix('=').map(|value| value.to_owned().into()),
            None => None,
        };
        if let Some(color) = value.and_then(|value| Color::from_str(&value, false).ok()) {
            asked = color;
        }
    }
    asked
}

/// Keeps the likeliest of several commands that a mistyped one could mean.
pub fn with_one_suggestion(mut answer: clap::Error) -> clap::Error {
    let best = match (answer.get(ContextKind::InvalidSubcommand), answer.get(ContextKind::SuggestedSubcommand)) {
        (Some(ContextValue::String(typed)), Some(ContextValue::Strings(offered))) if offered.len() > 1 => {
            let likeness = |word: &String| strsim::jaro_winkler(typed, word);
            offered.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b))).cloned()
        }
        _ => None,
    };
    if let Some(best) = best {
        answer.insert(ContextKind::SuggestedSubcommand, ContextValue::Strings(vec![best]));
    }
    answer
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_definition_holds_together() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_has_its_examples_first_and_they_parse() {
        fn walk(command: &clap::Command, seen: &mut usize) {
            let examples = command
                .get_before_help()
                .unwrap_or_else(|| panic!("{} has no examples", command.get_name()))
                .to_string();
            assert!(examples.starts_with("Examples:\n"), "{}: {examples}", command.get_name());
            for line in examples.lines().skip(1) {
                // the part of a pipe or redirection that is ours, without variables set in front
                let ours = line
                    .split(['|', '>', '<'])
                    .map(str::trim)
                    .find_map(|part| part.find("tallyhob ").map(|at| &part[at..]))
                    .unwrap();
                Cli::try_parse_from(ours.split_whitespace()).unwrap_or_else(|error| panic!("{line}: {error}"));
                *seen += 1;
            }
            command.get_subcommands().for_each(|sub| walk(sub, seen));
        }
        let mut seen = 0;
        walk(&Cli::command(), &mut seen);
        assert!(seen > 30, "only {seen} examples were tried");
    }

    #[test]
    fn colour_is_known_before_the_arguments_are_read() {
        let asked = |words: &[&str]| color_asked(&words.iter().map(OsString::from).collect::<Vec<_>>());
        assert_eq!(asked(&["tallyhob", "--color", "never", "--nope"]), Color::Never);
        assert_eq!(asked(&["tallyhob", "man", "--color=always"]), Color::Always);
        assert_eq!(asked(&["tallyhob", "check", "--", "--color=always"]), Color::Auto);
        assert_eq!(asked(&["tallyhob", "--color=purple"]), Color::Auto);
    }

    #[test]
    fn real_and_simulated_devices_exclude_each_other() {
        assert!(Cli::try_parse_from(["tallyhob", "cook", "loin", "--sim", "--real"]).is_err());
        assert!(Cli::try_parse_from(["tallyhob", "cook", "loin", "--real", "--speed", "60"]).is_err());
    }
}
