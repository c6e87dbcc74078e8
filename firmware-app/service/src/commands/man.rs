use std::io;

use clap::CommandFactory;
use clap_mangen::{
    Man,
    roff::{Roff, bold, italic, roman},
};

use crate::{
    args::Cli,
    config::NAMED,
    failure::{EXIT_CODES, Failure, Outcome},
    output::{Out, OutputError},
    paths::SYSTEM_CONFIG,
};

/// Environment variables that are not a setting of their own.
const OTHER_VARIABLES: [(&str, &str); 7] = [
    ("TALLYHOB_CONFIG", "Settings file to read instead of the usual ones, as --config."),
    ("RUST_LOG", "Log filter, if TALLYHOB_LOG is not set."),
    (
        "NO_COLOR, CLICOLOR_FORCE",
        "No colour in text; colour even where the output is no terminal. --color wins over both.",
    ),
    ("COLORTERM, TERM", "How many colours the terminal has, for the panel drawn in it."),
    ("HOME, XDG_CONFIG_HOME, XDG_DATA_HOME, XDG_RUNTIME_DIR", "Where a person's files are."),
    ("STATE_DIRECTORY, RUNTIME_DIRECTORY", "Where the station's files are, set by the service manager."),
    (
        "NOTIFY_SOCKET",
        "Where serve tells the service manager that the station is ready, alive (at least every 10 seconds) and stopping.",
    ),
];

/// Prints the manual page: all commands on one page.
pub(super) fn run(out: &mut Out) -> Result<Outcome, Failure> {
    let page = page().map_err(OutputError::from)?;
    out.bytes(&page)?;
    Ok(Outcome::Done)
}

fn page() -> io::Result<Vec<u8>> {
    let command = Cli::command();
    let mut page = Vec::new();
    let man =
        Man::new(command.clone()).manual("tallyhob manual").section("1").source(format!("tallyhob {}", crate::VERSION));
    man.render_title(&mut page)?;
    // a hyphen put in by the formatter would look like a part of an option
    let mut roff = Roff::new();
    roff.control("nh", []);
    roff.to_writer(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    heading(&mut page, "COMMANDS")?;
    for sub in command.get_subcommands() {
        one_command(&mut page, sub, "tallyhob")?;
    }
    heading(&mut page, "EXIT STATUS")?;
    let codes = EXIT_CODES.map(|(code, meaning)| (code.to_string(), meaning.to_owned()));
    entries(&mut page, codes)?;
    heading(&mut page, "ENVIRONMENT")?;
    let settings =
        NAMED.iter().map(|named| (named.variable.to_owned(), format!("{} Sets {}.", named.about, named.name)));
    let others = OTHER_VARIABLES.map(|(name, meaning)| (name.to_owned(), meaning.to_owned()));
    entries(&mut page, settings.chain(others))?;
    heading(&mut page, "FILES")?;
    entries(
        &mut page,
        [
            (SYSTEM_CONFIG.to_owned(), "Settings of the station.".to_owned()),
            (
                "~/.config/tallyhob/tallyhob.toml".to_owned(),
                "Settings of a person; they win over the station's.".to_owned(),
            ),
            (
                "/var/lib/tallyhob, ~/.local/share/tallyhob".to_owned(),
                "Trials, readings and the index: the station's, a person's.".to_owned(),
            ),
        ],
    )?;
    if let Some(examples) = command.get_before_help() {
        heading(&mut page, "EXAMPLES")?;
        sample(&mut page, &examples.to_string())?;
    }
    Ok(page)
}

fn one_command(page: &mut Vec<u8>, command: &clap::Command, parent: &str) -> io::Result<()> {
    let name = format!("{parent} {}", command.get_name());
    let named = command.clone().name(name.clone()).bin_name(name.clone()).display_name(name.clone());
    let mut roff = Roff::new();
    roff.control("SS", [name.as_str()]);
    roff.to_writer(page)?;
    let man = Man::new(named);
    without_headings(page, |part| man.render_synopsis_section(part))?;
    let mut roff = Roff::new();
    roff.control("PP", []);
    roff.text([roman(command.get_about().map(ToString::to_string).unwrap_or_default() + ".")]);
    roff.to_writer(page)?;
    if command.get_arguments().next().is_some() {
        without_headings(page, |part| man.render_options_section(part))?;
    }
    if let Some(examples) = command.get_before_help() {
        sample(page, &examples.to_string())?;
    }
    command.get_subcommands().try_for_each(|sub| one_command(page, sub, &name))
}

/// The generator writes a section; under a command its text goes without the section's heading.
fn without_headings(page: &mut Vec<u8>, render: impl FnOnce(&mut dyn io::Write) -> io::Result<()>) -> io::Result<()> {
    let mut part = Vec::new();
    render(&mut part)?;
    let kept = part.split_inclusive(|byte| *byte == b'\n').filter(|line| !line.starts_with(b".SH"));
    kept.for_each(|line| page.extend_from_slice(line));
    Ok(())
}

fn heading(page: &mut Vec<u8>, text: &str) -> io::Result<()> {
    let mut roff = Roff::new();
    roff.control("SH", [text]);
    roff.to_writer(page)
}

fn entries(page: &mut Vec<u8>, pairs: impl IntoIterator<Item = (String, String)>) -> io::Result<()> {
    let mut roff = Roff::new();
    for (name, meaning) in pairs {
        roff.control("TP", []);
        roff.text([bold(name)]);
        roff.text([roman(meaning)]);
    }
    roff.to_writer(page)
}

/// The help's examples, their heading dropped, as they are typed.
fn sample(page: &mut Vec<u8>, examples: &str) -> io::Result<()> {
    let mut roff = Roff::new();
    roff.control("PP", []);
    roff.control("nf", []);
    for line in examples.lines().skip(1) {
        roff.text([italic(line)]);
    }
    roff.control("fi", []);
    roff.to_writer(page)
}
