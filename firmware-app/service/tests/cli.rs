//! The command line as a person or a script meets it: the built program, its streams and its exit codes.
#![allow(clippy::unwrap_used)]

use std::{
    fs,
    io::{BufRead, BufReader, Read, Write},
    path::Path,
    process::{Command, Output, Stdio},
};

use tempfile::TempDir;

/// The program with an environment of its own: a home in `home` and nothing else.
fn tallyhob(home: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tallyhob"));
    command.args(args).env_clear().env("HOME", home).env("PATH", "/usr/bin:/bin").current_dir(home);
    command
}

fn run(args: &[&str]) -> Output {
    let home = tempfile::tempdir().unwrap();
    tallyhob(home.path(), args).output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn fed_to(program: &str, args: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(program)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input).unwrap();
    child.wait_with_output().unwrap()
}

/// Every command with its parents: "config show".
fn commands() -> Vec<Vec<String>> {
    fn walk(command: &clap::Command, above: &[String], found: &mut Vec<Vec<String>>) {
        for sub in command.get_subcommands() {
            let path: Vec<String> = above.iter().cloned().chain([sub.get_name().to_owned()]).collect();
            walk(sub, &path, found);
            found.push(path);
        }
    }
    let mut found = Vec::new();
    walk(&<tallyhob::args::Cli as clap::CommandFactory>::command(), &[], &mut found);
    found
}

#[test]
fn sessions_go_as_written() {
    trycmd::TestCases::new().case("tests/cli/*.trycmd");
}

#[test]
fn every_command_has_both_helps_with_examples_first() {
    assert!(commands().len() >= 17, "{:?}", commands());
    for path in commands() {
        for flag in ["-h", "--help"] {
            let args: Vec<&str> = path.iter().map(String::as_str).chain([flag]).collect();
            let answer = run(&args);
            assert_eq!(answer.status.code(), Some(0), "{args:?}");
            let expected = format!("Examples:\n  tallyhob {}", path.join(" "));
            let first = text(&answer.stdout);
            // a variable may stand before the first word of an example, and `config` shows its subcommand
            assert!(first.starts_with(&expected), "{args:?} printed\n{first}");
            assert!(answer.stderr.is_empty(), "{args:?}");
        }
    }
}

#[test]
fn exit_codes_are_as_listed() {
    assert_eq!(run(&["config", "show"]).status.code(), Some(0));
    assert_eq!(run(&["--nope"]).status.code(), Some(2));
    assert_eq!(run(&[]).status.code(), Some(2));
    assert_eq!(run(&["config", "show", "--config", "/nowhere.toml"]).status.code(), Some(3));
    let home = tempfile::tempdir().unwrap();
    let wrong = tallyhob(home.path(), &["config", "show"]).env("TALLYHOB_UNITS", "kelvin").output().unwrap();
    assert_eq!(wrong.status.code(), Some(2));
    assert_eq!(
        text(&wrong.stderr),
        "error: environment variable TALLYHOB_UNITS: expected celsius or fahrenheit, found \"kelvin\"\n"
    );
}

#[test]
fn messages_never_mix_with_data() {
    let failed = run(&["config", "show", "--config", "/nowhere.toml"]);
    assert!(failed.stdout.is_empty());
    assert_eq!(
        text(&failed.stderr),
        "error: expected a settings file that can be read at /nowhere.toml; --config names another\n  because: No such file or directory (os error 2)\n"
    );
}

#[test]
fn completions_are_scripts_the_shell_accepts() {
    let bash = run(&["completions", "bash"]);
    let checked = fed_to("bash", &["-n"], &bash.stdout);
    assert!(checked.status.success(), "{}", text(&checked.stderr));
    assert!(text(&bash.stdout).contains("--hwmon-root"));
    for shell in ["zsh", "fish"] {
        let script = run(&["completions", shell]);
        assert!(script.status.success() && text(&script.stdout).contains("hwmon-root"), "{shell}");
    }
}

#[test]
fn the_man_page_lists_every_option_variable_and_exit_code() {
    fn options(command: &clap::Command, found: &mut Vec<String>) {
        found.extend(command.get_arguments().filter_map(|arg| arg.get_long().map(|long| format!("--{long}"))));
        command.get_subcommands().for_each(|sub| options(sub, found));
    }
    let page = text(&run(&["man"]).stdout).replace("\\-", "-");
    let mut wanted = Vec::new();
    options(&<tallyhob::args::Cli as clap::CommandFactory>::command(), &mut wanted);
    wanted.extend(commands().iter().map(|path| format!("tallyhob {}", path.join(" "))));
    wanted.extend(tallyhob::config::NAMED.iter().map(|named| named.variable.to_owned()));
    wanted.extend(tallyhob::failure::EXIT_CODES.map(|(code, meaning)| format!("{code}\\fR\n{meaning}")));
    assert!(wanted.len() > 60, "{wanted:?}");
    for word in wanted {
        assert!(page.contains(&word), "{word} is not on the page\n{page}");
    }
    for section in ["NAME", "SYNOPSIS", "OPTIONS", "COMMANDS", "EXIT STATUS", "ENVIRONMENT", "FILES", "EXAMPLES"] {
        let heading = |line: &str| line.strip_prefix(".SH ").is_some_and(|rest| rest.trim_matches('"') == section);
        assert!(page.lines().any(heading), "{section} is no section of\n{page}");
    }
}

#[test]
fn config_show_names_the_origin_of_each_value_in_order_of_precedence() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join(".config/tallyhob");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("tallyhob.toml");
    fs::write(&file, "# this kitchen\nunits = \"fahrenheit\"\nlanguage = \"de\"\ndata_dir = \"/srv/file\"\n").unwrap();
    let shown = tallyhob(home.path(), &["config", "show", "--json", "--data-dir", "/srv/flag"])
        .env("TALLYHOB_LANGUAGE", "en-GB")
        .env("TALLYHOB_DATA_DIR", "/srv/environment")
        .output()
        .unwrap();
    assert!(shown.status.success(), "{}", text(&shown.stderr));
    let shown: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
    let setting =
        |name: &str| shown["settings"].as_array().unwrap().iter().find(|row| row["name"] == name).unwrap().clone();
    let seen = |name: &str| (setting(name)["value"].clone(), setting(name)["origin"].clone());
    assert_eq!(seen("quiet"), (false.into(), serde_json::json!({ "from": "default" })));
    assert_eq!(seen("units"), ("fahrenheit".into(), serde_json::json!({ "from": "file", "path": file, "line": 2 })));
    assert_eq!(
        seen("language"),
        ("en-GB".into(), serde_json::json!({ "from": "environment", "name": "TALLYHOB_LANGUAGE" }))
    );
    assert_eq!(seen("data_dir"), ("/srv/flag".into(), serde_json::json!({ "from": "flag", "name": "--data-dir" })));
    assert_eq!(shown["files"], serde_json::json!([file]));
}

#[test]
fn what_was_set_on_the_panel_lies_over_the_file_and_under_the_environment() {
    let home = tempfile::tempdir().unwrap();
    let (folder, data) = (home.path().join(".config/tallyhob"), home.path().join("data"));
    fs::create_dir_all(&folder).unwrap();
    fs::create_dir_all(&data).unwrap();
    fs::write(folder.join("tallyhob.toml"), "units = \"celsius\"\nlanguage = \"en\"\nlamps = \"off\"\n").unwrap();
    fs::write(data.join("panel.toml"), "v = 1\nunits = \"fahrenheit\"\nlanguage = \"de\"\nsound_level = 2\n").unwrap();
    let show = || {
        let shown = tallyhob(home.path(), &["config", "show", "--data-dir", "data"])
            .env("TALLYHOB_LANGUAGE", "en")
            .output()
            .unwrap();
        let lines = text(&shown.stdout).lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
        (lines.collect::<Vec<String>>(), text(&shown.stderr).to_owned())
    };
    let (lines, said) = show();
    for line in [
        "units fahrenheit set on the panel",
        "sound_level 2 set on the panel",
        "language en environment TALLYHOB_LANGUAGE",
    ] {
        assert!(lines.iter().any(|found| found == line), "{line} in {lines:#?}");
    }
    assert_eq!(said, "");
    fs::write(data.join("panel.toml"), "v = 1\nunits = \"fahr").unwrap();
    let (lines, said) = show();
    assert!(lines.iter().any(|found| found.starts_with("units celsius ")), "{lines:#?}");
    assert!(said.contains("panel.toml is damaged: "), "{said}");
}

#[test]
fn a_sheet_of_every_state_is_a_picture() {
    let home = tempfile::tempdir().unwrap();
    let args = ["sheet", "--panel", "mono", "--language", "de", "--units", "fahrenheit", "--to", "sheet.png"];
    let drawn = tallyhob(home.path(), &args).output().unwrap();
    assert!(drawn.status.success(), "{}", text(&drawn.stderr));
    let file = BufReader::new(fs::File::open(home.path().join("sheet.png")).unwrap());
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    assert!(info.width > 1000 && info.height > 500, "{} x {}", info.width, info.height);
    let tones: std::collections::BTreeSet<u8> = bytes.into_iter().collect();
    assert!(tones.len() > 4, "a sheet in one tone: {tones:?}");
}

#[test]
fn config_show_is_a_table_for_people() {
    let home = tempfile::tempdir().unwrap();
    let shown =
        tallyhob(home.path(), &["config", "show"]).env("TALLYHOB_PROBES", "core=28-0316a2795cff").output().unwrap();
    let lines: Vec<Vec<&str>> = text(&shown.stdout)
        .lines()
        .map(|line| line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
        .collect();
    assert_eq!(lines[0], ["setting", "value", "from"]);
    assert!(lines.contains(&vec!["probes", "core = 28-0316a2795cff", "environment TALLYHOB_PROBES"]), "{lines:?}");
    assert!(lines.contains(&vec!["kitchen", "none", "default"]), "{lines:?}");
}

#[test]
fn files_are_looked_for_where_xdg_says() {
    let home = tempfile::tempdir().unwrap();
    let shown = tallyhob(home.path(), &["config", "show", "--json"])
        .env("XDG_DATA_HOME", home.path().join("data"))
        .output()
        .unwrap();
    let shown: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
    let expected = home.path().join("data/tallyhob");
    assert_eq!(shown["settings"][0]["value"], expected.to_str().unwrap());
    assert!(!expected.exists(), "looking at settings makes no folder");
}

#[test]
fn a_settings_file_gets_all_its_complaints_with_places() {
    let home: TempDir = tempfile::tempdir().unwrap();
    fs::write(home.path().join("s.toml"), "unit = \"celsius\"\nquiet = \"no\"\n").unwrap();
    let told = tallyhob(home.path(), &["config", "show", "--config", "s.toml"]).output().unwrap();
    assert_eq!(told.status.code(), Some(2));
    assert_eq!(
        text(&told.stderr),
        "error: s.toml:1:1: expected a setting, found unknown key unit\n  1 | unit = \"celsius\"\n    | ^^^^\n  help: did you mean units?\n\
         s.toml:2:9: expected true or false, found a text\n  2 | quiet = \"no\"\n    |         ^^^^\n"
    );
}

#[test]
fn a_reader_that_goes_away_is_not_an_error_worth_a_word() {
    let home = tempfile::tempdir().unwrap();
    for args in
        [["completions", "bash"].as_slice(), &["man"], &["config", "show"], &["config", "show", "--json"], &["--help"]]
    {
        let mut child = tallyhob(home.path(), args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // one end of the pipe is closed before the program can have written it all
        drop(child.stdout.take());
        let mut told = String::new();
        child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
        let code = child.wait().unwrap().code();
        assert_eq!(told, "", "{args:?}");
        assert!(matches!(code, Some(0 | 141)), "{args:?} gave {code:?}");
    }
    // and one that reads a line of a long text first
    let mut child =
        tallyhob(home.path(), &["completions", "bash"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = String::new();
    BufReader::with_capacity(16, child.stdout.take().unwrap()).read_line(&mut first).unwrap();
    let rest = child.wait_with_output().unwrap();
    assert_eq!(text(&rest.stderr), "");
}

#[test]
fn colour_stays_out_of_pipes_unless_it_is_asked_for() {
    let escapes = |answer: &Output| answer.stdout.contains(&0x1b) || answer.stderr.contains(&0x1b);
    assert!(!escapes(&run(&["config", "show"])));
    assert!(!escapes(&run(&["chek"])));
    assert!(escapes(&run(&["config", "show", "--color", "always"])));
    assert!(escapes(&run(&["--color", "always", "chek"])));
    let home = tempfile::tempdir().unwrap();
    let forced =
        tallyhob(home.path(), &["config", "show", "--color", "never"]).env("CLICOLOR_FORCE", "1").output().unwrap();
    assert!(!escapes(&forced));
}

#[test]
fn quiet_leaves_out_warnings() {
    let home = tempfile::tempdir().unwrap();
    let told = |args: &[&str]| {
        let answer = tallyhob(home.path(), args).env("TALLYHOB_UNIT", "celsius").output().unwrap();
        text(&answer.stderr).to_owned()
    };
    assert_eq!(
        told(&["config", "show"]),
        "warning: environment variable TALLYHOB_UNIT means nothing here; did you mean TALLYHOB_UNITS?\n"
    );
    assert_eq!(told(&["config", "show", "--quiet"]), "");
}
