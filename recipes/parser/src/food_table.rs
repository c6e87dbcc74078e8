//! The public tables of core temperatures that no recipe can switch off. They are data (`data/*.csv`), never a formula.
//!
//! The tables say what they say: the local food code and a trained person decide. Rows that were written down from
//! memory are never used to accept a recipe.

use std::sync::LazyLock;

use quantities::{Celsius, Span, convert};
use recipe_model::FoodClass;

/// What the chart asks for: USDA FSIS and FoodSafety.gov, safe minimum internal temperatures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Minimum {
    /// The core temperature.
    pub core: Celsius,
    /// The rest after it.
    pub rest: Span,
    /// Its row in the chart.
    pub row: &'static str,
}

/// A lower core temperature that a table accepts when it is held for a time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoldPair {
    /// The core temperature in °C, as the table prints it.
    pub core: Celsius,
    /// The lowest temperature that is the row's own: its °F or its °C, one of which was rounded up from the other.
    pub from: Celsius,
    /// How long it is held.
    pub hold: Span,
    /// The table.
    pub table: &'static str,
}

/// The name of the chart of [`minimum`].
pub const CHART: &str = "USDA FSIS / FoodSafety.gov safe minimum chart";

static CHART_FILE: &str = include_str!("../data/safe_minimum_temperatures.csv");
static CODE_FILE: &str = include_str!("../data/food_code_3_401_11.csv");
static APPENDIX_FILE: &str = include_str!("../data/fsis_appendix_a_beef.csv");

static CHART_ROWS: LazyLock<Vec<(String, Celsius, Span)>> = LazyLock::new(|| {
    // the chart is in °F and prints a rounded °C beside it: a recipe may name either as it stands there
    rows(CHART_FILE)
        .filter_map(|row| {
            let core = from_fahrenheit(row.get(1)?)?.min(celsius(row.get(2)?)?);
            Some((row.first()?.clone(), core, secs(row.get(3)?)?))
        })
        .collect()
});

static CODE_ROWS: LazyLock<Vec<(String, HoldPair)>> = LazyLock::new(|| {
    let mut above = String::new();
    let mut all = Vec::new();
    for row in rows(CODE_FILE) {
        let (Some(food), Some(core), Some(fahrenheit), Some(hold), Some(source), Some(seen)) =
            (row.first(), row.get(1), row.get(2), row.get(3), row.get(4), row.get(5))
        else {
            continue;
        };
        if food != "same" {
            above.clone_from(food);
        }
        let table = if source.starts_with("NAVMED") { "NAVMED P-5010-1 table 1-4" } else { "FDA Food Code 3-401.11" };
        if let (Some(pair), false) = (pair(core, fahrenheit, hold, table), seen == "from memory") {
            all.push((above.clone(), pair));
        }
    }
    all
});

static APPENDIX_ROWS: LazyLock<Vec<HoldPair>> = LazyLock::new(|| {
    let table = "USDA FSIS Appendix A (1999), 7-log";
    rows(APPENDIX_FILE).filter_map(|row| pair(row.get(1)?, row.first()?, row.get(3)?, table)).collect()
});

/// What the chart asks for a class of food; nothing for food that it does not name.
pub fn minimum(food: FoodClass) -> Option<Minimum> {
    let row = match food {
        FoodClass::RedMeatWhole => "beef, veal, lamb steaks/roasts/chops",
        FoodClass::PorkWhole => "fresh pork, fresh ham",
        FoodClass::MincedMeat => "ground beef, pork, veal, lamb",
        FoodClass::Poultry => "ground and whole poultry, stuffing",
        FoodClass::EggDish => "egg dishes",
        FoodClass::Fish => "fin fish",
        FoodClass::Casserole => "leftovers and casseroles",
        FoodClass::HamReheat => "precooked ham reheat (inspected plant)",
        FoodClass::NoMinimum => return None,
    };
    let (_, core, rest) = CHART_ROWS.iter().find(|(name, ..)| name == row)?;
    Some(Minimum { core: *core, rest: *rest, row })
}

/// The pairs of temperature and time that the tables accept for a class of food. None for poultry: there the plain
/// minimum stands.
pub fn hold_pairs(food: FoodClass) -> Vec<HoldPair> {
    let code =
        |row: &str| CODE_ROWS.iter().filter(|(name, _)| name == row).map(|(_, pair)| pair.clone()).collect::<Vec<_>>();
    match food {
        FoodClass::RedMeatWhole => {
            let mut all = code("whole roasts (beef, corned beef, pork)");
            all.extend(APPENDIX_ROWS.iter().cloned());
            all
        }
        FoodClass::PorkWhole => code("whole roasts (beef, corned beef, pork)"),
        FoodClass::MincedMeat | FoodClass::EggDish => code("comminuted/injected/tenderized meat, ratites, pooled eggs"),
        FoodClass::Poultry | FoodClass::Fish | FoodClass::Casserole | FoodClass::HamReheat | FoodClass::NoMinimum => {
            Vec::new()
        }
    }
}

/// The pair that a core temperature and its hold fulfil, if there is one.
pub fn fulfilled(food: FoodClass, core: Celsius, hold: Span) -> Option<HoldPair> {
    hold_pairs(food).into_iter().find(|pair| core >= pair.from && hold >= pair.hold)
}

fn rows(file: &'static str) -> impl Iterator<Item = Vec<String>> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(file.as_bytes())
        .into_records()
        .filter_map(Result::ok)
        .map(|row| row.iter().map(|field| field.trim().to_owned()).collect())
}

/// A row of a table of holds; a recipe may name its °F or its °C, as it stands there.
fn pair(core: &str, fahrenheit: &str, hold: &str, table: &'static str) -> Option<HoldPair> {
    let core = celsius(core)?;
    Some(HoldPair { core, from: core.min(from_fahrenheit(fahrenheit)?), hold: secs(hold)?, table })
}

fn celsius(text: &str) -> Option<Celsius> {
    Celsius::from_degrees(text.parse().ok()?)
}

fn from_fahrenheit(text: &str) -> Option<Celsius> {
    Celsius::from_degrees(convert::fahrenheit_to_celsius(text.parse().ok()?))
}

fn secs(text: &str) -> Option<Span> {
    text.parse().ok().map(Span::from_secs)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_class_with_a_minimum_has_its_row() {
        for food in FoodClass::ALL {
            assert_eq!(minimum(*food).is_some(), *food != FoodClass::NoMinimum, "{food:?}");
        }
        assert_eq!(minimum(FoodClass::Poultry).unwrap().core, Celsius::from_degrees(73.8889).unwrap());
        assert_eq!(minimum(FoodClass::PorkWhole).unwrap().rest, Span::from_secs(180));
    }

    #[test]
    fn the_files_are_read_to_their_last_row() {
        let lines = |file: &str| file.lines().filter(|line| !line.starts_with('#')).count() - 1;
        assert_eq!(CHART_ROWS.len(), lines(CHART_FILE));
        assert_eq!(APPENDIX_ROWS.len(), lines(APPENDIX_FILE));
        let from_memory = CODE_FILE.lines().filter(|line| line.ends_with(",from memory")).count();
        assert_eq!(CODE_ROWS.len(), lines(CODE_FILE) - from_memory);
    }

    #[test]
    fn a_pair_from_the_table_is_fulfilled_and_a_second_less_is_not() {
        let core = Celsius::whole(58);
        assert!(fulfilled(FoodClass::PorkWhole, core, Span::from_mins(32)).is_some());
        assert!(fulfilled(FoodClass::PorkWhole, core, Span::from_secs(32 * 60 - 1)).is_none());
        assert!(fulfilled(FoodClass::PorkWhole, Celsius::whole(53), Span::from_mins(1000)).is_none());
    }

    #[test]
    fn a_row_is_fulfilled_by_its_fahrenheit_and_by_its_celsius_and_by_nothing_lower() {
        let of = |text: &str| quantities::parse::temperature(text).unwrap().value;
        let (beef, pork) = (FoodClass::RedMeatWhole, FoodClass::PorkWhole);
        assert!(fulfilled(pork, of("136 °F"), Span::from_secs(1920)).is_some());
        assert!(fulfilled(pork, of("135.9 °F"), Span::from_secs(1920)).is_none());
        // 55.5556 °C, printed 55.56; 56.1111 °C, printed 56.11
        for text in ["132 °F", "55.56 °C", "133 °F", "56.11 °C"] {
            assert!(fulfilled(beef, of(text), Span::from_secs(4620)).is_some(), "{text}");
        }
        assert!(fulfilled(beef, of("131.9 °F"), Span::from_secs(4620)).is_none());
    }

    #[test]
    fn no_pair_is_ever_accepted_for_poultry() {
        assert!(hold_pairs(FoodClass::Poultry).is_empty());
    }
}
