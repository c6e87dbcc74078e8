//! What a picture costs: drawing it whole, finding what changed since the last one, and the bytes for the panel.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use screens::{
    Desk, Frame, PanelFrame, Phase, Refresher, Screen, Units,
    gallery::{self, views::*},
};
use words::Language;

fn named(name: &str) -> Screen {
    let states = gallery::all(Language::English, Units::Celsius);
    states.into_iter().find(|state| state.name == name).expect("a state of the gallery").screen
}

fn drawn(screen: &Screen) -> Frame {
    let mut frame = Frame::default();
    frame.render(screen, Phase::STILL);
    frame
}

/// The board of four running lanes, so many seconds later.
fn board(second: u64) -> Screen {
    let mut view = four_lanes();
    view.now = after(second);
    Desk::new().screen(&view, &station())
}

fn drawing(c: &mut Criterion) {
    let mut group = c.benchmark_group("draw");
    for (what, name) in [
        ("board", "s03-board"),
        ("two-alerts", "s09-overdue-and-due"),
        ("lane", "s04-lane-time"),
        ("list", "s01-choose"),
    ] {
        let screen = named(name);
        let mut frame = Frame::default();
        group.bench_function(what, |b| b.iter(|| black_box(&mut frame).render(black_box(&screen), Phase::STILL)));
    }
    group.finish();
}

fn changes(c: &mut Criterion) {
    let mut group = c.benchmark_group("changes");
    let (shown, next) = (drawn(&board(0)), drawn(&board(1)));
    group.bench_function("compare-equal", |b| b.iter(|| black_box(&shown).changes_from(black_box(&shown)).len()));
    group.bench_function("compare-tick", |b| b.iter(|| black_box(&next).changes_from(black_box(&shown)).len()));
    let parts = next.changes_from(&shown);
    group.bench_function("bytes-tick", |b| {
        b.iter(|| parts.iter().map(|part| black_box(&next).to_panel_bytes(part).len()).sum::<usize>())
    });
    group.bench_function("bytes-whole", |b| b.iter(|| black_box(&next).to_panel_bytes(&Frame::whole()).len()));
    group.finish();
}

/// A whole tick as the panel sees it: view to screen, drawn, compared, sent into a frame in memory.
fn tick(c: &mut Criterion) {
    let mut refresher = Refresher::<Frame>::new();
    let mut panel = Frame::default();
    let mut second = 0;
    c.bench_function("tick", |b| {
        b.iter(|| {
            second = (second + 1) % 240;
            let Ok(sent) = refresher.show(&board(second), Phase::STILL, black_box(&mut panel));
            sent.bytes
        })
    });
}

criterion_group!(benches, drawing, changes, tick);
criterion_main!(benches);
