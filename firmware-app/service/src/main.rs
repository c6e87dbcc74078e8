//! The `tallyhob` command.

fn main() -> std::process::ExitCode {
    tallyhob::run(std::env::args_os())
}
