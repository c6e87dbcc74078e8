use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use clap_complete::Shell;
use quantities::{Celsius, Span};

use super::{Devices, Speed};

/// For commands that print data.
#[derive(Args, Clone, Copy, Debug)]
pub struct Reads {
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

/// For commands that change what is kept.
#[derive(Args, Clone, Copy, Debug)]
pub struct Changes {
    /// Say what would be done and change nothing
    #[arg(long, conflicts_with = "yes")]
    pub dry_run: bool,
    /// Do not ask; for scripts
    #[arg(short, long)]
    pub yes: bool,
}

/// `check`
#[derive(Args, Debug)]
pub struct Check {
    /// Recipe files, or - for standard input
    #[arg(value_name = "RECIPE", required = true)]
    pub recipes: Vec<PathBuf>,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
}

/// `fmt`
#[derive(Args, Debug)]
pub struct Fmt {
    /// Recipe files, or - to read standard input and write standard output
    #[arg(value_name = "RECIPE", required = true)]
    pub recipes: Vec<PathBuf>,
    /// Change nothing; exit 1 if a file is not in the usual form
    #[arg(long)]
    pub check: bool,
}

/// `cook`
#[derive(Args, Debug)]
pub struct Cook {
    /// A recipe file, or the id of a recipe in the recipe folders
    #[arg(value_name = "RECIPE")]
    pub recipe: String,
    /// The variant to cook; without it the control
    #[arg(long, value_name = "ID")]
    pub variant: Option<String>,
    /// Who cooks, by initials
    #[arg(long, value_name = "INITIALS")]
    pub cook: Option<String>,
    /// The time of day at which the dishes are to be ready: steps are called by a plan that moves with what happens
    #[arg(long, value_name = "HH:MM", value_parser = time_of_day)]
    pub ready: Option<TimeOfDay>,
    /// Print the screen's words line by line instead of drawing the panel
    #[arg(long)]
    pub plain: bool,
    /// The devices
    #[command(flatten)]
    pub devices: Devices,
}

/// `serve`
#[derive(Args, Debug)]
pub struct Serve {
    /// The devices
    #[command(flatten)]
    pub devices: Devices,
}

/// `trials`
#[derive(Args, Debug)]
pub struct Trials {
    /// Only trials of this recipe
    #[arg(long, value_name = "ID")]
    pub recipe: Option<String>,
    /// At most so many, the latest first
    #[arg(long, value_name = "N")]
    pub limit: Option<usize>,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
}

/// `show`
#[derive(Args, Debug)]
pub struct Show {
    /// The trial's id, as `tallyhob trials` prints it
    #[arg(value_name = "TRIAL")]
    pub trial: String,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
}

/// `export`
#[derive(Args, Debug)]
pub struct Export {
    /// Ids of trials; without any, all of them
    #[arg(value_name = "TRIAL")]
    pub trials: Vec<String>,
    /// JSON Lines keeps everything and can be imported; CSV is one row a step
    #[arg(long, value_name = "FORMAT", default_value = "jsonl")]
    pub format: ExportFormat,
    /// Write here; the file is replaced whole or not at all. - is standard output
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    pub output: PathBuf,
    /// In CSV: one row a probe reading instead of one a step; JSON Lines always has them all
    #[arg(long)]
    pub readings: bool,
}

/// The form of an export.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// One entry a line
    Jsonl,
    /// Rows for a spreadsheet
    Csv,
}

/// `import`
#[derive(Args, Debug)]
pub struct Import {
    /// A file an export wrote, or - for standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Whether to ask
    #[command(flatten)]
    pub changes: Changes,
}

/// `rebuild`
#[derive(Args, Debug)]
pub struct Rebuild {
    /// Say what the journals hold and leave the index as it is
    #[arg(long)]
    pub dry_run: bool,
}

/// `rules`
#[derive(Args, Debug)]
pub struct Rules {
    /// Explain this rule
    #[arg(value_name = "RULE")]
    pub rule: Option<String>,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
}

/// `probes`
#[derive(Args, Debug)]
pub struct Probes {
    /// System tree with one-wire probes under bus/w1/devices [env: TALLYHOB_W1_ROOT]
    #[arg(long, value_name = "PATH")]
    pub w1_root: Option<PathBuf>,
    /// System tree with thermocouple and board sensors under class/hwmon [env: TALLYHOB_HWMON_ROOT]
    #[arg(long, value_name = "PATH")]
    pub hwmon_root: Option<PathBuf>,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
}

/// `sheet`
#[derive(Args, Debug)]
pub struct Sheet {
    /// The file to write, or - for standard output
    #[arg(long, value_name = "FILE")]
    pub to: PathBuf,
    /// Which panel
    #[arg(long, value_name = "PANEL", default_value = "colour", value_parser = ["colour", "mono"])]
    pub panel: String,
    /// Language of the panel
    #[arg(long, value_name = "LANGUAGE", default_value = "en", value_parser = ["en", "de"])]
    pub language: String,
    /// Temperatures
    #[arg(long, value_name = "UNITS", default_value = "celsius", value_parser = ["celsius", "fahrenheit"])]
    pub units: String,
}

/// `play`
#[derive(Args, Debug)]
pub struct Play {
    /// A curve: CSV rows of seconds and °C, or - for standard input
    #[arg(value_name = "CURVE")]
    pub curve: PathBuf,
    /// The folder to play into; made if it is not there, never a folder of the system
    #[arg(long, value_name = "PATH")]
    pub w1_root: PathBuf,
    /// The probe's id
    #[arg(long, value_name = "ID", default_value = "28-000000000001")]
    pub probe: String,
    /// So many times as fast
    #[arg(long, value_name = "N|max", default_value = "1")]
    pub speed: Speed,
}

/// `plan`
#[derive(Args, Debug)]
pub struct Plan {
    /// Recipes to plan together: a file, or the id of a recipe in the recipe folders; with @ and an id, a variant of it;
    /// the same one twice is two trials
    #[arg(value_name = "RECIPE[@VARIANT]", required = true)]
    pub recipes: Vec<String>,
    /// The time of day at which the dishes are to be ready; without it as early as can be. For several recipes all at
    /// once, or one after another with --apart
    #[arg(long, value_name = "HH:MM", value_parser = time_of_day)]
    pub ready: Option<TimeOfDay>,
    /// How far around that time still counts
    #[arg(long, value_name = "TIME", value_parser = span, default_value = "3 min")]
    pub window: Span,
    /// Each further recipe lands so much later than the one before
    #[arg(long, value_name = "TIME", value_parser = span, default_value = "0 s")]
    pub apart: Span,
    /// The time of day before which nothing begins; without it now
    #[arg(long, value_name = "HH:MM", value_parser = time_of_day)]
    pub from: Option<TimeOfDay>,
    /// Cooks that are simulated for the chances
    #[arg(long, value_name = "N", default_value_t = 300, value_parser = clap::value_parser!(u32).range(20..=20_000))]
    pub runs: u32,
    /// Where chance begins: the same seed gives the same plan
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Draw the plan into this SVG file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Draw the plan into this PNG file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
    /// How to print
    #[command(flatten)]
    pub reads: Reads,
    /// What the kitchen has
    #[command(flatten)]
    pub has: KitchenHas,
}

/// What the kitchen has, where it differs from the settings.
#[derive(Args, Clone, Copy, Debug, Default)]
#[command(next_help_heading = "Kitchen")]
pub struct KitchenHas {
    /// Pairs of hands [env: TALLYHOB_COOKS]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=20))]
    pub cooks: Option<u16>,
    /// Ovens [env: TALLYHOB_OVENS]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=20))]
    pub ovens: Option<u16>,
    /// Trays or dishes that an oven takes at once [env: TALLYHOB_OVEN_SHELVES]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=20))]
    pub oven_shelves: Option<u16>,
    /// Microwaves [env: TALLYHOB_MICROWAVES]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=20))]
    pub microwaves: Option<u16>,
    /// Burners [env: TALLYHOB_BURNERS]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=20))]
    pub burners: Option<u16>,
}

/// A time of day as a person types it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TimeOfDay {
    /// Since midnight.
    pub since_midnight: Span,
}

fn time_of_day(text: &str) -> Result<TimeOfDay, String> {
    let parts: Option<Vec<u64>> = text.split(':').map(|part| part.parse().ok().filter(|_| part.len() == 2)).collect();
    match parts.as_deref() {
        Some(&[hour @ 0..24, minute @ 0..60]) => Ok(TimeOfDay { since_midnight: Span::from_mins(hour * 60 + minute) }),
        _ => Err(format!("expected a time of day from 00:00 to 23:59, found {text:?}")),
    }
}

/// `foretell`
#[derive(Args, Debug)]
pub struct Foretell {
    /// A curve: CSV rows under the names time_s and core_c, also air_c and id; plain or packed with gzip; - is standard
    /// input
    #[arg(value_name = "CURVE", required_unless_present = "trial", conflicts_with = "trial")]
    pub curve: Option<PathBuf>,
    /// The curve of this id, where the file holds several
    #[arg(long, value_name = "ID", conflicts_with = "trial")]
    pub id: Option<String>,
    /// The core that is wanted
    #[arg(long, value_name = "TEMPERATURE", value_parser = temperature, required_unless_present = "trial", conflicts_with = "trial")]
    pub target: Option<Celsius>,
    /// What heats the food
    #[arg(long, value_name = "APPLIANCE", required_unless_present = "trial", conflicts_with = "trial")]
    pub appliance: Option<HeatedBy>,
    /// How the oven is set; a bath is an oven at its temperature
    #[arg(long, value_name = "TEMPERATURE", value_parser = temperature, conflicts_with = "trial")]
    pub dial: Option<Celsius>,
    /// The food was turned then, counted from the first row; may be said again
    #[arg(long, value_name = "TIME", value_parser = span, conflicts_with = "trial")]
    pub turn: Vec<Span>,
    /// It was covered, moved, or set otherwise then; may be said again
    #[arg(long, value_name = "TIME", value_parser = span, conflicts_with = "trial")]
    pub change: Vec<Span>,
    /// Replay a step of this trial instead
    #[arg(long, value_name = "TRIAL", requires = "step")]
    pub trial: Option<String>,
    /// Which step, as the record names it: loin.roast
    #[arg(long, value_name = "STEP", requires = "trial")]
    pub step: Option<String>,
    /// How long the same cook took before
    #[arg(long, value_name = "TIME", value_parser = span)]
    pub history: Option<Span>,
    /// How often to look
    #[arg(long, value_name = "TIME", value_parser = span, default_value = "30 s")]
    pub every: Span,
    /// Print JSON instead of text, an object a line
    #[arg(long)]
    pub json: bool,
}

/// What heats the food of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum HeatedBy {
    /// Hot air, or a bath
    Oven,
    /// Metal from below
    Pan,
    /// A microwave
    Microwave,
}

fn temperature(text: &str) -> Result<Celsius, String> {
    quantities::parse::temperature(text).map(|read| read.value).map_err(|why| format!("{why}; {}", why.help))
}

fn span(text: &str) -> Result<Span, String> {
    quantities::parse::span(text).map(|read| read.value).map_err(|why| format!("{why}; {}", why.help))
}

/// `config`
#[derive(Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Config {
    /// What to look at
    #[command(subcommand)]
    pub command: ConfigCommand,
}

/// What to do with the settings.
#[derive(Debug, Subcommand)]
pub enum ConfigCommand {
    /// Print every setting with its value and where the value came from
    #[command(
        before_help = "Examples:\n  tallyhob config show\n  TALLYHOB_UNITS=fahrenheit tallyhob config show --json"
    )]
    Show(Reads),
}

/// `completions`
#[derive(Args, Debug)]
pub struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub shell: Shell,
}
