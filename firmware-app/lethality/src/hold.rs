use quantities::{Celsius, RunTime, Span};

use crate::{Published, Row, Seen};

/// Follows a table literally: for every row at once, for how long without a break the temperature has been at least the
/// row's.
///
/// Fed with the lower bound at the coldest point. Nothing is interpolated and nothing adds up across a break; a silence of
/// more than 10 s is a break. Rows from memory are left out.
#[derive(Clone, Debug)]
pub struct Holds {
    table: &'static Published,
    since: [Option<RunTime>; MOST_ROWS],
    longest: [Option<Span>; MOST_ROWS],
    newest: Option<RunTime>,
}

const MOST_ROWS: usize = 32;
const GAP: Span = Span::from_secs(10);

impl Holds {
    /// For one table.
    pub const fn new(table: &'static Published) -> Self {
        Self { table, since: [None; MOST_ROWS], longest: [None; MOST_ROWS], newest: None }
    }

    /// Takes a lower bound.
    pub fn take(&mut self, at_least: Celsius, now: RunTime) {
        let broken = self.newest.is_none_or(|newest| now.since(newest) > GAP);
        self.newest = Some(now);
        let rows = self.table.rows.iter().zip(&mut self.since).zip(&mut self.longest);
        for ((row, since), longest) in rows {
            if broken || at_least < row.from() {
                *since = None;
            }
            if at_least >= row.from() {
                let held = now.since(*since.get_or_insert(now));
                *longest = Some(longest.map_or(held, |before| before.max(held)));
            }
        }
    }

    /// Breaks every hold: the probe has a fault.
    pub fn lost(&mut self) {
        self.newest = None;
    }

    /// For how long a row has been held at the longest; nothing if its temperature was never reached.
    pub fn longest(&self, row: usize) -> Option<Span> {
        self.longest.get(row).copied().flatten()
    }

    /// The coldest row that has been held for its time.
    pub fn held(&self) -> Option<&'static Row> {
        let mut rows = self.table.rows.iter().zip(&self.longest);
        rows.find(|(row, held)| row.seen == Seen::Read && held.is_some_and(|held| held >= row.hold)).map(|(row, _)| row)
    }

    /// The table.
    pub const fn table(&self) -> &'static Published {
        self.table
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{BEEF_7_LOG, ROASTS, TABLES};

    fn secs(s: u64) -> RunTime {
        RunTime::from_millis(s * 1000)
    }

    fn degrees(d: f64) -> Celsius {
        Celsius::from_degrees(d).unwrap()
    }

    #[test]
    fn the_tables_fit() {
        assert!(TABLES.iter().all(|table| table.rows.len() <= MOST_ROWS));
    }

    // FSIS Appendix A (1999), 7-log: 140 °F for 12 min; every row, held to the second and one second short
    #[test]
    fn every_row_is_held_after_its_time_and_not_before() {
        for row in BEEF_7_LOG.rows {
            let mut holds = Holds::new(&BEEF_7_LOG);
            for s in 0..=row.hold.whole_secs() {
                assert_eq!(holds.held(), None, "{} °F at {s} s", row.fahrenheit);
                holds.take(row.from(), secs(s));
            }
            // of the rows with no time, the coldest is held first
            let named = if row.hold.is_zero() { 158 } else { row.fahrenheit };
            assert_eq!(holds.held().map(|held| held.fahrenheit), Some(named));
        }
    }

    #[test]
    fn a_dip_below_the_row_begins_the_time_anew() {
        let mut holds = Holds::new(&ROASTS);
        // 62 °C asks for 300 s
        for s in 0..500 {
            holds.take(degrees(if s == 250 { 53.0 } else { 62.2 }), secs(s));
        }
        assert_eq!(holds.held(), None);
        assert_eq!(holds.longest(8), Some(Span::from_secs(249)));
        assert_eq!(holds.longest(9), None, "63 °C was never reached");
        for s in 500..=551 {
            holds.take(degrees(62.2), secs(s));
        }
        assert_eq!(holds.held().unwrap().fahrenheit, 144);
    }

    #[test]
    fn a_silence_and_a_fault_break_a_hold() {
        let mut silent = Holds::new(&ROASTS);
        for s in (0..=600).step_by(20) {
            silent.take(degrees(62.5), secs(s));
        }
        assert_eq!(silent.held(), None);
        let mut faulty = Holds::new(&ROASTS);
        for s in 0..=400 {
            if s == 200 {
                faulty.lost();
            }
            faulty.take(degrees(62.5), secs(s));
        }
        assert_eq!(faulty.held(), None);
    }
}
