use alloc::{string::String, vec::Vec};

use quantities::RunTime;
use run_engine::{
    TrialNo,
    view::{EndedView, RunView, StageView},
};
use trial::Dark;
use words::{Language, Text};

use super::{at_time, front, lanes, plan};
use crate::{
    CheckState, CheckView, Kept, ReadyAtView, Screen, SelfTestView, StationView,
    asked::{stage_at, unanswered},
    desk::{CheckRow, KEEP_CLICKS, Loss, MenuRow},
    number,
    screen::{Button, Header, Keep, List, ListRow, Resume, RowSign, Saved, Starting},
};

/// The self test.
pub(crate) fn starting(test: &SelfTestView, station: &StationView) -> Screen {
    let w = station.settings.language;
    let lines = test.lines.iter().map(|line| ListRow {
        // what does not answer here can be anything, not only a probe
        sign: if line.state == CheckState::NoSignal { RowSign::Refused } else { row_sign(line.state) },
        text: line.what.clone(),
        aside: line.found.clone(),
    });
    let go_on = if test.over { Button::strong(w.knob_go_on()) } else { Button::plain(w.knob_go_on()) };
    Screen::Starting(Starting {
        lines: lines.collect(),
        version: test.version.clone(),
        buttons: [go_on, Button::plain(w.any_key_test())],
    })
}

fn row_sign(state: CheckState) -> RowSign {
    match state {
        CheckState::Ticked => RowSign::Tick,
        CheckState::Open => RowSign::Open,
        CheckState::NoSignal => RowSign::Lost,
    }
}

/// The list of recipes.
pub(crate) fn choose(station: &StationView, chosen: usize) -> Screen {
    let w = station.settings.language;
    let mut rows: Vec<ListRow> = station
        .recipes
        .iter()
        .map(|line| ListRow {
            sign: if line.refused.is_some() { RowSign::Refused } else { RowSign::None },
            text: line.title.clone().into(),
            aside: match (&line.refused, line.trials) {
                (Some(why), _) => why.clone(),
                (None, 0) => w.trial_new(),
                (None, trials) => w.trial_count(u64::from(trials)),
            },
        })
        .collect();
    let empty = if rows.is_empty() { w.no_recipes() } else { Text::none() };
    rows.push(ListRow { sign: RowSign::None, text: w.settings(), aside: Text::none() });
    // the list can have become shorter
    let chosen = chosen.min(rows.len() - 1);
    let right = if station.updating {
        w.updating()
    } else if chosen < station.recipes.len() {
        w.of_count(chosen + 1, station.recipes.len())
    } else {
        Text::none()
    };
    let refused = station.recipes.get(chosen).is_some_and(|line| line.refused.is_some());
    let open = if refused { Button::plain(Text::none()) } else { Button::strong(w.knob_open()) };
    Screen::List(List {
        header: Header { left: w.choose_recipe(), right },
        rows,
        chosen,
        changing: false,
        empty,
        buttons: [Button::plain(w.turn_choose()), open],
    })
}

/// The check before a trial; `stating` while turning states when its dishes are wanted.
pub(crate) fn check(station: &StationView, now: RunTime, chosen: CheckRow, stating: bool) -> Screen {
    let w = station.settings.language;
    let nothing = CheckView::default();
    let check = station.check.as_ref().unwrap_or(&nothing);
    let lines = check.lines.as_slice();
    let mut rows: Vec<ListRow> = lines
        .iter()
        .map(|line| ListRow { sign: row_sign(line.state), text: line.text.clone(), aside: line.found.clone() })
        .collect();
    let plain = |text| ListRow { sign: RowSign::None, text, aside: Text::none() };
    if station.check.is_some() {
        rows.push(ListRow { aside: plan::wanted(&check.ready_at, station, now), ..plain(ready_at(station)) });
        // its second line: no row of its own for the knob
        rows.extend(plan::says(&check.ready_at, station, now));
    }
    rows.push(plain(w.back_to_recipes()));
    let (chosen, knob) = match chosen {
        CheckRow::Line(line) => (line, w.knob_tick()),
        CheckRow::ReadyAt if stating => (lines.len(), w.knob_done()),
        CheckRow::ReadyAt => (lines.len(), w.knob_change()),
        CheckRow::Back => (rows.len() - 1, w.knob_back()),
    };
    let ticked = lines.iter().filter(|line| line.state == CheckState::Ticked).count();
    Screen::List(List {
        header: Header { left: w.check_title(&check.title), right: w.in_order(ticked, lines.len()) },
        rows,
        chosen,
        changing: stating,
        empty: Text::none(),
        buttons: [Button::plain(knob), Button::strong(w.button_start())],
    })
}

/// The menu of a run; `asked` is what is stated in the chosen row while turning states when dishes are wanted.
pub(crate) fn menu(
    run: &RunView,
    station: &StationView,
    rows: &[MenuRow],
    chosen: usize,
    asked: Option<&ReadyAtView>,
) -> Screen {
    let w = station.settings.language;
    let title = |no: &TrialNo| run.trials.iter().find(|trial| trial.no == *no).map_or("", |trial| trial.title.as_str());
    let several = rows.iter().filter(|row| matches!(row, MenuRow::ReadyAt(_))).count() > 1;
    let row = |(at, row): (usize, &MenuRow)| {
        let asked = asked.filter(|_| at == chosen);
        let (text, aside) = match row {
            MenuRow::Back => (w.back_to_board(), Text::none()),
            MenuRow::Plan => (w.plan_row(), Text::none()),
            MenuRow::ReadyAt(no) => {
                let text = if several { w.ready_at_of(title(no)) } else { ready_at(station) };
                (text, asked.map_or_else(|| w.as_it_comes(), |asked| plan::wanted(asked, station, run.now)))
            }
            MenuRow::AnotherRecipe => (w.another_recipe(), Text::none()),
            MenuRow::Quiet(turn_on) => (w.quiet_row(), if *turn_on { w.off() } else { w.on() }),
            MenuRow::Settings => (w.settings(), Text::none()),
            MenuRow::GiveUp(no) => (w.give_up_row(title(no)), Text::none()),
        };
        let says = asked.and_then(|asked| plan::says(asked, station, run.now));
        [Some(ListRow { sign: RowSign::None, text, aside }), says].into_iter().flatten()
    };
    Screen::List(List {
        header: Header { left: w.menu(), right: w.food_goes_on() },
        rows: rows.iter().enumerate().flat_map(row).collect(),
        chosen,
        changing: asked.is_some(),
        empty: Text::none(),
        buttons: match asked {
            Some(_) => plan::setting_buttons(w),
            None if matches!(rows.get(chosen), Some(MenuRow::ReadyAt(_))) => {
                [Button::plain(w.turn_choose()), Button::plain(w.knob_change())]
            }
            None => [Button::plain(w.turn_choose()), Button::strong(w.knob_open())],
        },
    })
}

/// Before the moment at which dishes are wanted: a time of day, or a length.
fn ready_at(station: &StationView) -> Text {
    let w = station.settings.language;
    if station.clock.is_some() { w.ready_at() } else { w.ready_in() }
}

/// Asks before something is lost.
pub(crate) fn keep(run: &RunView, station: &StationView, loss: Loss, clicks: u8) -> Screen {
    let w = station.settings.language;
    let words = |stage: Option<&StageView>| match stage {
        Some(stage) => {
            Text::from(alloc::format!("{} {}?", stage.food, stage.step_name)).or(alloc::format!("{}?", stage.step_name))
        }
        None => Text::none(),
    };
    let (first, second, word) = match loss {
        Loss::Skip(at) => (w.skip_this(), words(stage_at(run, at)), w.skip()),
        Loss::Stop(at) => (w.stop_this(), words(stage_at(run, at)), w.stop()),
        Loss::GiveUp(no) => {
            let title = run.trials.iter().find(|trial| trial.no == no).map_or("", |trial| trial.title.as_str());
            (w.give_up_this(), alloc::format!("{title}?").into(), w.give_up())
        }
        Loss::ForgetCheck(probe) => {
            let name = station.probes.get(probe).map_or("", |probe| probe.name.as_str());
            (w.forget_check(), w.set_probe(name), w.forget())
        }
    };
    let hint = if clicks >= KEEP_CLICKS { w.push_the_knob() } else { w.keep_hint() };
    Screen::Keep(Keep {
        header: Header { left: w.nothing_lost(), right: Text::none() },
        question: [first, second],
        keep: w.keep(),
        word,
        hint,
        clicks,
        strip: lanes::cells(run, station),
    })
}

/// After a power cut.
pub(crate) fn resume(run: &RunView, station: &StationView, chosen: usize) -> Screen {
    let w = station.settings.language;
    let open = unanswered(run);
    let (dark, first) = match run.resume.as_ref().map(|resume| resume.dark) {
        Some(Dark::Known(span)) => (number::length(span), w.off_clocks_went_on()),
        Some(Dark::AtLeast(span)) => (number::length(span), w.or_more_check_each()),
        None => (String::new(), Text::none()),
    };
    let knob = match chosen.checked_sub(1).and_then(|off| open.get(off)) {
        Some((alert, at)) => {
            let food = stage_at(run, *at).or_else(|| front(run, alert.lane)).map_or("", |stage| stage.food.as_str());
            Button::strong(w.knob_is_off(food))
        }
        None => Button::plain(w.knob_yes_to_all()),
    };
    Screen::Resume(Resume {
        header: Header { left: w.power_was_off(), right: w.to_answer(open.len()) },
        dark,
        lines: [first, w.still_cooking_question()],
        buttons: [Button::plain(w.button_lane_yes()), Button { turns: true, ..knob }],
        cells: lanes::cells(run, station),
    })
}

/// A trial is over.
pub(crate) fn saved(run: &RunView, no: TrialNo, station: &StationView) -> Screen {
    let w = station.settings.language;
    let trial = run.trials.iter().find(|trial| trial.no == no);
    let (title, given_up) = trial.map_or(("", false), |trial| (trial.title.as_str(), trial.given_up));
    let missing = trial.map_or(0, |trial| trial.missing.len());
    let (kept, words) = match station.kept {
        Kept::Here | Kept::WillSend => (true, w.kept_here()),
        Kept::Sent => (true, w.kept_and_sent()),
        Kept::DiskFull => (false, w.disk_full_title()),
    };
    let closed = trial.and_then(|trial| trial.closed);
    let detail = match (&station.kept, missing, closed) {
        (Kept::DiskFull, _, _) => w.free_room(),
        (Kept::WillSend, _, _) => w.not_sent(),
        (Kept::Here | Kept::Sent, 0, Some(at)) => at_time(station, at, |time| w.all_noted_at(time), w.all_noted()),
        (Kept::Here | Kept::Sent, 0, None) => w.all_noted(),
        (Kept::Here | Kept::Sent, count, Some(at)) => {
            at_time(station, at, |time| w.still_to_note_at(count, time), w.still_to_note(count))
        }
        (Kept::Here | Kept::Sent, count, None) => w.still_to_note(count),
    };
    let rows = trial.map_or_else(Vec::new, |trial| {
        trial.ended.iter().rev().take(4).rev().map(|ended| ended_row(w, ended)).collect()
    });
    Screen::Saved(Saved {
        header: Header {
            left: String::from(title).into(),
            right: if given_up { w.given_up() } else { w.trial_saved() },
        },
        kept,
        title: words,
        detail,
        rows,
        buttons: [Button::strong(w.knob_close()), Button::plain(w.hold_reopen())],
    })
}

fn ended_row(w: Language, ended: &EndedView) -> [Text; 3] {
    [ended.label.clone().into(), number::length(ended.ran).into(), w.plan(number::length(ended.planned))]
}
