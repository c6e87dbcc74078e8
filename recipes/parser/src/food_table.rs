//! What the public tables of core temperatures, which no recipe can switch off, ask of a class of food. Their figures stand
//! in the crate `lethality`, each table with its edition and source.
//!
//! The tables say what they say: the local food code and a trained person decide. Rows that were written down from
//! memory are never used to accept a recipe.

use lethality::{BEEF_7_LOG, COMMINUTED, ChartFood, Published, ROASTS, Seen};
use quantities::{Celsius, Span};
use recipe_model::FoodClass;

/// What the chart of USDA FSIS and FoodSafety.gov asks for.
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
#[derive(Clone, Debug, PartialEq)]
pub struct HoldPair {
    /// The core temperature in °C, as the table prints it.
    pub core: Celsius,
    /// The lowest temperature that is the row's own: its °F or its °C, one of which was rounded up from the other.
    pub from: Celsius,
    /// How long it is held.
    pub hold: Span,
    /// The table.
    pub table: &'static Published,
}

/// The title of the chart of [`minimum`].
pub const CHART: &str = lethality::CHART.title;

/// What the chart asks for a class of food; nothing for food that it does not name.
pub fn minimum(food: FoodClass) -> Option<Minimum> {
    let food = match food {
        FoodClass::RedMeatWhole => ChartFood::RedMeat,
        FoodClass::PorkWhole => ChartFood::Pork,
        FoodClass::MincedMeat => ChartFood::Minced,
        FoodClass::Poultry => ChartFood::Poultry,
        FoodClass::EggDish => ChartFood::EggDish,
        FoodClass::Fish => ChartFood::Fish,
        FoodClass::Casserole => ChartFood::Casserole,
        FoodClass::HamReheat => ChartFood::HamReheat,
        FoodClass::NoMinimum => return None,
    };
    let minimum = lethality::CHART.minimum(food);
    Some(Minimum { core: minimum.row.from(), rest: minimum.rest(), row: minimum.food })
}

/// The pairs of temperature and time that the tables accept for a class of food. None for poultry: there the plain
/// minimum stands. Of the two columns for beef the stricter one, 7-log, is taken.
pub fn hold_pairs(food: FoodClass) -> Vec<HoldPair> {
    let tables: &[&'static Published] = match food {
        FoodClass::RedMeatWhole => &[&ROASTS, &BEEF_7_LOG],
        FoodClass::PorkWhole => &[&ROASTS],
        FoodClass::MincedMeat | FoodClass::EggDish => &[&COMMINUTED],
        FoodClass::Poultry | FoodClass::Fish | FoodClass::Casserole | FoodClass::HamReheat | FoodClass::NoMinimum => {
            &[]
        }
    };
    tables.iter().flat_map(|table| pairs(table)).collect()
}

/// The pair that a core temperature and its hold fulfil, if there is one.
pub fn fulfilled(food: FoodClass, core: Celsius, hold: Span) -> Option<HoldPair> {
    hold_pairs(food).into_iter().find(|pair| core >= pair.from && hold >= pair.hold)
}

/// The rows of a table that were read in a copy of it.
fn pairs(table: &'static Published) -> impl Iterator<Item = HoldPair> {
    let read = table.rows.iter().filter(|row| row.seen == Seen::Read);
    read.map(move |row| HoldPair { core: row.celsius(), from: row.from(), hold: row.hold, table })
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
        // the words of the chart, as quoted
        let rows = [
            (FoodClass::RedMeatWhole, "beef, veal, lamb steaks"),
            (FoodClass::PorkWhole, "fresh pork"),
            (FoodClass::MincedMeat, "ground beef"),
            (FoodClass::Poultry, "ground and whole poultry"),
            (FoodClass::EggDish, "egg dishes"),
            (FoodClass::Fish, "fin fish"),
            (FoodClass::Casserole, "leftovers and casseroles"),
            (FoodClass::HamReheat, "precooked ham"),
        ];
        for (food, words) in rows {
            let row = minimum(food).unwrap().row;
            assert!(row.starts_with(words), "{food:?}: {row}");
        }
        assert_eq!(minimum(FoodClass::Poultry).unwrap().core, Celsius::from_degrees(73.8889).unwrap());
        assert_eq!(minimum(FoodClass::PorkWhole).unwrap().rest, Span::from_secs(180));
    }

    #[test]
    fn a_row_from_memory_is_no_pair() {
        let remembered = ROASTS.rows.iter().find(|row| row.seen == Seen::FromMemory).unwrap();
        let pairs = hold_pairs(FoodClass::PorkWhole);
        assert_eq!(pairs.len(), ROASTS.rows.len() - 1);
        assert!(pairs.iter().all(|pair| (pair.core, pair.hold) != (remembered.celsius(), remembered.hold)));
        // 130 °F stands there twice: 112 min from memory, 121 min as read
        assert!(fulfilled(FoodClass::PorkWhole, Celsius::whole(55), Span::from_mins(112)).is_none());
        assert!(fulfilled(FoodClass::PorkWhole, Celsius::whole(55), Span::from_mins(121)).is_some());
    }

    // FSIS Appendix A (1999), 131 °F: 89 min in the 6.5-log column, 97 min in the 7-log column
    #[test]
    fn beef_is_held_by_the_stricter_column() {
        let core = Celsius::whole(55);
        assert!(fulfilled(FoodClass::RedMeatWhole, core, Span::from_mins(89)).is_none());
        assert!(fulfilled(FoodClass::RedMeatWhole, core, Span::from_mins(97)).is_some());
        let tables: Vec<&str> = hold_pairs(FoodClass::RedMeatWhole).iter().map(|pair| pair.table.title).collect();
        assert!(!tables.contains(&lethality::BEEF_6_5_LOG.title), "{tables:?}");
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
