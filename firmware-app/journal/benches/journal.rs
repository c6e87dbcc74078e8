//! How long the record takes: an append made durable, and reading a long trial back.
//!
//! `TALLYHOB_BENCH_DIR` names a folder on the disk to be measured; without it a folder for temporary files is used, and
//! a memory file system there makes the figures of a sync meaningless.

use std::{
    hint::black_box,
    io::{self, Write},
    path::{Path, PathBuf},
    sync::Arc,
    time::{Duration, Instant},
};

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use journal::{
    Disk, Kind, MemDisk, RealDisk, Writer, frame, read_trial,
    readings::{Block, Sample},
};
use quantities::{Celsius, RunTime, Span};
use recipe_model::{ProbeName, StepId};
use trial::{Entry, Fact, Stamp, Stamped, TrialId, Verdict};

fn trial() -> TrialId {
    TrialId::new("20261125-1412-loin-a").expect("letters, digits and hyphens")
}

fn fact(seq: u64) -> Stamped {
    let fact = Fact::Looked {
        step: StepId::new("loin.roast"),
        verdict: Verdict::NotYet,
        core_celsius: Celsius::from_degrees(55.0625),
        estimate: None,
    };
    Stamped {
        stamp: Stamp { boot: "5f0e8a52".into(), boot_ms: seq * 700, wall_ms: 1_795_615_200_000, synced: true },
        entry: Entry { seq, at: RunTime::from_millis(seq * 700), action: None, fact },
    }
}

fn folder() -> (Option<tempfile::TempDir>, PathBuf) {
    match std::env::var_os("TALLYHOB_BENCH_DIR") {
        Some(named) => (tempfile::tempdir_in(&named).ok(), named.into()),
        None => (tempfile::tempdir().ok(), std::env::temp_dir()),
    }
}

/// One fact a commit, on the real disk, with the time of each.
fn durable_appends(_: &mut Criterion) {
    let (kept, named) = folder();
    let path = kept.as_ref().map_or(named.as_path(), tempfile::TempDir::path);
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let mut writer = Writer::create(disk, path, &trial(), 1).expect("the folder is new");
    let count = 2000;
    let mut times: Vec<Duration> = (0..count)
        .map(|seq| {
            let fact = fact(seq);
            let began = Instant::now();
            writer.append_fact(&fact).expect("a fact is short");
            writer.commit().expect("the disk works");
            began.elapsed()
        })
        .collect();
    times.sort();
    let at = |share: usize| times[times.len() * share / 1000].as_secs_f64() * 1000.0;
    let longest = times.last().map_or(0.0, |last| last.as_secs_f64() * 1000.0);
    let length = std::fs::metadata(path.join(format!("{}.tjl", trial()))).map_or(0, |found| found.len());
    let _ = writeln!(
        io::stdout(),
        "append and sync, {count} facts on the real disk: p50 {:.3} ms, p99 {:.3} ms, p99.9 {:.3} ms, longest {:.3} ms; \
         {} bytes a fact in the file",
        at(500),
        at(990),
        at(999),
        longest,
        length / count,
    );
}

/// A trial of 100,000 facts, far longer than any cook, one fact a commit.
fn recovery(bench: &mut Criterion) {
    let disk = MemDisk::default();
    let path = Path::new("trials");
    let mut bytes = Vec::new();
    let header = frame::Header { trial: trial(), segment: 1, seed: 1, first: 0, follows: None };
    let mut chain = frame::encode_header(&header, &mut bytes);
    for seq in 0..100_000 {
        let line = trial::line::write(&fact(seq));
        let ends = frame::Ends::OnSector;
        chain =
            frame::encode_frame(chain, seq, Kind::Facts, line.as_bytes(), ends, &mut bytes).expect("a fact is short");
    }
    journal::write_whole(&disk, &path.join(format!("{}.tjl", trial())), &bytes).expect("memory works");

    let mut group = bench.benchmark_group("100,000 facts");
    group.sample_size(10);
    group.bench_function("decode frames", |b| b.iter(|| black_box(frame::decode(&bytes).frames.len())));
    group.bench_function("read trial", |b| {
        b.iter(|| black_box(read_trial(&disk, path, &trial()).map(|file| file.frames.len())));
    });
    group.bench_function("read trial and its facts", |b| {
        b.iter(|| {
            let file = read_trial(&disk, path, &trial()).expect("it was written");
            assert_eq!(file.facts().map(|facts| facts.len()).ok(), Some(100_000));
        });
    });
    bytes[(512 * 50_000) + 20] ^= 1;
    group.bench_function("decode frames, one bit spoilt half way", |b| {
        b.iter(|| black_box(frame::decode(&bytes).salvaged.len()));
    });
    group.finish();
}

fn readings(bench: &mut Criterion) {
    let sample = |second: u64| Sample {
        at: RunTime::from_millis(second * 1000),
        reading: Ok(Celsius::from_degrees(6.0 + (second / 9) as f64 / 16.0).unwrap_or(Celsius::HIGHEST)),
    };
    let samples: Vec<Sample> = (0..300).map(sample).collect();
    let block = || Block::new(ProbeName::new("core"), Span::from_secs(1), samples.clone());
    let encoded = block().map(|block| block.encode()).unwrap_or_default();
    bench.bench_function("encode 300 samples", |b| {
        b.iter_batched(block, |block| block.map(|block| block.encode().len()), BatchSize::SmallInput);
    });
    bench.bench_function("decode 300 samples", |b| b.iter(|| black_box(Block::decode(&encoded))));
}

criterion_group!(all, durable_appends, recovery, readings);
criterion_main!(all);
