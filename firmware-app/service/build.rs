//! Hands the git revision to `--version`; without git, or outside a clone, it is "unknown".

use std::{path::Path, process::Command};

fn main() {
    let revision = std::env::var("TALLYHOB_BUILD_REVISION").ok().filter(|text| !text.is_empty()).or_else(described);
    let lines = [
        format!("cargo::rustc-env=TALLYHOB_REVISION={}", revision.as_deref().unwrap_or("unknown")),
        "cargo::rerun-if-env-changed=TALLYHOB_BUILD_REVISION".to_owned(),
        "cargo::rerun-if-changed=build.rs".to_owned(),
    ];
    let mut out = std::io::stdout();
    // the log of the head changes with each commit; a path that is not there would rebuild every time
    let head = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.git/logs/HEAD");
    let watched = head.exists().then(|| format!("cargo::rerun-if-changed={}", head.display()));
    for line in lines.iter().chain(&watched) {
        // cargo reads these lines; if it went away there is nobody left to build for
        let _ = std::io::Write::write_all(&mut out, format!("{line}\n").as_bytes());
    }
}

fn described() -> Option<String> {
    let answer = Command::new("git")
        .args(["--no-optional-locks", "describe", "--always", "--tags"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .ok()?;
    let text = String::from_utf8(answer.stdout).ok()?.trim().to_owned();
    (answer.status.success() && !text.is_empty()).then_some(text)
}
