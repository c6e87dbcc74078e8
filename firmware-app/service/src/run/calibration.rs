//! What is known of a probe's error: its saved checks, or what the settings say, as a calibration.
//!
//! Readings stay as they came; what corrects them stands beside them on the record, and a trial that is taken up again
//! goes on with what stands there.

use std::collections::BTreeMap;

use jiff::civil::Date;
use quantities::{Celsius, CelsiusStep, Span};
use recipe_model::ProbeName;
use run_engine::{Calibrated, ProbeDevice};
use thermometry::{Bath, Calibration};
use trial::{Entry, Equipment, Fact, record::in_force};

use super::probe_check::{BathKind, SavedCheck};

/// A one-wire sensor between -10 and 85 °C (its data sheet, from memory); the simulated ones are like it.
const ONE_WIRE: CelsiusStep = CelsiusStep::HALF;
/// A thermocouple with its converter, or a sensor on a board (data sheets, from memory).
const BOARD_SENSOR: CelsiusStep = CelsiusStep::whole(2);
/// Of an offset in the settings that does not say how well it is known: one standard deviation.
const OFFSET_WITHIN: CelsiusStep = CelsiusStep::from_ten_thousandths(2_500);
/// An offset in the settings counts like a bath of this many readings without scatter.
const OFFSET_READINGS: u32 = 60;

/// What the maker promises of a device.
pub fn tolerance(device: &str) -> CelsiusStep {
    if device.starts_with("hwmon") { BOARD_SENSOR } else { ONE_WIRE }
}

/// A probe that was never checked.
pub fn never_checked(device: &str) -> Calibrated {
    Calibrated { by: Calibration::uncalibrated(tolerance(device)), age: None }
}

/// A probe as it goes onto the record of a trial, and what corrects its readings there.
///
/// The saved checks of the device count: both baths, or ice alone. What the settings say of the probe counts where there is
/// no such check, or only one of an earlier day; not if it is of another device.
pub fn of_probe(
    name: &ProbeName,
    device: &ProbeDevice,
    settings: Option<&Equipment>,
    checks: &[&SavedCheck],
    today: Option<&str>,
) -> (Equipment, Calibrated) {
    let settings = settings.filter(|known| known.device.as_deref().is_none_or(|of| of == device.0));
    let plain = Equipment {
        name: equipment_name(name),
        device: Some(device.0.clone()),
        ..settings.cloned().unwrap_or_default()
    };
    let last = checks.last();
    let newer_in_settings = match (&plain.offset_celsius, &plain.checked, last.map(|check| &check.day)) {
        (Some(_), Some(day), Some(Some(saved))) => day > saved,
        (Some(_), _, None) => true,
        (Some(_), _, Some(_)) | (None, _, _) => false,
    };
    let (equipment, known) = match last {
        Some(last) if !newer_in_settings => {
            let (known, contradict) = of_checks(device, checks, today);
            let words = checked_words(checks, contradict.as_ref());
            let equipment = Equipment {
                offset_celsius: Some(last.offset),
                uncertainty_celsius: None,
                checked: last.day.clone(),
                note: Some(plain.note.as_ref().map_or_else(|| words.clone(), |note| format!("{note}; {words}"))),
                ..plain
            };
            (equipment, known)
        }
        Some(_) | None => {
            let known = of_settings(&plain, today);
            (plain, known)
        }
    };
    let calibrated = known.unwrap_or_else(|| never_checked(&device.0));
    let equipment = Equipment {
        calibration: known.map(|known| known.by),
        calibration_age: known.and_then(|known| known.age),
        ..equipment
    };
    (equipment, calibrated)
}

/// What corrects the readings of a trial's probes, by its own record.
pub fn on_record(entries: &[Entry], probes: &BTreeMap<ProbeName, ProbeDevice>) -> BTreeMap<ProbeDevice, Calibrated> {
    let noted: Vec<&Equipment> = in_force(entries).into_iter().filter_map(noted).collect();
    probes.iter().map(|(name, device)| (device.clone(), recorded(&noted, name, &device.0))).collect()
}

/// The probes of a trial that another device stands for than its record says, as never checked.
pub fn changed_devices(entries: &[Entry], probes: &BTreeMap<ProbeName, ProbeDevice>) -> Vec<Equipment> {
    let noted: Vec<&Equipment> = in_force(entries).into_iter().filter_map(noted).collect();
    let changed = probes.iter().filter_map(|(name, device)| {
        let equipment = equipment_name(name);
        let last = noted.iter().rev().find(|it| it.name == equipment)?;
        (last.device.as_deref() != Some(device.0.as_str())).then(|| Equipment {
            name: equipment,
            device: Some(device.0.clone()),
            note: Some("another device since the station stopped".into()),
            ..Equipment::default()
        })
    });
    changed.collect()
}

/// What corrects the readings of a probe, by the equipment on record; another device than that has never been checked.
pub fn recorded(noted: &[&Equipment], name: &ProbeName, device: &str) -> Calibrated {
    let name = equipment_name(name);
    let of_it = noted.iter().rev().find(|it| it.name == name && it.device.as_deref() == Some(device));
    let by = of_it.and_then(|it| Some(Calibrated { by: it.calibration?, age: it.calibration_age }));
    by.unwrap_or_else(|| never_checked(device))
}

/// What a probe is called among the equipment.
pub fn equipment_name(probe: &ProbeName) -> String {
    format!("probe {probe}")
}

#[allow(clippy::wildcard_enum_match_arm, reason = "one kind of fact is about equipment")]
fn noted(entry: &Entry) -> Option<&Equipment> {
    match &entry.fact {
        Fact::EquipmentNoted(equipment) => Some(equipment),
        _ => None,
    }
}

/// By the newest check of each bath; why both do not go together, if they do not: then ice alone counts.
fn of_checks(
    device: &ProbeDevice,
    checks: &[&SavedCheck],
    today: Option<&str>,
) -> (Option<Calibrated>, Option<thermometry::CalibrationError>) {
    let newest = |bath| checks.iter().rev().find(|check| check.bath == bath);
    let Some(ice) = newest(BathKind::Ice) else { return (None, None) };
    let tolerance = tolerance(&device.0);
    let days = |check: &SavedCheck| age(check.day.as_deref(), today);
    let one = || {
        let by = Calibration::one_point(tolerance, ice.bath()).ok()?;
        Some(Calibrated { by, age: days(ice) })
    };
    let Some(boiling) = newest(BathKind::Boiling) else { return (one(), None) };
    match Calibration::two_point(tolerance, ice.bath(), boiling.bath()) {
        Ok(by) => {
            // as old as the older bath
            let age = days(ice).zip(days(boiling)).map(|(ice, boiling)| ice.max(boiling));
            (Some(Calibrated { by, age }), None)
        }
        Err(why) => (one(), Some(why)),
    }
}

/// By an offset in the settings: the same at every temperature, known as well as is said there.
fn of_settings(known: &Equipment, today: Option<&str>) -> Option<Calibrated> {
    let offset = known.offset_celsius?;
    let truth = Celsius::whole(0);
    let bath = Bath {
        truth,
        truth_uncertainty: known.uncertainty_celsius.map_or(OFFSET_WITHIN, CelsiusStep::abs),
        read: truth + offset,
        spread: CelsiusStep::ZERO,
        readings: OFFSET_READINGS,
    };
    let by = Calibration::one_point(tolerance(known.device.as_deref().unwrap_or_default()), bath);
    match by {
        Ok(by) => Some(Calibrated { by, age: age(known.checked.as_deref(), today) }),
        Err(why) => {
            tracing::error!("{}: its offset is not used: {why}", known.name);
            None
        }
    }
}

/// Whole days since a day; none if one of the two is not known, or the day is still to come.
fn age(day: Option<&str>, today: Option<&str>) -> Option<Span> {
    let (day, today): (Date, Date) = (day?.parse().ok()?, today?.parse().ok()?);
    let days = u64::try_from(day.until(today).ok()?.get_days()).ok()?;
    Some(Span::from_mins(days * 24 * 60))
}

/// What the checks of a probe found, for the record.
fn checked_words(checks: &[&SavedCheck], contradict: Option<&thermometry::CalibrationError>) -> String {
    let newest = |bath| checks.iter().rev().find(|check| check.bath == bath);
    let baths = [(BathKind::Ice, "ice"), (BathKind::Boiling, "boiling water")];
    let found = baths.into_iter().filter_map(|(bath, word)| {
        let check = newest(bath)?;
        let day = check.day.as_deref().unwrap_or("on an unknown day");
        Some(format!("{:+.2} °C in {word} {day}", check.offset.degrees()))
    });
    let found = found.collect::<Vec<_>>().join(", ");
    let both = contradict.map_or_else(String::new, |why| format!("; the two do not go together, ice counts: {why}"));
    format!("readings as they came; its checks found {found}{both}")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const TODAY: Option<&str> = Some("2026-11-25");

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    fn check(bath: BathKind, reading: f64, day: &str) -> SavedCheck {
        let expected = match bath {
            BathKind::Ice => celsius(0.0),
            BathKind::Boiling => celsius(99.974),
        };
        SavedCheck {
            probe: "core".into(),
            device: "28-1".into(),
            bath,
            day: Some(day.into()),
            reading: celsius(reading),
            spread: None,
            readings: None,
            expected,
            expected_within: None,
            offset: celsius(reading) - expected,
        }
    }

    fn known(settings: Option<&Equipment>, checks: &[SavedCheck], today: Option<&str>) -> (Equipment, Calibrated) {
        let checks: Vec<&SavedCheck> = checks.iter().collect();
        of_probe(&ProbeName::new("core"), &ProbeDevice("28-1".into()), settings, &checks, today)
    }

    fn days(count: u64) -> Option<Span> {
        Some(Span::from_mins(count * 24 * 60))
    }

    #[test]
    fn two_baths_make_a_line_ice_alone_an_offset_and_boiling_alone_nothing() {
        let (ice, boiling) = (check(BathKind::Ice, 0.4, "2026-11-20"), check(BathKind::Boiling, 100.174, "2026-11-23"));
        let (equipment, two) = known(None, &[ice.clone(), boiling.clone()], TODAY);
        // by hand: 0.4 off at 0 °C, 0.2 off at 100 °C: 0.3 off half-way
        assert!((two.by.corrected(celsius(50.28)).degrees() - 49.98).abs() < 0.01, "{:?}", two.by);
        assert_eq!(two.age, days(5), "as old as the older bath");
        assert_eq!((equipment.calibration, equipment.calibration_age), (Some(two.by), two.age));
        assert_eq!(equipment.device.as_deref(), Some("28-1"));
        let (_, one) = known(None, std::slice::from_ref(&ice), TODAY);
        assert_eq!(one.by.corrected(celsius(63.0)), celsius(62.6));
        assert!(!one.by.is_two_point());
        let (equipment, none) = known(None, &[boiling], TODAY);
        assert_eq!(none, never_checked("28-1"));
        assert_eq!((equipment.calibration, equipment.offset_celsius.map(|off| off.degrees())), (None, Some(0.2)));
    }

    #[test]
    fn an_age_needs_both_days_and_the_newest_bath_counts() {
        let old = check(BathKind::Ice, 1.0, "2026-01-01");
        let new = check(BathKind::Ice, 0.2, "2026-11-24");
        let (_, found) = known(None, &[old, new.clone()], TODAY);
        assert_eq!((found.by.corrected(celsius(63.0)), found.age), (celsius(62.8), days(1)));
        assert_eq!(known(None, std::slice::from_ref(&new), None).1.age, None);
        assert_eq!(known(None, &[SavedCheck { day: None, ..new.clone() }], TODAY).1.age, None);
        assert_eq!(known(None, &[new], Some("2026-11-01")).1.age, None, "a day to come");
    }

    #[test]
    fn baths_that_contradict_each_other_leave_ice_and_say_so() {
        // each within 3 °C; together a slope of 1.06
        let (ice, boiling) = (check(BathKind::Ice, 2.9, "2026-11-20"), check(BathKind::Boiling, 97.1, "2026-11-20"));
        let (equipment, found) = known(None, &[ice, boiling], TODAY);
        assert!(!found.by.is_two_point());
        assert_eq!(found.by.corrected(celsius(63.0)), celsius(60.1));
        let note = equipment.note.unwrap();
        assert!(note.contains("do not go together, ice counts: expected a slope from 0.970"), "{note}");
    }

    fn settings(offset: i32, day: Option<&str>) -> Equipment {
        Equipment {
            name: "probe core".into(),
            offset_celsius: Some(CelsiusStep::from_ten_thousandths(offset)),
            checked: day.map(Into::into),
            ..Equipment::default()
        }
    }

    #[test]
    fn an_offset_in_the_settings_corrects_until_a_check_of_a_later_day() {
        let set = settings(5_000, Some("2026-11-10"));
        let (equipment, found) = known(Some(&set), &[], TODAY);
        assert_eq!((found.by.corrected(celsius(63.0)), found.age), (celsius(62.5), days(15)));
        assert_eq!(equipment.calibration, Some(found.by));
        let newer = check(BathKind::Ice, 0.1, "2026-11-24");
        let noted = Equipment { note: Some("thin tip".into()), ..set.clone() };
        let note = known(Some(&noted), std::slice::from_ref(&newer), TODAY).0.note.unwrap();
        assert_eq!(note, "thin tip; readings as they came; its checks found +0.10 °C in ice 2026-11-24");
        assert_eq!(known(Some(&set), &[newer], TODAY).1.by.corrected(celsius(63.0)), celsius(62.9));
        let older = check(BathKind::Ice, 0.1, "2026-11-02");
        assert_eq!(known(Some(&set), std::slice::from_ref(&older), TODAY).1.by.corrected(celsius(63.0)), celsius(62.5));
        let undated = settings(5_000, None);
        assert_eq!(known(Some(&undated), &[older], TODAY).1.by.corrected(celsius(63.0)), celsius(62.9));
        let of_another = Equipment { device: Some("28-9".into()), ..set };
        assert_eq!(known(Some(&of_another), &[], TODAY).1, never_checked("28-1"));
    }

    #[test]
    fn how_well_an_offset_is_known_is_taken_off_what_protects() {
        let below = |set: &Equipment| {
            let Calibrated { by, age } = known(Some(set), &[], TODAY).1;
            (by.corrected(celsius(1.0)) - by.lower_bound(celsius(1.0), age)).degrees()
        };
        let sure = Equipment {
            uncertainty_celsius: Some(CelsiusStep::from_ten_thousandths(500)),
            ..settings(5_000, Some("2026-11-25"))
        };
        assert!((below(&sure) - 0.1).abs() < 0.01, "{}", below(&sure));
        assert!(below(&settings(5_000, Some("2026-11-25"))) > 0.45);
    }

    #[test]
    fn a_board_sensor_that_was_never_checked_may_be_further_off() {
        let below = |device| (celsius(63.0) - never_checked(device).by.lower_bound(celsius(63.0), None)).degrees();
        assert!(below("hwmon:max31855/temp1") > 2.0 && below("28-1") < 0.6, "{}", below("28-1"));
    }

    #[test]
    fn a_trial_goes_on_with_the_calibration_of_its_own_record() {
        let (equipment, found) = known(None, &[check(BathKind::Ice, 0.4, "2026-11-20")], TODAY);
        let entry =
            Entry { seq: 1, at: quantities::RunTime::START, action: None, fact: Fact::EquipmentNoted(equipment) };
        let probes = |device: &str| [(ProbeName::new("core"), ProbeDevice(device.into()))].into();
        let again = on_record(std::slice::from_ref(&entry), &probes("28-1"));
        assert_eq!(again[&ProbeDevice("28-1".into())], found);
        // another sensor was plugged in meanwhile
        let other = on_record(&[entry], &probes("28-2"));
        assert_eq!(other[&ProbeDevice("28-2".into())], never_checked("28-2"));
    }
}
