//! What no press may do, and what an undo must do: checks 8 and 9 of the panel.
#![allow(clippy::unwrap_used, clippy::print_stderr)]

mod kitchen;

use kitchen::*;
use quantities::RunTime;
use run_engine::Act;
use screens::{
    DeskKey::{self, Knob, KnobHold, Lane, Pedal, Turn},
    Screen, Units, Wish, gallery,
};
use words::Language;

/// What a cook would call a loss.
fn loses(acts: &[Act], wish: Option<&Wish>) -> bool {
    let lost = |act: &Act| matches!(act, Act::Skip(_) | Act::StopStage(..) | Act::GiveUp(_) | Act::Pull(..));
    acts.iter().any(lost) || matches!(wish, Some(Wish::ForgetCheck(_)))
}

#[test]
fn no_single_press_on_any_screen_loses_anything() {
    let keys = [Lane(1), Lane(2), Lane(3), Lane(4), Knob, KnobHold, Pedal];
    let mut tried = 0;
    let mut lost = Vec::new();
    for scene in gallery::scenes(Language::English, Units::Celsius) {
        for key in keys {
            let mut desk = scene.desk.clone();
            let pressed = desk.key(key, &scene.view, &scene.station, scene.view.now);
            tried += 1;
            if loses(&pressed.acts, pressed.wish.as_ref()) {
                lost.push((scene.name, key));
            }
        }
    }
    eprintln!("{tried} single presses tried");
    // the page that asks, with the knob turned all the way to the word: there the push is meant
    assert_eq!(lost, [("s04-keep-reached", Knob)]);
}

#[test]
fn no_key_is_silent_on_any_screen() {
    let keys = [Lane(1), Lane(2), Lane(3), Lane(4), Knob, KnobHold, Pedal, Turn(1), Turn(-1)];
    for scene in gallery::scenes(Language::English, Units::Celsius) {
        for key in keys {
            let mut desk = scene.desk.clone();
            // a sound for each, by its type; what is taken also does or shows something
            let pressed = desk.key(key, &scene.view, &scene.station, scene.view.now);
            let refused = pressed.sound == screens::KeySound::NotPossible;
            assert!(!refused || pressed.acts.is_empty(), "{} {key:?}", scene.name);
        }
    }
}

/// The panel at a moment, without what tells of the undo itself.
fn shown(kitchen: &Kitchen) -> (Screen, run_engine::view::RunView) {
    let mut view = kitchen.engine.view(RunTime::from_millis(kitchen.now));
    view.undo = None;
    (kitchen.desk.screen(&view, &kitchen.station), view)
}

#[test]
fn an_act_and_its_undo_give_the_panel_as_it_was() {
    let mut undone = std::collections::BTreeMap::new();
    for seed in 1..=40 {
        let mut kitchen = Kitchen::new(seed);
        kitchen.wait(2);
        for _ in 0..220 {
            let secs = kitchen.draw(40) + 2;
            kitchen.wait(secs);
            let keys: Vec<DeskKey> = match kitchen.draw(8) {
                lane @ 0..=3 => vec![Lane(lane as u8 + 1)],
                4 => vec![Knob],
                5 => vec![Lane(kitchen.draw(4) as u8 + 1), Turn(kitchen.draw(9) as i8 - 4), Knob],
                6 => vec![Lane(kitchen.draw(4) as u8 + 1), Turn(-100), Turn(1), Knob, Turn(3), Knob],
                _ => vec![Lane(kitchen.draw(4) as u8 + 1), Lane(kitchen.draw(4) as u8 + 1)],
            };
            // from the board, with nothing open
            kitchen.desk = screens::Desk::new();
            let mut before = shown(&kitchen);
            let mut acted = None;
            for key in keys {
                let (acts, refusals) = kitchen.press(key);
                match acts.first() {
                    Some(act) if refusals.is_empty() && *act != Act::Undo => acted = Some(format!("{act:?}")),
                    Some(_) => break,
                    None => before = (before.0, shown(&kitchen).1),
                }
                if acted.is_some() {
                    break;
                }
            }
            let Some(act) = acted else { continue };
            let kind = act.split('(').next().unwrap_or_default().to_owned();
            // the whole trial was closed by it: its undo is the saved screen's own
            if !kitchen.engine.view(RunTime::from_millis(kitchen.now)).trials.iter().any(|trial| trial.closed.is_none())
            {
                break;
            }
            kitchen.desk = screens::Desk::new();
            let (acts, refusals) = kitchen.press(KnobHold);
            assert_eq!((acts, refusals), (vec![Act::Undo], vec![]), "seed {seed}: {act}");
            let after = shown(&kitchen);
            assert_eq!(after.1, before.1, "seed {seed} at {} s: {act}", kitchen.now / 1000);
            assert_eq!(after.0, before.0, "seed {seed} at {} s: {act}", kitchen.now / 1000);
            *undone.entry(kind).or_insert(0) += 1;
            // half of the time the act stays, so that the cook goes on
            if kitchen.draw(2) == 0 {
                kitchen.desk = screens::Desk::new();
                for lane in 1..=4 {
                    kitchen.wait(2);
                    kitchen.press(Lane(lane));
                }
            }
        }
    }
    eprintln!("undone: {undone:?}");
    for kind in ["Start", "Acknowledge", "Done", "Look", "Later", "ChangeTime", "Hold", "Skip"] {
        assert!(undone.contains_key(kind), "never undone: {kind} in {undone:?}");
    }
}
