//! The sample words of the gallery in German: what a recipe would say that was written in German. Verbs stay, for the
//! panel translates them.

use alloc::{borrow::ToOwned, string::String};

use run_engine::view::{LaneState, NextWhat, RunView, StageView};
use words::Text;

use crate::{CannotWhy, JoinView, OutcomeKind, Remedy, StationView};

const WORDS: &[(&str, &str)] = &[
    // food, and what is done with it
    ("shell", "Boden"),
    ("milk", "Milch"),
    ("curd", "Creme"),
    ("syrup", "Sirup"),
    ("cream", "Sahne"),
    ("loin", "Lende"),
    ("potatoes", "Kartoffeln"),
    ("flat breads", "Fladenbrote"),
    ("rye loaves", "Roggenlaibe"),
    ("bake", "backen"),
    ("warm", "wärmen"),
    ("cook", "rühren"),
    ("boil", "kochen"),
    ("rest", "ruhen"),
    ("roast", "braten"),
    ("shell: bake", "Boden: backen"),
    ("curd: cook", "Creme: rühren"),
    ("tart: bake", "Tarte: backen"),
    ("tart: cool", "Tarte: kühlen"),
    ("milk warm", "Milch wärmen"),
    ("tart bake", "Tarte backen"),
    ("milk in the micro", "Milch in die Mikro"),
    ("STIR cream", "STIR Sahne"),
    ("BASTE, turn tin", "ÖLEN, Form drehen"),
    ("CHILL in ice water: still loose at the end", "KÜHLEN im Eiswasser: am Ende noch weich"),
    ("Middle shelf, tin on the rack, door shut", "Mittlere Schiene, Form auf dem Rost, Tür zu"),
    (
        "Warm the milk with the vanilla, lid ajar, until it steams but does not boil",
        "Milch mit der Vanille wärmen, Deckel schräg, bis sie dampft, aber nicht kocht",
    ),
    ("On the board, loosely covered", "Auf dem Brett, locker abgedeckt"),
    ("prep", "rüsten"),
    ("whip", "schlagen"),
    ("cream prep", "Sahne rüsten"),
    ("cool", "kühlen"),
    ("tart", "Tarte"),
    ("tart and cream", "Tarte und Sahne"),
    // signs
    ("rim is gold", "Rand ist golden"),
    ("the whisk leaves a trail", "der Besen zieht Spuren"),
    ("Does curd coat the spoon?", "Deckt Creme den Löffel?"),
    ("Is the filling firm in the middle?", "Ist die Füllung bis innen fest?"),
    // places
    ("Oven", "Ofen"),
    ("Micro", "Mikro"),
    ("Pan", "Topf"),
    ("Bench", "Tisch"),
    ("Freezer", "Froster"),
    ("Micro 2", "Mikro 2"),
    ("Fridge 2", "Kühler 2"),
    ("Bench 2", "Tisch 2"),
    // recipes
    ("Lemon tart", "Zitronentarte"),
    ("more zest", "mehr Schale"),
    ("base", "base"),
    ("Lemon tart, more zest", "Zitronentarte, mehr Schale"),
    ("Slow roast shoulder of lamb", "Langsam gebratene Lammschulter"),
    ("Slow roast shoulder of lamb with beans and potatoes", "Langsam gebratene Lammschulter mit Bohnen"),
    ("Baked rice", "Ofenreis"),
    ("Flatbread, pan", "Fladenbrot, Pfanne"),
    ("Plum dumplings", "Pflaumenknödel"),
    ("Roast shoulder", "Schulterbraten"),
    ("Sponge, microwave", "Mikrowellenkuchen"),
    ("Walnut loaf", "Walnussbrot"),
    // the check before a trial
    ("Weights", "Gewichte"),
    ("9 of 9 in", "9 von 9"),
    ("Oven at 165°C", "Ofen auf 165°C"),
    ("hot", "heiß"),
    ("Probe in curd pan", "Fühler in Creme"),
    ("not yet", "noch nicht"),
    ("Tin 23 cm, lined", "Form gefettet"),
    ("tick", "abhaken"),
    ("Probe A", "Fühler A"),
    ("no signal", "kein Signal"),
    ("in order", "bereit"),
    // what is noted
    ("filling weight", "Füllung wiegen"),
    ("tart, cooled", "Tarte, kalt"),
    ("crust", "Kruste"),
    ("pale", "blass"),
    ("light", "hell"),
    ("colour of the rim", "Farbe des Randes"),
    ("almost white", "fast weiß"),
    ("straw", "strohgelb"),
    ("golden", "goldbraun"),
    ("chestnut", "kastanienbraun"),
    ("almost black", "fast schwarz"),
    ("right", "richtig"),
    ("dark", "dunkel"),
    ("burnt", "schwarz"),
    ("liking", "Gefallen"),
    ("filling", "Füllung"),
    ("runs", "läuft"),
    ("soft", "weich"),
    ("sets", "stockt"),
    ("firm", "fest"),
    ("rubber", "wie Gummi"),
    ("split", "geronnen"),
    // station
    ("core", "Kern"),
    ("oven", "Ofen"),
    ("tablet", "Tablet"),
    ("2026-11-02", "2026-11-02"),
];

/// The German of a sample word; nothing for one that is not in the list.
fn german(text: &str) -> Option<&'static str> {
    WORDS.iter().find(|(english, _)| *english == text).map(|(_, german)| *german)
}

/// Says the samples in German.
pub(super) fn translate(run: &mut RunView, station: &mut StationView) {
    each_word(run, station, &mut |text| german(text).unwrap_or(text).to_owned());
}

/// Changes every word that comes from a recipe or from the set-up of a station.
fn each_word(run: &mut RunView, station: &mut StationView, change: &mut impl FnMut(&str) -> String) {
    let mut word = |text: &mut String| {
        if !text.is_empty() {
            *text = change(text);
        }
    };
    for trial in &mut run.trials {
        word(&mut trial.title);
        word(&mut trial.variant);
        trial.missing.iter_mut().for_each(&mut word);
        trial.ended.iter_mut().for_each(|ended| word(&mut ended.label));
    }
    for lane in &mut run.lanes {
        word(&mut lane.name);
        lane.front.iter_mut().chain(&mut lane.others).for_each(|stage| of_stage(stage, &mut word));
    }
    run.alerts.iter_mut().for_each(|alert| word(&mut alert.text));
    for start in &mut run.starts {
        word(&mut start.food);
        word(&mut start.step_name);
    }
    run.landings.iter_mut().for_each(|landing| word(&mut landing.name));
    if let Some(next) = &mut run.next {
        match &mut next.what {
            NextWhat::End { food, .. } => word(food),
            NextWhat::Start(text) | NextWhat::Look(text) | NextWhat::Inside(text) | NextWhat::Finish(text) => {
                word(text)
            }
        }
    }

    station.settings.lanes.iter_mut().for_each(&mut word);
    station.recipes.iter_mut().for_each(|recipe| word(&mut recipe.title));
    if let Some(check) = &mut station.check {
        word(&mut check.title);
        for line in &mut check.lines {
            for text in [&mut line.text, &mut line.found] {
                let mut full = String::from(text.full());
                word(&mut full);
                *text = Text::from(full);
            }
        }
    }
    let checked = station.check.iter_mut().map(|check| &mut check.ready_at);
    let stated = checked.chain(station.wanting.iter_mut().map(|wanting| &mut wanting.ready_at));
    stated.flat_map(|ready_at| &mut ready_at.plan).flat_map(|plan| &mut plan.first).for_each(|(what, _)| word(what));
    if let Some(moved) = &mut station.moved {
        moved.starts.iter_mut().for_each(|(what, ..)| word(what));
        moved.landing.iter_mut().for_each(&mut word);
        let cannot = moved.cannot.iter_mut();
        cannot.for_each(|cannot| {
            if let CannotWhy::WaitsTooLong { what, .. } = &mut cannot.why {
                word(what);
            }
            if let Some(Remedy::LetWait { what, .. }) = &mut cannot.remedy {
                word(what);
            }
        });
    }
    for item in station.outcome.iter_mut().flat_map(|sheet| &mut sheet.items) {
        word(&mut item.what);
        match &mut item.kind {
            OutcomeKind::Words(_, words) => words.iter_mut().for_each(&mut word),
            OutcomeKind::Weight | OutcomeKind::Scale(..) => {}
        }
    }
    station.probes.iter_mut().for_each(|probe| word(&mut probe.name));
    station.probe_check.iter_mut().for_each(|check| word(&mut check.name));
    match &mut station.join {
        JoinView::Joined(name) => word(name),
        JoinView::NoNetwork | JoinView::Open { .. } | JoinView::Ended => {}
    }
}

fn of_stage(stage: &mut StageView, word: &mut impl FnMut(&mut String)) {
    for text in [&mut stage.food, &mut stage.step_name, &mut stage.text] {
        word(text);
    }
    stage.branches.iter_mut().for_each(|(_, text)| word(text));
    stage.marks.iter_mut().for_each(|(_, text)| word(text));
    stage.beat.iter_mut().for_each(|(_, text)| word(text));
    stage.looks.iter_mut().for_each(|looks| word(&mut looks.cue));
    match &mut stage.state {
        LaneState::Inside { text, .. } => word(text),
        LaneState::Waiting { .. }
        | LaneState::Ready { .. }
        | LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Window { .. }
        | LaneState::Question { .. }
        | LaneState::Due { .. }
        | LaneState::Overdue { .. }
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => {}
    }
}

#[cfg(test)]
mod tests {
    use words::Language;

    use super::*;
    use crate::{Units, gallery};

    #[test]
    fn every_sample_word_has_its_german() {
        for mut scene in gallery::scenes(Language::English, Units::Celsius) {
            each_word(&mut scene.view, &mut scene.station, &mut |text| {
                assert!(german(text).is_some(), "{text:?} of {} is not in the list", scene.name);
                text.to_owned()
            });
        }
    }
}
