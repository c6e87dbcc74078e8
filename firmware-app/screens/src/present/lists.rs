use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use run_engine::{
    TrialNo,
    view::{EndedView, RunView, StageView},
};
use trial::Dark;

use super::{at_time, lanes};
use crate::{
    CheckState, Kept, Screen, StationView,
    asked::unanswered,
    desk::{Loss, MenuRow},
    number,
    screen::{Button, Header, Keep, List, ListRow, Resume, RowSign, Saved},
};

/// The list of recipes.
pub(crate) fn choose(station: &StationView, chosen: usize) -> Screen {
    let rows: Vec<ListRow> = station
        .recipes
        .iter()
        .map(|line| ListRow {
            sign: RowSign::None,
            text: line.title.clone(),
            aside: match (&line.refused, line.trials) {
                (Some(why), _) => why.clone(),
                (None, 0) => "new".into(),
                (None, 1) => "1 trial".into(),
                (None, trials) => format!("{trials} trials"),
            },
        })
        .collect();
    // the list can have become shorter
    let chosen = chosen.min(rows.len().saturating_sub(1));
    let right = if rows.is_empty() { String::new() } else { format!("{} of {}", chosen + 1, rows.len()) };
    Screen::List(List {
        header: Header { left: "Choose a recipe".into(), right },
        rows,
        chosen,
        empty: "No recipe here yet",
        buttons: [Button::plain("Turn: choose"), Button::strong("Knob: open")],
    })
}

/// What is to be in order before a trial.
pub(crate) fn check(station: &StationView, chosen: usize) -> Screen {
    let (title, lines) = match &station.check {
        Some(check) => (check.title.clone(), check.lines.as_slice()),
        None => (String::new(), &[] as &[_]),
    };
    let mut rows: Vec<ListRow> = lines
        .iter()
        .map(|line| ListRow {
            sign: match line.state {
                CheckState::Ticked => RowSign::Tick,
                CheckState::Open => RowSign::Open,
                CheckState::NoSignal => RowSign::Lost,
            },
            text: line.text.clone(),
            aside: line.found.clone(),
        })
        .collect();
    let on_line = chosen < rows.len();
    let ticked = lines.iter().filter(|line| line.state == CheckState::Ticked).count();
    rows.push(ListRow { sign: RowSign::None, text: "Back to the recipes".into(), aside: String::new() });
    Screen::List(List {
        header: Header { left: format!("Check: {title}"), right: format!("{ticked} of {} in order", lines.len()) },
        rows,
        chosen,
        empty: "",
        buttons: [Button::strong(if on_line { "Knob: tick" } else { "Knob: back" }), Button::plain("Key 1: START")],
    })
}

/// The menu of a run.
pub(crate) fn menu(run: &RunView, rows: &[MenuRow], chosen: usize) -> Screen {
    let title = |no: &TrialNo| run.trials.iter().find(|trial| trial.no == *no).map_or("", |trial| trial.title.as_str());
    let row = |row: &MenuRow| {
        let (text, aside) = match row {
            MenuRow::Back => ("Back to the board".to_string(), ""),
            MenuRow::AnotherRecipe => ("Start another recipe".into(), ""),
            MenuRow::Quiet(true) => ("Quiet: lamps and panel".into(), "off"),
            MenuRow::Quiet(false) => ("Quiet: lamps and panel".into(), "on"),
            MenuRow::GiveUp(no) => (format!("Give up {}", title(no)), ""),
        };
        ListRow { sign: RowSign::None, text, aside: aside.into() }
    };
    Screen::List(List {
        header: Header { left: "Menu".into(), right: "food goes on cooking".into() },
        rows: rows.iter().map(row).collect(),
        chosen,
        empty: "",
        buttons: [Button::plain("Turn: choose"), Button::strong("Knob: open")],
    })
}

/// Asks before something is lost.
pub(crate) fn keep(run: &RunView, loss: Loss, clicks: u8) -> Screen {
    let stage = |at| run.lanes.iter().filter_map(|lane| lane.front.as_ref()).find(|stage| stage.at == at);
    let words = |stage: Option<&StageView>| {
        stage.map_or_else(String::new, |stage| format!("{} {}?", stage.food, stage.step_name))
    };
    let (first, second, word) = match loss {
        Loss::Skip(at) => ("Skip this step:", words(stage(at)), "SKIP"),
        Loss::Stop(at) => ("Stop this lane:", words(stage(at)), "STOP"),
        Loss::GiveUp(no) => {
            let title = run.trials.iter().find(|trial| trial.no == no).map_or("", |trial| trial.title.as_str());
            ("Give the trial up:", format!("{title}?"), "GIVE UP")
        }
    };
    Screen::Keep(Keep {
        header: Header { left: "Nothing is lost yet".into(), right: String::new() },
        question: [first.into(), second],
        word,
        clicks,
        strip: lanes::cells(run),
    })
}

/// After a power cut.
pub(crate) fn resume(run: &RunView, chosen: usize) -> Screen {
    let open = unanswered(run);
    let (dark, first) = match run.resume.as_ref().map(|resume| resume.dark) {
        Some(Dark::Known(span)) => (number::length(span), "off. Clocks went on."),
        Some(Dark::AtLeast(span)) => (number::length(span), "or more. Check each."),
        None => (String::new(), ""),
    };
    let knob = match chosen.checked_sub(1).and_then(|off| open.get(off)) {
        Some((alert, _)) => Button::strong(format!("Knob: {} is off", alert.text)),
        None => Button::plain("Knob: YES to all"),
    };
    Screen::Resume(Resume {
        header: Header { left: "Power was off".into(), right: format!("{} to answer", open.len()) },
        dark,
        lines: [first.into(), "Still cooking?".into()],
        buttons: [Button::plain("Lane key: YES"), knob],
        cells: lanes::cells(run),
    })
}

/// A trial is over.
pub(crate) fn saved(run: &RunView, no: TrialNo, station: &StationView) -> Screen {
    let trial = run.trials.iter().find(|trial| trial.no == no);
    let (title, given_up) = trial.map_or(("", false), |trial| (trial.title.as_str(), trial.given_up));
    let missing = trial.map_or(0, |trial| trial.missing.len());
    let (kept, words) = match station.kept {
        Kept::Here => (true, "Kept on this device"),
        Kept::Sent => (true, "Kept and sent"),
        Kept::WillSend => (true, "Kept on this device"),
        Kept::DiskFull => (false, "Disk full: not all is kept"),
    };
    let closed = trial.and_then(|trial| trial.closed).map_or_else(String::new, |at| at_time(station.clock, at));
    let detail = match (&station.kept, missing) {
        (Kept::DiskFull, _) => "free some room, then reopen".into(),
        (Kept::WillSend, _) => "not sent, will try again".into(),
        (Kept::Here | Kept::Sent, 0) => format!("all noted, over{closed}"),
        (Kept::Here | Kept::Sent, missing) => format!("{missing} still to note, over{closed}"),
    };
    Screen::Saved(Saved {
        header: Header { left: title.into(), right: if given_up { "given up".into() } else { "trial saved".into() } },
        kept,
        title: words.into(),
        detail,
        rows: trial.map_or_else(Vec::new, |trial| trial.ended.iter().rev().take(4).rev().map(ended).collect()),
        buttons: [Button::strong("Knob: close"), Button::plain("Hold: reopen")],
    })
}

fn ended(ended: &EndedView) -> [String; 3] {
    [ended.label.clone(), number::length(ended.ran), format!("plan {}", number::length(ended.planned))]
}
