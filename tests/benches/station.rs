//! What the station costs: from its start to the first picture, idle, and in a cook with four lanes and four probes.
//!
//! `cargo bench -p station-tests --bench station` builds the release program and prints one line a figure.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use hardware::{ProbeId, fake_w1::FakeW1};
use quantities::Celsius;

/// How long processor time is counted.
const WATCHED: Duration = Duration::from_secs(20);

fn main() {
    // under `cargo test --benches` nothing is measured
    if std::env::args().any(|arg| arg == "--test") {
        return;
    }
    let program = build();
    let recipes = Path::new(env!("CARGO_MANIFEST_DIR")).join("../recipes/library");
    let size = fs::metadata(&program).unwrap().len() as f64 / 1e6;
    println!("program, release, not stripped: {size:.1} MB");

    let mut starts: Vec<f64> = (0..20).map(|_| first_picture(&program, &recipes)).collect();
    starts.sort_by(f64::total_cmp);
    println!(
        "start to first picture of 11 recipes, 20 starts: median {:.0} ms, longest {:.0} ms",
        starts[10], starts[19]
    );

    let folder = tempfile::tempdir().unwrap();
    let mut idle = serve(&program, &recipes, folder.path(), &[]);
    thread::sleep(Duration::from_secs(2));
    let (busy, wakes) = watch(&idle.0);
    println!(
        "idle service: {:.2} % of a core, {wakes:.1} wake-ups a second, {:.1} MiB resident",
        busy,
        resident(&idle.0)
    );
    end(&mut idle.0);

    let folder = tempfile::tempdir().unwrap();
    let w1 = folder.path().join("w1");
    for n in 1..=4 {
        FakeW1::new(&w1)
            .show_reading(&ProbeId::new(&format!("28-00000000000{n}")).unwrap(), &Ok(Celsius::whole(40)))
            .unwrap();
    }
    let four = folder.path().join("four.toml");
    fs::write(&four, four_lanes()).unwrap();
    let config = folder.path().join("tallyhob.toml");
    let probes: Vec<String> = (1..=4).map(|n| format!("core{n} = \"28-00000000000{n}\"")).collect();
    fs::write(&config, format!("[probes]\n{}\n", probes.join("\n"))).unwrap();
    let mut cook = Command::new(&program)
        .args(["cook", four.to_str().unwrap(), "--real", "--plain", "--keys", "-", "--w1-root", w1.to_str().unwrap()])
        .args(["--config", config.to_str().unwrap(), "--data-dir", folder.path().join("data").to_str().unwrap()])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    thread::sleep(Duration::from_secs(1));
    let mut keys = cook.stdin.take().unwrap();
    for lane in 1..=4 {
        writeln!(keys, "{lane}").unwrap();
        thread::sleep(Duration::from_millis(700));
    }
    thread::sleep(Duration::from_secs(2));
    let (busy, wakes) = watch(&cook);
    println!(
        "four lanes, four probes: {busy:.2} % of a core, {wakes:.1} wake-ups a second, {:.1} MiB resident",
        resident(&cook)
    );
    end(&mut cook);
}

fn build() -> PathBuf {
    let built = Command::new(env!("CARGO"))
        .args(["build", "--release", "-p", "tallyhob", "--bin", "tallyhob"])
        .status()
        .unwrap();
    assert!(built.success());
    let target = std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../target"), PathBuf::from);
    target.join("release/tallyhob")
}

fn serve(program: &Path, recipes: &Path, folder: &Path, more: &[&str]) -> (Child, Instant) {
    let w1 = folder.join("w1");
    fs::create_dir_all(&w1).unwrap();
    let began = Instant::now();
    let child = Command::new(program)
        .args([
            "serve",
            "--real",
            "--keys",
            "-",
            "--w1-root",
            w1.to_str().unwrap(),
            "--hwmon-root",
            w1.to_str().unwrap(),
        ])
        .args(["--data-dir", folder.join("data").to_str().unwrap()])
        .args(more)
        .env("TALLYHOB_RECIPE_DIRS", recipes)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    (child, began)
}

fn first_picture(program: &Path, recipes: &Path) -> f64 {
    let folder = tempfile::tempdir().unwrap();
    let frames = folder.path().join("frames");
    let (mut child, began) = serve(program, recipes, folder.path(), &["--frames", frames.to_str().unwrap()]);
    let taken = loop {
        let there = fs::read_dir(&frames)
            .is_ok_and(|mut entries| entries.any(|entry| entry.is_ok_and(|e| e.metadata().is_ok_and(|m| m.len() > 0))));
        if there {
            break began.elapsed();
        }
        assert!(began.elapsed() < Duration::from_secs(10), "no picture within 10 s");
        thread::sleep(Duration::from_micros(500));
    };
    end(&mut child);
    taken.as_secs_f64() * 1000.0
}

/// Per cent of a core and voluntary wake-ups a second, all threads counted.
fn watch(child: &Child) -> (f64, f64) {
    let (before, woke) = (ticks(child), switches(child));
    let began = Instant::now();
    thread::sleep(WATCHED);
    let took = began.elapsed().as_secs_f64();
    // a tick of the processor account is 10 ms on Linux
    ((ticks(child) - before) as f64 / took, (switches(child) - woke) as f64 / took)
}

fn ticks(child: &Child) -> u64 {
    let stat = fs::read_to_string(format!("/proc/{}/stat", child.id())).unwrap();
    let after_name = stat.rsplit(')').next().unwrap();
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
}

fn switches(child: &Child) -> u64 {
    let tasks = fs::read_dir(format!("/proc/{}/task", child.id())).unwrap();
    let status = tasks.filter_map(|task| fs::read_to_string(task.ok()?.path().join("status")).ok());
    status.filter_map(|text| field(&text, "voluntary_ctxt_switches:")).sum()
}

fn resident(child: &Child) -> f64 {
    let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
    field(&status, "VmRSS:").unwrap() as f64 / 1024.0
}

fn field(status: &str, name: &str) -> Option<u64> {
    status.lines().find(|line| line.starts_with(name))?.split_whitespace().nth(1)?.parse().ok()
}

fn end(child: &mut Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}

fn four_lanes() -> String {
    let mut text = String::from(
        "schema = 1\nid = \"four\"\ntitle = \"Four lanes\"\nyield = \"4 portions\"\n[kitchen]\novens = 2\nburners = 2\nprobes = 4\n\
         [[ingredient]]\nid = \"dough\"\nname = \"Dough\"\namount = \"500 g\"\ntolerance = \"5 %\"\n",
    );
    for (n, appliance) in (1..).zip(["oven", "oven 2", "burner", "burner 2"]) {
        text += &format!(
            "[[stage]]\nid = \"s{n}\"\nname = \"loaf {n}\"\nappliance = \"{appliance}\"\n[[stage.step]]\nid = \"bake\"\nname = \"bake\"\n\
             do = \"Bake it.\"\nuses = [\"dough\"]\nuntil = {{ core = \"95 °C\", probe = \"core{n}\", hold = \"30 s\", expect = \"50-60 min\", \
             else = {{ time = \"50-70 min\", cue = \"Hollow knock?\" }} }}\n"
        );
    }
    text
}
