use quantities::{Celsius, Span};

use crate::Row;
#[cfg(test)]
use crate::Seen;

/// The chart of minimum internal temperatures, to be reached once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chart {
    /// Its title.
    pub title: &'static str,
    /// Which edition of it.
    pub edition: &'static str,
    /// Where the rows were read.
    pub source: &'static str,
}

/// The food of the chart's rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChartFood {
    /// Beef, veal and lamb: steaks, roasts, chops.
    RedMeat,
    /// Fresh pork and fresh ham.
    Pork,
    /// Minced beef, pork, veal, lamb.
    Minced,
    /// Minced and whole poultry, and stuffing.
    Poultry,
    /// Egg dishes.
    EggDish,
    /// Leftovers and casseroles.
    Casserole,
    /// Fish with fins.
    Fish,
    /// Cooked ham from an inspected plant, heated again.
    HamReheat,
}

/// A row of the chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minimum {
    /// Its food, in the chart's words.
    pub food: &'static str,
    /// The temperature, and the rest after it as `hold`.
    pub row: Row,
}

/// The chart of USDA FSIS and FoodSafety.gov.
pub const CHART: Chart = Chart {
    title: "USDA FSIS / FoodSafety.gov chart of minimum internal temperatures",
    edition: "as quoted in 2026",
    source: "quoted copies of foodsafety.gov",
};

impl Chart {
    /// The row for a food.
    pub const fn minimum(&self, food: ChartFood) -> Minimum {
        let (food, fahrenheit, hundredths, rest) = match food {
            ChartFood::RedMeat => ("beef, veal, lamb steaks/roasts/chops", 145, 6280, 180),
            ChartFood::Pork => ("fresh pork, fresh ham", 145, 6280, 180),
            ChartFood::Minced => ("ground beef, pork, veal, lamb", 160, 7110, 0),
            ChartFood::Poultry => ("ground and whole poultry, stuffing", 165, 7390, 0),
            ChartFood::EggDish => ("egg dishes", 160, 7110, 0),
            ChartFood::Casserole => ("leftovers and casseroles", 165, 7390, 0),
            ChartFood::Fish => ("fin fish", 145, 6280, 0),
            ChartFood::HamReheat => ("precooked ham reheat (inspected plant)", 140, 6000, 0),
        };
        Minimum { food, row: crate::published::read(fahrenheit, hundredths, rest) }
    }
}

impl ChartFood {
    /// Every food of the chart.
    pub const ALL: [Self; 8] = [
        Self::RedMeat,
        Self::Pork,
        Self::Minced,
        Self::Poultry,
        Self::EggDish,
        Self::Casserole,
        Self::Fish,
        Self::HamReheat,
    ];
}

impl Minimum {
    /// Whether a temperature reaches it. Ask with the lower bound of a mean of several seconds at the coldest point: a
    /// single reading says too little.
    pub fn is_reached_by(&self, lower_bound: Celsius) -> bool {
        lower_bound >= self.row.from()
    }

    /// The rest that belongs to it.
    pub const fn rest(&self) -> Span {
        self.row.hold
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const TABLE: &str = include_str!("../tests/data/safe_minimum_temperatures.csv");

    // safe_minimum_temperatures.csv: foodsafety.gov chart, quoted copies
    #[test]
    fn every_row_of_the_chart_is_here() {
        let mut rows = 0;
        for (printed, food) in csv::Reader::from_reader(TABLE.as_bytes()).records().zip(ChartFood::ALL) {
            let printed = printed.unwrap();
            let Minimum { food: name, row } = CHART.minimum(food);
            assert_eq!(name, &printed[0]);
            assert_eq!(f64::from(row.fahrenheit), printed[1].parse::<f64>().unwrap());
            assert!((row.celsius().degrees() - printed[2].parse::<f64>().unwrap()).abs() < 1e-9);
            assert_eq!(row.hold.secs(), printed[3].parse::<f64>().unwrap());
            assert_eq!((row.seen, &printed[5]), (Seen::Read, "seen"));
            rows += 1;
        }
        assert_eq!(rows, 8);
    }

    #[test]
    fn poultry_is_held_against_its_minimum() {
        let minimum = CHART.minimum(ChartFood::Poultry);
        assert!(minimum.is_reached_by(Celsius::from_degrees(73.9).unwrap()));
        assert!(!minimum.is_reached_by(Celsius::from_degrees(73.88).unwrap()));
        assert_eq!(CHART.minimum(ChartFood::Pork).rest(), Span::from_mins(3));
    }
}
