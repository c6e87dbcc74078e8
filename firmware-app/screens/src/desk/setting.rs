use alloc::{vec, vec::Vec};

use words::Language;

use crate::{Bath, LEVELS, ProbeCheckView, SettingChange, StationView, number::Units};

/// A row of the settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SettingRow {
    Back,
    Sound,
    Brightness,
    Units,
    Language,
    Lamps,
    Speech,
    /// A lane's name, 1 to 4.
    Lane(u8),
    /// The check of a probe.
    Probe(usize),
    Join,
    /// A line about the station.
    About(usize),
}

/// What a push of the knob does on a row of the settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RowPush {
    /// Leaves the settings.
    Back,
    /// Lets the knob change the row's value.
    Change,
    /// Opens the check of a probe.
    Check(usize),
    /// Lets a phone join.
    Join,
    /// Nothing.
    Nothing,
}

impl SettingRow {
    pub(crate) const fn push(self) -> RowPush {
        match self {
            Self::Back => RowPush::Back,
            Self::Sound
            | Self::Brightness
            | Self::Units
            | Self::Language
            | Self::Lamps
            | Self::Speech
            | Self::Lane(_) => RowPush::Change,
            Self::Probe(probe) => RowPush::Check(probe),
            Self::Join => RowPush::Join,
            Self::About(_) => RowPush::Nothing,
        }
    }
}

/// All rows, in the order of the panel.
pub(super) fn rows(station: &StationView) -> Vec<SettingRow> {
    let mut rows = vec![
        SettingRow::Back,
        SettingRow::Sound,
        SettingRow::Brightness,
        SettingRow::Units,
        SettingRow::Language,
        SettingRow::Lamps,
    ];
    if station.settings.speech.is_some() {
        rows.push(SettingRow::Speech);
    }
    rows.extend((0..station.probes.len()).map(SettingRow::Probe));
    rows.extend((1..=4).map(SettingRow::Lane));
    rows.push(SettingRow::Join);
    rows.extend((0..station.about.len()).map(SettingRow::About));
    rows
}

/// What a turn of the knob changes; nothing at the end of a range.
pub(super) fn change(row: SettingRow, by: i8, station: &StationView) -> Option<SettingChange> {
    let set = &station.settings;
    let level = |now: u8| Some(now.saturating_add_signed(by).clamp(1, LEVELS)).filter(|next| *next != now);
    let along = |at: usize, count: usize| (at as isize + isize::from(by)).rem_euclid(count as isize) as usize;
    match row {
        SettingRow::Sound => level(set.sound).map(SettingChange::Sound),
        SettingRow::Brightness => level(set.brightness).map(SettingChange::Brightness),
        SettingRow::Units => {
            let at = Units::ALL.iter().position(|units| *units == set.units)?;
            Some(SettingChange::Units(Units::ALL[along(at, Units::ALL.len())]))
        }
        SettingRow::Language => {
            let at = Language::ALL.iter().position(|language| *language == set.language)?;
            Some(SettingChange::Language(Language::ALL[along(at, Language::ALL.len())]))
        }
        SettingRow::Lamps => Some(SettingChange::Lamps(!set.lamps)),
        SettingRow::Speech => set.speech.map(|on| SettingChange::Speech(!on)),
        SettingRow::Lane(lane) => Some(SettingChange::Lane(lane, by)),
        SettingRow::Back | SettingRow::Probe(_) | SettingRow::Join | SettingRow::About(_) => None,
    }
}

/// What the knob would do while a probe is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CheckChoice {
    /// Save what stands still, else back.
    Main,
    /// The other bath.
    Bath(Bath),
    /// Forget the checks, after asking once more.
    Forget,
}

/// All that can be chosen, in the order of the clicks.
pub(super) fn check_choices(check: &ProbeCheckView) -> Vec<CheckChoice> {
    let other = match check.bath {
        Bath::Ice => Bath::Boiling,
        Bath::Boiling => Bath::Ice,
    };
    let mut choices = vec![CheckChoice::Main, CheckChoice::Bath(other)];
    if check.checked.is_some() {
        choices.push(CheckChoice::Forget);
    }
    choices
}

pub(super) fn check_choice(check: &ProbeCheckView, clicks: usize) -> CheckChoice {
    check_choices(check).get(clicks).copied().unwrap_or(CheckChoice::Main)
}

/// Whether it stood still long enough, near enough to what is expected.
pub(super) fn can_save(check: &ProbeCheckView) -> bool {
    !check.saved && matches!(check.reading, Some(Ok(_))) && check.off.is_some_and(|off| off.abs() <= check.most)
}
