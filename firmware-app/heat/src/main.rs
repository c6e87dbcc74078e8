//! Makes the banks and models of `doneness`, and judges them.

use std::{error::Error, fs, io::Write as _, path::PathBuf, process::ExitCode, sync::Arc};

use clap::{Parser, Subcommand};
use doneness::{Knowledge, Mix, bank::Bank, models::Models};
use heat::{
    family::Family,
    judge::{self, Ask},
    packing,
    study::{self, Study},
};

#[derive(Parser)]
#[command(version, about)]
struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Simulate cooks and pack their heating curves
    Bank {
        /// Seed of the cooks
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// How many
        #[arg(long, default_value_t = 6000)]
        cooks: u64,
        /// File to write
        #[arg(long)]
        out: PathBuf,
        /// Write the rests of the same cooks too, in the same run
        #[arg(long)]
        rests: Option<PathBuf>,
    },
    /// Simulate the same cooks and pack what came of pulling them
    RestBank {
        /// Seed of the cooks
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// How many
        #[arg(long, default_value_t = 6000)]
        cooks: u64,
        /// File to write
        #[arg(long)]
        out: PathBuf,
    },
    /// Train the models on other simulated cooks
    Train {
        /// Seed of the cooks and nets
        #[arg(long, default_value_t = 2)]
        seed: u64,
        /// How many cooks
        #[arg(long, default_value_t = 64_000)]
        cooks: u64,
        /// Times through all lessons
        #[arg(long, default_value_t = 24)]
        rounds: usize,
        /// Nets for the time left
        #[arg(long, default_value_t = 5)]
        nets: usize,
        /// Leave these families out, to see how the others carry over to them
        #[arg(long, value_delimiter = ',')]
        without: Vec<String>,
        /// File to write
        #[arg(long)]
        out: PathBuf,
    },
    /// Measure models on simulated cooks that they were not trained on
    Report {
        /// The models
        models: PathBuf,
        /// Seed of the cooks
        #[arg(long, default_value_t = 3)]
        seed: u64,
        /// How many
        #[arg(long, default_value_t = 2000)]
        cooks: u64,
    },
    /// Judge the estimator on curves; exit 1 if an accepted figure is missed
    Judge {
        /// Rows of id, time_s, core_c, air_c, packed or plain
        #[arg(required_unless_present = "simulated")]
        curves: Option<PathBuf>,
        /// A record a curve
        #[arg(required_unless_present = "simulated")]
        meta: Option<PathBuf>,
        /// True rest curves
        rests: Option<PathBuf>,
        /// Instead of files: this many simulated cooks of a seed that nothing was made from
        #[arg(long, conflicts_with_all = ["curves", "meta", "rests"])]
        simulated: Option<u64>,
        /// Their seed; 1 to 3 are those that bank, models and study were made from
        #[arg(long, default_value_t = HELD_OUT, requires = "simulated")]
        seed: u64,
        /// Other models than the shipped ones
        #[arg(long)]
        models: Option<PathBuf>,
        /// Other heating curves than the shipped ones
        #[arg(long, requires = "rest_bank")]
        bank: Option<PathBuf>,
        /// The rests that belong to them
        #[arg(long, requires = "bank")]
        rest_bank: Option<PathBuf>,
        /// Make up earlier trials with this spread
        #[arg(long)]
        history: Option<f64>,
        /// Share of the bank
        #[arg(long, default_value_t = Mix::USUAL.bank)]
        share: f64,
        /// Widening
        #[arg(long, default_value_t = Mix::USUAL.widen)]
        widen: f64,
        /// Share of the bank in the rise after a pull
        #[arg(long, default_value_t = Mix::USUAL.rise_bank)]
        rise_share: f64,
        /// How many times the nets' distance from each other the intervals reach farther
        #[arg(long, default_value_t = Mix::USUAL.doubt)]
        doubt: f64,
        /// Widening of the rise
        #[arg(long, default_value_t = Mix::USUAL.rise_widen)]
        rise_widen: f64,
    },
}

/// A seed that neither the bank nor the models are made from.
const HELD_OUT: u64 = 9;

fn main() -> ExitCode {
    match run(Args::parse()) {
        Ok(code) => code,
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "heat: {error}");
            ExitCode::FAILURE
        }
    }
}

fn run(args: Args) -> Result<ExitCode, Box<dyn Error>> {
    let mut out = std::io::stdout().lock();
    match args.command {
        Command::Bank { seed, cooks, out, rests: also } => {
            let (curves, rests) = packing::bank(seed, cooks);
            fs::write(out, curves)?;
            if let Some(file) = also {
                fs::write(file, rests)?;
            }
        }
        Command::RestBank { seed, cooks, out } => fs::write(out, packing::bank(seed, cooks).1)?,
        Command::Train { seed, cooks, rounds, nets, without, out: file } => {
            let named = |name: &String| {
                Family::named(name)
                    .ok_or_else(|| format!("expected the name of a family such as SearFirst, found {name:?}"))
            };
            let without = without.iter().map(named).collect::<Result<Vec<Family>, String>>()?;
            let study = Study { seed, cooks, rounds, nets, without };
            let models = study.run(&mut |line| {
                let _ = writeln!(std::io::stderr(), "{line}");
            });
            fs::write(file, models)?;
        }
        Command::Report { models, seed, cooks } => {
            let models = Models::open(&fs::read(models)?)?;
            out.write_all(study::report(&models, seed, cooks).as_bytes())?;
        }
        Command::Judge {
            curves,
            meta,
            rests,
            simulated,
            seed,
            models,
            bank,
            rest_bank,
            history,
            doubt,
            share,
            widen,
            rise_share,
            rise_widen,
        } => {
            let mut knowledge = Knowledge::shipped()?;
            if let Some(models) = models {
                knowledge.models = Models::open(&fs::read(models)?)?;
            }
            if let (Some(curves), Some(rests)) = (bank, rest_bank) {
                // read once for the whole run
                knowledge.bank = Bank::open(fs::read(curves)?.leak(), fs::read(rests)?.leak())?;
            }
            let knowledge = Arc::new(knowledge);
            let reached = simulated.is_none();
            let traces = match (curves, meta, simulated) {
                (Some(curves), Some(meta), _) => {
                    let curves = judge::read(&curves, &meta, rests.as_deref())?;
                    for note in curves.notes {
                        writeln!(std::io::stderr(), "heat: {note}")?;
                    }
                    curves.traces
                }
                (_, _, cooks) => judge::simulated(seed, cooks.unwrap_or(1000)),
            };
            let verdict = judge::judge(
                &traces,
                &Ask {
                    knowledge,
                    reached,
                    mix: Mix { bank: share, widen, rise_bank: rise_share, rise_widen, doubt },
                    history,
                },
            );
            out.write_all(verdict.text.as_bytes())?;
            writeln!(out)?;
            for figure in &verdict.figures {
                writeln!(out, "{figure}")?;
            }
            return Ok(if verdict.missed().is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE });
        }
    }
    Ok(ExitCode::SUCCESS)
}
