//! Conversions against the project's check tables in `tests/data`.

use quantities::{GAS_MARKS, convert};

/// The rows after the header; fields hold no comma.
fn rows(table: &str) -> Vec<Vec<&str>> {
    let rows: Vec<Vec<&str>> =
        table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect()).collect();
    assert!(!rows.is_empty(), "the table has no rows");
    rows
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("expected a number, found {text:?}"))
}

fn assert_close(found: f64, expected: f64, case: &str) {
    let error = (found - expected).abs() / expected.abs().max(1.0);
    assert!(error <= 1e-9, "{case}: expected {expected}, found {found}");
}

#[test]
fn every_unit_of_the_table_matches_to_nine_digits() {
    for row in rows(include_str!("data/units.csv")) {
        let [case, _, quantity, unit, to, expected] = row[..] else { panic!("{row:?}") };
        let found = convert::convert(number(quantity), unit, to).unwrap_or_else(|| panic!("{case}: {unit} is unknown"));
        assert_close(found, number(expected), case);
    }
}

#[test]
fn every_temperature_of_the_table_matches_to_nine_digits() {
    for row in rows(include_str!("data/temperature.csv")) {
        let [case, conversion, input, expected] = row[..] else { panic!("{row:?}") };
        let found = match conversion {
            "F_to_C" => convert::fahrenheit_to_celsius(number(input)),
            "C_to_F" => convert::celsius_to_fahrenheit(number(input)),
            "delta_C_to_F" => convert::celsius_step_to_fahrenheit(number(input)),
            "delta_F_to_C" => convert::fahrenheit_step_to_celsius(number(input)),
            other => panic!("{case}: unknown conversion {other}"),
        };
        assert_close(found, number(expected), case);
    }
}

#[test]
fn gas_marks_match_the_table() {
    for row in rows(include_str!("data/gas_mark.csv")) {
        let [case, _, mark, dial_f, dial_c, _] = row[..] else { panic!("{row:?}") };
        let known = GAS_MARKS.iter().find(|m| m.mark == mark).unwrap_or_else(|| panic!("{case}: no mark {mark}"));
        assert_eq!((f64::from(known.fahrenheit), f64::from(known.celsius)), (number(dial_f), number(dial_c)), "{case}");
    }
}

#[test]
fn volume_never_turns_into_mass() {
    assert_eq!(convert::convert(1.0, "us_cup", "g"), None);
}
