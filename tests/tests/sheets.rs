//! The sheets of pictures that the README shows are what the program draws.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{fs, process::Command};

use station_tests::{binary::tallyhob, repository};

#[test]
fn the_sheets_in_the_docs_are_what_the_program_draws() {
    let folder = tempfile::tempdir().unwrap();
    for panel in ["colour", "mono"] {
        for language in ["en", "de"] {
            let name = format!("{panel}-{language}.png");
            let drawn = folder.path().join(&name);
            let command = ["sheet", "--panel", panel, "--language", language, "--to"];
            let status = Command::new(tallyhob()).args(command).arg(&drawn).status().unwrap();
            assert!(status.success(), "{name}");
            let kept = format!("firmware-app/screens/docs/{name}");
            let same = fs::read(repository().join(&kept)).is_ok_and(|bytes| bytes == fs::read(&drawn).unwrap());
            assert!(same, "{kept} is old: look at the new one and keep it: tallyhob {} {kept}", command.join(" "));
        }
    }
}
