//! The program under test.

use std::{
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
};

use crate::repository;

/// Builds the program once a test process, in the target folder and profile of the test itself, and says where it is.
///
/// Cargo finds out by itself whether it is fresh; a build that fails fails the test with what the compiler said.
pub fn tallyhob() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(build)
}

fn build() -> PathBuf {
    // <target>/<profile>/deps/<this test>
    let test = std::env::current_exe().unwrap();
    let profile_folder = test.parent().and_then(Path::parent).expect("a test lies two folders deep");
    let target = profile_folder.parent().expect("a profile has a target folder");
    let profile = match profile_folder.file_name().and_then(|name| name.to_str()) {
        Some("debug") | None => "dev",
        Some(name) => name,
    };
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = Command::new(cargo)
        .current_dir(repository())
        .args(["build", "--quiet", "--package", "tallyhob", "--bin", "tallyhob", "--profile", profile])
        .arg("--target-dir")
        .arg(target)
        .output()
        .unwrap();
    assert!(built.status.success(), "tallyhob does not build:\n{}", String::from_utf8_lossy(&built.stderr));
    profile_folder.join("tallyhob")
}
