use alloc::{format, string::String, vec::Vec};

use run_engine::view::RunView;
use words::Text;

use super::{lanes, plan};
use crate::{
    MovedView, OutcomeItem, OutcomeKind, OutcomeView, Screen, StationView,
    desk::Noting,
    number,
    screen::{Button, Entry, Header, Moved, MovedWay, Outcome},
};

/// The plan has moved; `keep` is chosen instead of taking the new one.
pub(crate) fn moved(run: &RunView, station: &StationView, moved: &MovedView, keep: bool) -> Screen {
    let w = station.settings.language;
    let shift = number::shift(moved.was, moved.now, station.clock);
    let shift = shift.as_str();
    let title = match (moved.way, &moved.landing) {
        (MovedWay::Late, None) => w.plan_late(shift),
        (MovedWay::Early, None) => w.plan_early(shift),
        (MovedWay::Late, Some(_)) => w.plan_lands_late(shift),
        (MovedWay::Early, Some(_)) => w.plan_lands_early(shift),
        (MovedWay::CannotFit, _) => w.plan_cannot_fit(),
    };
    let right = match &moved.landing {
        Some(_) => plan::lands(station, moved.now, run.now),
        None => super::all_done(run, station),
    };
    let header = match &moved.landing {
        Some(name) => String::from(name.as_str()).into(),
        None => w.plan_moved(),
    };
    let time = |moment| station.clock.map_or_else(Text::none, |clock| clock.at(moment).into());
    let start = |was, now| match station.clock {
        Some(clock) => w.plan_from_to(clock.at(was), clock.at(now)),
        None => number::band_left(now.since(run.now)).into(),
    };
    let rows = moved.starts.iter().map(|(what, was, now)| [what.clone().into(), start(*was, *now)]).collect();
    let take = Button::strong(if keep { w.knob_keep_plan() } else { w.knob_take_plan() });
    let other = match (moved.can_keep, keep) {
        (false, _) => Text::none(),
        (true, false) => w.turn_keep_old(),
        (true, true) => w.turn_choose(),
    };
    Screen::Moved(Moved {
        header: Header { left: header, right },
        way: moved.way,
        title,
        times: [time(moved.was), time(moved.now)],
        reason: moved
            .cannot
            .as_ref()
            .map_or([Text::none(), Text::none()], |cannot| plan::reason(station, cannot, run.now)),
        rows,
        buttons: [Button { turns: moved.can_keep, ..take }, Button::plain(other)],
        strip: lanes::cells(run, station),
    })
}

/// One thing to note after a trial.
pub(crate) fn outcome(station: &StationView, sheet: &OutcomeView, item: usize, noting: &Noting) -> Screen {
    let w = station.settings.language;
    let Some(asked) = sheet.items.get(item) else { return empty(station) };
    let (entry, entered) = entry(asked, noting);
    let hint = match (&asked.kind, entered) {
        (OutcomeKind::Weight, true) => w.digit_by_digit(),
        (OutcomeKind::Weight | OutcomeKind::Scale(..) | OutcomeKind::Words(..), false) => w.turn_to_note(),
        (OutcomeKind::Scale(..) | OutcomeKind::Words(..), true) => w.later_is_fine(),
    };
    let question = match asked.kind {
        OutcomeKind::Weight => w.weigh_what(&asked.what),
        OutcomeKind::Scale(..) | OutcomeKind::Words(..) => w.score_what(&asked.what),
    };
    let knob = if entered { w.knob_next() } else { w.knob_skip() };
    Screen::Outcome(Outcome {
        header: Header { left: w.outcome_title(), right: w.note_of(item + 1, sheet.items.len()) },
        question,
        entry,
        hint,
        buttons: [Button { strong: entered, ..Button::plain(knob) }, Button::plain(w.hold_undo())],
    })
}

fn empty(station: &StationView) -> Screen {
    super::choose(station, 0)
}

/// What stands on the page, and whether anything is entered.
fn entry(asked: &OutcomeItem, noting: &Noting) -> (Entry, bool) {
    let chosen = noting.step();
    let own = |words: &[String]| -> Vec<Text> { words.iter().map(|word| word.clone().into()).collect() };
    match &asked.kind {
        OutcomeKind::Weight => {
            let figures = noting.figures();
            let (whole, tenth) = figures.split_at(figures.len() - 1);
            let text = format!("{whole}.{tenth}");
            // the point stands before the last figure
            let turning = noting.turning().map(|figure| if figure == figures.len() - 1 { figure + 1 } else { figure });
            (Entry::Number { figures: text, turning, unit: "g".into() }, turning.is_some())
        }
        OutcomeKind::Scale(first, last) => {
            let steps = last.saturating_sub(*first).saturating_add(1);
            (Entry::Scale { steps, first: *first, chosen, words: Vec::new() }, chosen.is_some())
        }
        // five words or fewer are a scale with a name for each step
        OutcomeKind::Words(first, words) if (3..=5).contains(&words.len()) => {
            (Entry::Scale { steps: words.len() as u8, first: *first, chosen, words: own(words) }, chosen.is_some())
        }
        OutcomeKind::Words(_, words) => {
            (Entry::Pick { words: own(words), chosen: chosen.map(usize::from) }, chosen.is_some())
        }
    }
}
