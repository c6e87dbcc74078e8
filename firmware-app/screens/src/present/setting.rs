use alloc::{vec, vec::Vec};

use words::Text;

use crate::{
    Bath, JoinView, LEVELS, ProbeCheckView, Screen, StationView,
    desk::{CheckChoice, RowPush, SettingRow},
    number::{self, Units},
    screen::{Button, Header, JoinPage, List, ListRow, ProbeCheck, ProbeCheckState, QrModules, RowSign},
};

/// What the cook can set.
pub(crate) fn settings(station: &StationView, rows: &[SettingRow], chosen: usize, changing: bool) -> Screen {
    let w = station.settings.language;
    let knob = match rows.get(chosen).map_or(RowPush::Nothing, |row| row.push()) {
        _ if changing => Button::strong(w.knob_done()),
        RowPush::Back => Button::plain(w.knob_back()),
        RowPush::Check(_) | RowPush::Join => Button::plain(w.knob_open()),
        RowPush::Change => Button::plain(w.knob_change()),
        RowPush::Nothing => Button::plain(Text::none()),
    };
    let rows = rows.iter().map(|row| setting_row(station, *row)).collect();
    let turn =
        if changing { Button { turns: true, ..Button::plain(w.turn_set()) } } else { Button::plain(w.turn_choose()) };
    Screen::List(List {
        header: Header { left: w.settings(), right: Text::none() },
        rows,
        chosen,
        changing,
        empty: Text::none(),
        buttons: [turn, knob],
    })
}

fn setting_row(station: &StationView, row: SettingRow) -> ListRow {
    let (set, w) = (&station.settings, station.settings.language);
    let switch = |on: bool| if on { w.on() } else { w.off() };
    let (text, aside) = match row {
        SettingRow::Back => (w.back(), Text::none()),
        SettingRow::Sound => (w.set_sound(), w.level_of(set.sound, LEVELS)),
        SettingRow::Brightness => (w.set_brightness(), w.level_of(set.brightness, LEVELS)),
        SettingRow::Units => (w.set_units(), if set.units == Units::Celsius { w.celsius() } else { w.fahrenheit() }),
        SettingRow::Language => (w.set_language(), w.name()),
        SettingRow::Lamps => (w.set_lamps(), switch(set.lamps)),
        SettingRow::Speech => (w.set_speech(), switch(set.speech.unwrap_or(false))),
        SettingRow::Lane(lane) => {
            let name = set.lanes.get(usize::from(lane) - 1).filter(|name| !name.is_empty());
            (w.set_lane(lane), name.map_or_else(|| "--".into(), |name| name.clone().into()))
        }
        SettingRow::Probe(at) => match station.probes.get(at) {
            Some(probe) => {
                let checked = probe.checked.as_ref().map_or_else(|| w.never_checked(), |day| day.clone().into());
                (w.set_probe(&probe.name), checked)
            }
            None => (Text::none(), Text::none()),
        },
        SettingRow::Join => (w.set_join(), Text::none()),
        SettingRow::About(line) => match station.about.get(line) {
            Some([what, value]) => (what.clone(), value.clone()),
            None => (Text::none(), Text::none()),
        },
    };
    ListRow { sign: RowSign::None, text, aside }
}

/// A probe is checked.
pub(crate) fn probe_check(station: &StationView, check: &ProbeCheckView, chosen: CheckChoice) -> Screen {
    let (w, units) = (station.settings.language, station.settings.units);
    let expected = number::band_temperature(check.expected, units);
    let bath = match check.bath {
        Bath::Ice => w.in_ice_water(expected),
        Bath::Boiling => w.in_boiling_water(expected),
    };
    let reading = check.reading.and_then(Result::ok);
    let digits = reading.map_or_else(|| "--°".into(), |celsius| number::band_temperature(celsius, units));
    let off = check.off.map(|off| number::difference(off, units)).unwrap_or_default();
    let (state, note) = match (reading, check.steady, check.off) {
        _ if check.saved => (ProbeCheckState::Saved, w.check_saved(off)),
        (None, _, _) => (ProbeCheckState::NoSignal, w.check_no_signal()),
        (Some(_), _, Some(step)) if step.abs() > check.most => (ProbeCheckState::TooFar, w.off_by_too_much(off)),
        (Some(_), Some(_), Some(_)) => (ProbeCheckState::Steady, w.off_by(off)),
        (Some(_), steady, _) => {
            let steady = steady.unwrap_or_default();
            let gone = steady.millis() * 1000 / check.needed.millis().max(1);
            let left = number::length(check.needed.saturating_sub(steady));
            (ProbeCheckState::Settling(u16::try_from(gone.min(1000)).unwrap_or(1000)), w.settling(left))
        }
    };
    let knob = match (chosen, state) {
        (CheckChoice::Main, ProbeCheckState::Steady) => Button::strong(w.knob_save()),
        (
            CheckChoice::Main,
            ProbeCheckState::Settling(_) | ProbeCheckState::TooFar | ProbeCheckState::Saved | ProbeCheckState::NoSignal,
        ) => Button::plain(w.knob_back()),
        (CheckChoice::Bath(Bath::Ice), _) => Button::strong(w.knob_to_ice()),
        (CheckChoice::Bath(Bath::Boiling), _) => Button::strong(w.knob_to_boiling()),
        (CheckChoice::Forget, _) => Button::strong(w.knob_forget()),
    };
    let last = check.checked.as_ref().map_or_else(|| w.never_checked(), |day| w.last_checked(day));
    Screen::ProbeCheck(ProbeCheck {
        header: Header { left: w.check_probe(&check.name), right: Text::none() },
        bath,
        digits: digits.into(),
        state,
        note,
        last,
        buttons: [Button::plain(w.turn_choose()), Button { turns: true, ..knob }],
    })
}

/// A phone can join.
pub(crate) fn join(station: &StationView) -> Screen {
    let w = station.settings.language;
    let (code, sign, lines, knob) = match &station.join {
        JoinView::NoNetwork => (None, RowSign::Refused, vec![w.join_no_network()], w.knob_back()),
        JoinView::Open { address, code, left } => {
            let lines =
                vec![w.join_scan(), address.clone().into(), w.join_code(code), w.join_left(number::length(*left))];
            (qr(address), RowSign::None, lines, w.knob_end())
        }
        JoinView::Joined(name) => (None, RowSign::Tick, vec![w.joined(name)], w.knob_back()),
        JoinView::Ended => (None, RowSign::Open, vec![w.join_ended()], w.knob_back()),
    };
    Screen::Join(JoinPage {
        header: Header { left: w.join_title(), right: Text::none() },
        code,
        sign,
        lines,
        buttons: [Button::plain(knob), Button::plain(Text::none())],
    })
}

/// The code for an address: upper-case letters and figures need the fewest modules.
fn qr(address: &str) -> Option<QrModules> {
    use qrcodegen_no_heap::{QrCode, QrCodeEcc, Version};
    const MOST: Version = Version::new(3);
    let mut room = [0; MOST.buffer_len()];
    let mut out = [0; MOST.buffer_len()];
    let code =
        QrCode::encode_text(address, &mut room, &mut out, QrCodeEcc::Low, Version::MIN, MOST, None, false).ok()?;
    let side = u8::try_from(code.size()).ok()?;
    let places = (0..code.size()).flat_map(|y| (0..code.size()).map(move |x| (x, y)));
    let dark: Vec<bool> = places.map(|(x, y)| code.get_module(x, y)).collect();
    Some(QrModules { side, dark })
}
