use std::{
    fs, io,
    path::{Path, PathBuf},
};

use hardware::{ProbeId, curve::Curve, fake_w1::FakeW1};
use quantities::{RunTime, Span};

use crate::{
    args::{Play, Speed},
    clock::{Clock, SystemClock},
    commands::Session,
    failure::{Failure, Outcome},
    output::Out,
    wake::Wake,
};

/// Folders in which a made-up sensor would be taken for a real one, or do harm.
const SYSTEM: [&str; 8] = ["/", "/sys", "/proc", "/dev", "/etc", "/usr", "/bin", "/boot"];

pub(super) fn run(args: &Play, _session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let resolved = resolved(&args.w1_root).map_err(Failure::failed)?;
    if SYSTEM.iter().any(|folder| resolved == Path::new(folder) || (*folder != "/" && resolved.starts_with(folder))) {
        return Err(Failure::usage(format!(
            "expected a folder to play into, found {} of the system",
            resolved.display()
        )));
    }
    let probe = ProbeId::new(&args.probe).map_err(Failure::usage)?;
    let (_, text) = super::check::read(&args.curve)?;
    let curve =
        Curve::parse(&text).map_err(|why| Failure::Failed(format!("{}: {why}", args.curve.display()).into()))?;
    let tree = FakeW1::new(&resolved);
    let end = curve.end();
    out.note(format_args!("playing {} s into {}", end.since_start().whole_secs(), resolved.display()));
    match args.speed {
        // without waiting only the end can be seen
        Speed::Max => tree.show_curve(&probe, &curve, end).map_err(Failure::failed)?,
        Speed::Times(times) => {
            let runtime =
                tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(Failure::failed)?;
            runtime.block_on(play(&tree, &probe, &curve, u64::from(times.get())))?;
        }
    }
    Ok(Outcome::Done)
}

/// The folder meant, with no link and no `..` in it, also where its last parts are not there yet.
fn resolved(path: &Path) -> io::Result<PathBuf> {
    let path = std::path::absolute(path)?;
    let mut missing = Vec::new();
    let mut there = path.as_path();
    loop {
        match (fs::canonicalize(there), there.file_name(), there.parent()) {
            (Ok(found), _, _) => return Ok(missing.iter().rev().fold(found, |path, part| path.join(part))),
            (Err(why), Some(part), Some(above)) if why.kind() == io::ErrorKind::NotFound => {
                missing.push(part);
                there = above;
            }
            // `..` below a folder that is not there, or a folder that may not be looked into
            (Err(why), _, _) => return Err(why),
        }
    }
}

async fn play(tree: &FakeW1, probe: &ProbeId, curve: &Curve, times: u64) -> Result<(), Failure> {
    let clock = SystemClock::new();
    let mut wake = Wake::new().map_err(Failure::failed)?;
    let began = clock.boot_ms();
    // each second of the curve, but never more often than a sensor converts
    let every = Span::from_secs(1).millis().max(20 * times);
    let mut at = 0;
    while at <= curve.end().millis() {
        wake.until(began + at / times).await.map_err(Failure::failed)?;
        tree.show_curve(probe, curve, RunTime::from_millis(at)).map_err(Failure::failed)?;
        at += every;
    }
    Ok(())
}
