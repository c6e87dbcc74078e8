use quantities::{Celsius, Span};

/// A published table of core temperatures and the times for which each is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Published {
    /// Its title.
    pub title: &'static str,
    /// Which edition of it.
    pub edition: &'static str,
    /// Where the rows were read.
    pub source: &'static str,
    /// The food that it is for, in its own words.
    pub food: &'static str,
    /// Its rows, coldest first.
    pub rows: &'static [Row],
}

/// A temperature and how long it is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Row {
    /// In °F, as printed.
    pub fahrenheit: u16,
    /// In hundredths of a °C, as printed; one of the two was rounded from the other.
    pub hundredths: u16,
    /// For so long; no time where the temperature alone is asked.
    pub hold: Span,
    /// How it was read.
    pub seen: Seen,
}

/// How a figure came here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// Read in a public copy.
    Read,
    /// Remembered: shown, never leaned on.
    FromMemory,
}

/// Food for which holding at a lower temperature is published here. Poultry is not among it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeldFood {
    /// Whole roasts of beef.
    BeefRoast,
    /// Whole roasts of pork.
    PorkRoast,
    /// Minced, injected or tenderized meat, and pooled eggs.
    Comminuted,
    /// Eggs for immediate service, whole fish and meat.
    ForImmediateService,
}

impl Row {
    /// Its °C, as printed.
    pub fn celsius(&self) -> Celsius {
        Celsius::from_ten_thousandths(i32::from(self.hundredths) * 100).expect("at most 655.35 °C")
    }

    /// The lowest temperature that is the row's own: its °F or its °C, one of which was rounded up from the other.
    pub fn from(&self) -> Celsius {
        let exact = (i32::from(self.fahrenheit) - 32) * 50_000;
        // rounded up to the next 0.0001 °C
        let up = exact.div_euclid(9) + i32::from(exact.rem_euclid(9) > 0);
        Celsius::from_ten_thousandths(up).map_or(self.celsius(), |f| f.min(self.celsius()))
    }
}

impl HeldFood {
    /// The tables that hold for it.
    pub const fn tables(self) -> &'static [&'static Published] {
        match self {
            Self::BeefRoast => &[&BEEF_7_LOG, &BEEF_6_5_LOG, &ROASTS],
            Self::PorkRoast => &[&ROASTS],
            Self::Comminuted => &[&COMMINUTED],
            Self::ForImmediateService => &[&IMMEDIATE_SERVICE],
        }
    }
}

/// Every table here.
pub const TABLES: [&Published; 7] =
    [&BEEF_6_5_LOG, &BEEF_7_LOG, &ROASTS, &COMMINUTED, &IMMEDIATE_SERVICE, &POULTRY_ROW, &MICROWAVED];

pub(crate) const fn read(fahrenheit: u16, hundredths: u16, secs: u64) -> Row {
    Row { fahrenheit, hundredths, hold: Span::from_secs(secs), seen: Seen::Read }
}

const fn remembered(fahrenheit: u16, hundredths: u16, secs: u64) -> Row {
    Row { seen: Seen::FromMemory, ..read(fahrenheit, hundredths, secs) }
}

/// Time and temperature for cooked beef, roast beef and corned beef, 6.5-log reduction of salmonella.
pub const BEEF_6_5_LOG: Published = Published {
    title: "USDA FSIS Appendix A, 6.5-log",
    edition: "1999",
    source: "public transcription of the compliance guideline",
    food: "cooked beef, roast beef, corned beef",
    rows: &[
        read(130, 5444, 6720),
        read(131, 5500, 5340),
        read(132, 5556, 4260),
        read(133, 5611, 3360),
        read(134, 5667, 2700),
        read(135, 5722, 2160),
        read(136, 5778, 1680),
        read(137, 5833, 1380),
        read(138, 5889, 1080),
        read(139, 5944, 900),
        read(140, 6000, 720),
        read(141, 6056, 540),
        read(142, 6111, 480),
        read(143, 6167, 360),
        read(144, 6222, 300),
        read(145, 6278, 240),
        read(146, 6333, 169),
        read(147, 6389, 134),
        read(148, 6444, 107),
        read(149, 6500, 85),
        read(150, 6556, 67),
        read(151, 6611, 54),
        read(152, 6667, 43),
        read(153, 6722, 34),
        read(154, 6778, 27),
        read(155, 6833, 22),
        read(156, 6889, 17),
        read(157, 6944, 14),
        read(158, 7000, 0),
        read(159, 7056, 0),
        read(160, 7111, 0),
    ],
};

/// Time and temperature for cooked beef, roast beef and corned beef, 7-log reduction of salmonella.
pub const BEEF_7_LOG: Published = Published {
    title: "USDA FSIS Appendix A, 7-log",
    edition: "1999",
    source: "public transcription of the compliance guideline",
    food: "cooked beef, roast beef, corned beef",
    rows: &[
        read(130, 5444, 7260),
        read(131, 5500, 5820),
        read(132, 5556, 4620),
        read(133, 5611, 3720),
        read(134, 5667, 2820),
        read(135, 5722, 2220),
        read(136, 5778, 1920),
        read(137, 5833, 1440),
        read(138, 5889, 1140),
        read(139, 5944, 900),
        read(140, 6000, 720),
        read(141, 6056, 600),
        read(142, 6111, 480),
        read(143, 6167, 360),
        read(144, 6222, 300),
        read(145, 6278, 240),
        read(146, 6333, 182),
        read(147, 6389, 144),
        read(148, 6444, 115),
        read(149, 6500, 91),
        read(150, 6556, 72),
        read(151, 6611, 58),
        read(152, 6667, 46),
        read(153, 6722, 37),
        read(154, 6778, 29),
        read(155, 6833, 23),
        read(156, 6889, 19),
        read(157, 6944, 15),
        read(158, 7000, 0),
        read(159, 7056, 0),
        read(160, 7111, 0),
    ],
};

/// Whole roasts of beef, corned beef and pork. The row of the current Food Code (130 °F, 112 min) is from memory.
pub const ROASTS: Published = Published {
    title: "NAVMED P-5010-1 table 1-4",
    edition: "after an older FDA Food Code",
    source: "public copy of NAVMED P-5010-1",
    food: "whole roasts (beef, corned beef, pork)",
    rows: &[
        read(130, 5400, 7260),
        remembered(130, 5440, 6720),
        read(132, 5600, 4620),
        read(134, 5700, 2820),
        read(136, 5800, 1920),
        read(138, 5900, 1140),
        read(140, 6000, 720),
        read(142, 6100, 480),
        read(144, 6200, 300),
        read(145, 6300, 180),
    ],
};

/// Minced, injected and tenderized meat, ratites, pooled eggs. Newer editions ask for 17 s at 155 °F (from memory).
pub const COMMINUTED: Published = Published {
    title: "FDA Food Code 3-401.11",
    edition: "editions before 2017",
    source: "state rules that adopt it: South Dakota 44:02:07:28, Minnesota 4626.0340; TM 10-412",
    food: "comminuted, injected or tenderized meat, ratites, pooled eggs",
    rows: &[read(145, 6300, 180), read(150, 6600, 60), read(155, 6800, 15), read(158, 7000, 0)],
};

/// Eggs for immediate service, whole fish and meat.
pub const IMMEDIATE_SERVICE: Published = Published {
    title: "FDA Food Code 3-401.11",
    edition: "as adopted by states",
    source: "state rules that adopt it: South Dakota 44:02:07:28, Minnesota 4626.0340",
    food: "eggs for immediate service; intact fish and meat",
    rows: &[read(145, 6300, 15)],
};

/// Poultry and stuffed food: one temperature. Newer editions ask for less than a second (from memory).
pub const POULTRY_ROW: Published = Published {
    title: "FDA Food Code 3-401.11",
    edition: "editions before 2017",
    source: "state rules that adopt it: South Dakota 44:02:07:28, Minnesota 4626.0340",
    food: "poultry, stuffed foods, baluts, wild animals",
    rows: &[read(165, 7400, 15)],
};

/// Raw animal food cooked in a microwave: all parts, turned or stirred, covered, stood covered for 2 min after.
pub const MICROWAVED: Published = Published {
    title: "FDA Food Code 3-401.12",
    edition: "as copied by NAVMED P-5010-1",
    source: "public copy of NAVMED P-5010-1",
    food: "raw animal food cooked in a microwave",
    rows: &[read(165, 7400, 0)],
};

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::{string::String, vec::Vec};

    use super::*;

    const BEEF: &str = include_str!("../tests/data/fsis_appendix_a_beef.csv");
    const CODE: &str = include_str!("../tests/data/food_code_3_401_11.csv");

    fn records(text: &str) -> Vec<Vec<String>> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        reader.records().map(|r| r.unwrap().iter().map(String::from).collect()).collect()
    }

    fn number(text: &str) -> f64 {
        text.parse().unwrap()
    }

    // fsis_appendix_a_beef.csv: FSIS Appendix A (1999), public transcription, all 31 rows
    #[test]
    fn every_row_of_the_beef_table_is_here() {
        let rows = records(BEEF);
        assert_eq!(rows.len(), 31);
        for (table, column) in [(BEEF_6_5_LOG, 2), (BEEF_7_LOG, 3)] {
            assert_eq!(table.rows.len(), 31);
            for (row, printed) in table.rows.iter().zip(&rows) {
                assert_eq!(f64::from(row.fahrenheit), number(&printed[0]));
                assert!((row.celsius().degrees() - number(&printed[1])).abs() < 1e-9);
                assert_eq!(row.hold.secs(), number(&printed[column]));
            }
        }
    }

    // food_code_3_401_11.csv: rules of states that adopt the FDA Food Code, and NAVMED P-5010-1
    #[test]
    fn every_row_of_the_food_code_is_here_and_what_is_remembered_is_marked() {
        let rows = records(CODE);
        let here: Vec<Row> = TABLES[2..].iter().flat_map(|t| t.rows).copied().collect();
        assert_eq!(here.len(), rows.len());
        for printed in &rows {
            let seen = if printed[5] == "from memory" { Seen::FromMemory } else { Seen::Read };
            let same = |row: &&Row| {
                f64::from(row.fahrenheit) == number(&printed[2])
                    && (row.celsius().degrees() - number(&printed[1])).abs() < 1e-9
                    && row.hold.secs() == number(&printed[3])
                    && row.seen == seen
            };
            let printed_alike = rows.iter().filter(|r| r[1..4] == printed[1..4]).count();
            assert_eq!(here.iter().filter(same).count(), printed_alike, "{printed:?}");
        }
    }

    #[test]
    fn a_hotter_row_never_asks_for_longer() {
        for table in TABLES {
            for pair in table.rows.windows(2).filter(|pair| pair.iter().all(|row| row.seen == Seen::Read)) {
                assert!(pair[0].hundredths < pair[1].hundredths && pair[0].hold >= pair[1].hold, "{}", table.title);
            }
        }
    }

    // 145 °F are 62.7778 °C; the beef table prints 62.78, the Food Code 63
    #[test]
    fn a_row_begins_at_the_lower_of_its_two_temperatures() {
        assert_eq!(BEEF_7_LOG.rows[15].from(), Celsius::from_degrees(62.7778).unwrap());
        assert_eq!(IMMEDIATE_SERVICE.rows[0].from(), Celsius::from_degrees(62.7778).unwrap());
        assert_eq!(ROASTS.rows[0].from(), Celsius::whole(54));
    }

    #[test]
    fn poultry_has_no_table_of_times() {
        for food in [HeldFood::BeefRoast, HeldFood::PorkRoast, HeldFood::Comminuted, HeldFood::ForImmediateService] {
            assert!(food.tables().iter().all(|table| !table.food.contains("poultry")));
        }
    }
}
