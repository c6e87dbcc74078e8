use core::fmt;

use quantities::Span;

use crate::{Integral, Kinetics, Published, Row};

/// What an integral amounts to against one row of a table: a statement of what was measured, never a verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Claim {
    /// The table.
    pub table: &'static Published,
    /// The row at whose temperature the minutes count.
    pub row: Row,
    /// The equivalent time at the row's temperature, by the best value.
    pub equivalent: Span,
    /// The same by the lower bound of the temperature.
    pub at_least: Span,
    /// How much the times of the table may lie off the line that they are integrated with, in powers of ten.
    pub misfit: f64,
}

/// Where a claim stands against its row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// This much of the row's time is missing.
    Short(Span),
    /// The time of the row was reached.
    Reached,
}

impl Claim {
    /// Against a row of a table, by the kinetics that the integral was made with; nothing for a row without a time, where
    /// only its temperature counts.
    pub fn new(integral: &Integral, table: &'static Published, row: Row) -> Option<Self> {
        if row.hold.is_zero() {
            return None;
        }
        let kinetics = integral.kinetics();
        // the row's higher temperature: its minutes are worth more, so fewer of them are claimed
        let worth = kinetics.rate(row.celsius().max(row.from()).degrees());
        let misfit = kinetics.misfit;
        Some(Self {
            table,
            row,
            equivalent: span(integral.minutes() / worth),
            at_least: span(integral.at_least_minutes() / worth),
            misfit,
        })
    }

    /// An integral that counts only what lies within a table: from its coldest row to its last row with a time.
    pub fn integral(kinetics: Kinetics, table: &Published) -> Option<Integral> {
        let mut timed = table.rows.iter().filter(|row| !row.hold.is_zero());
        let coldest = timed.next()?;
        let hottest = timed.next_back().unwrap_or(coldest);
        Some(Integral::within(kinetics, coldest.from(), hottest.celsius()))
    }

    /// Where it stands: the lower bound of the temperature counts, and the time asked is made longer by as much as the table
    /// lies off the line.
    pub fn standing(&self) -> Standing {
        let asked = libm::ceil(self.row.hold.millis() as f64 * libm::pow(10.0, self.misfit));
        let short = Span::from_millis(asked as u64).saturating_sub(self.at_least);
        if short.is_zero() { Standing::Reached } else { Standing::Short(short) }
    }
}

impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { table, row, equivalent, at_least, .. } = self;
        let minutes = |span: &Span| span.secs() / 60.0;
        let degrees = row.celsius().degrees();
        write!(
            f,
            "equivalent to {:.1} min at {degrees:.2} °C, at least {:.1} min; {:.1} min asked by {}, {}, row {} °F ({}). ",
            minutes(equivalent),
            minutes(at_least),
            minutes(&row.hold),
            table.title,
            table.edition,
            row.fahrenheit,
            table.source,
        )?;
        match self.standing() {
            Standing::Short(by) => write!(f, "{:.1} min short. ", libm::ceil(by.secs() / 6.0) / 10.0)?,
            Standing::Reached => f.write_str("Time of the row reached. ")?,
        }
        f.write_str("The local food code and a trained person decide")
    }
}

fn span(minutes: f64) -> Span {
    // rounded down: never more than was measured
    Span::from_millis((minutes * 60_000.0).clamp(0.0, Span::LONGEST.millis() as f64) as u64)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::format;

    use quantities::{Celsius, RunTime};

    use super::*;
    use crate::{BEEF, BEEF_6_5_LOG, BEEF_7_LOG, Both, TABLES};

    fn hold(table: &'static Published, at: Celsius, secs: u64, below: f64) -> Integral {
        let mut integral = Claim::integral(BEEF, table).unwrap();
        for s in 0..=secs {
            let at_least = Celsius::from_degrees(at.degrees() - below).unwrap();
            integral.take(Both { best: at, at_least }, RunTime::from_millis(s * 1000));
        }
        integral
    }

    // FSIS Appendix A (1999), both columns: each row held for its own time is its own time
    #[test]
    fn a_row_held_for_its_time_is_equivalent_to_itself() {
        let mut rows = 0;
        for table in [&BEEF_6_5_LOG, &BEEF_7_LOG] {
            for row in table.rows.iter().filter(|row| !row.hold.is_zero()) {
                let at = row.celsius().max(row.from());
                let claim = Claim::new(&hold(table, at, row.hold.whole_secs(), 0.0), table, *row).unwrap();
                assert!((claim.equivalent.secs() - row.hold.secs()).abs() < 0.01, "{claim:?}");
                rows += 1;
            }
        }
        assert_eq!(rows, 56);
    }

    // every row's time is equivalent to the 140 °F row's within the misfit of the two, 0.084 powers of ten
    #[test]
    fn the_rows_are_equivalent_to_one_another_within_the_misfit() {
        let sixty = BEEF_7_LOG.rows[10];
        assert_eq!(sixty.fahrenheit, 140);
        for row in BEEF_7_LOG.rows.iter().filter(|row| !row.hold.is_zero()) {
            let at = row.celsius().max(row.from());
            let claim = Claim::new(&hold(&BEEF_7_LOG, at, row.hold.whole_secs(), 0.0), &BEEF_7_LOG, sixty).unwrap();
            let off = libm::log10(claim.equivalent.secs() / sixty.hold.secs());
            assert!(off.abs() <= 2.0 * BEEF.misfit, "{} °F: {off}", row.fahrenheit);
        }
    }

    // by hand: 12 min at 60 °C are asked; the misfit makes them 12 · 10^0.042 = 13.22 min
    #[test]
    fn the_lower_bound_decides_and_the_misfit_is_added() {
        let row = BEEF_7_LOG.rows[10];
        let claim = |secs, below| {
            Claim::new(&hold(&BEEF_7_LOG, Celsius::whole(60), secs, below), &BEEF_7_LOG, row).unwrap().standing()
        };
        assert!(matches!(claim(780, 0.0), Standing::Short(_)));
        assert_eq!(claim(794, 0.0), Standing::Reached);
        assert!(matches!(claim(794, 0.15), Standing::Short(_)));
        assert_eq!(claim(850, 0.15), Standing::Reached);
    }

    #[test]
    fn a_claim_names_its_table_and_gives_no_verdict() {
        let row = BEEF_7_LOG.rows[10];
        let claim = Claim::new(&hold(&BEEF_7_LOG, Celsius::whole(60), 600, 0.15), &BEEF_7_LOG, row).unwrap();
        assert_eq!(
            format!("{claim}"),
            "equivalent to 10.0 min at 60.00 °C, at least 9.4 min; 12.0 min asked by USDA FSIS Appendix A, 7-log, 1999, \
             row 140 °F (public transcription of the compliance guideline). 3.9 min short. The local food code and a \
             trained person decide"
        );
        let long = Claim::new(&hold(&BEEF_7_LOG, Celsius::whole(60), 900, 0.0), &BEEF_7_LOG, row).unwrap();
        for text in [format!("{claim}"), format!("{long}")] {
            let mut words = text.split(|c: char| !c.is_alphabetic());
            assert!(!words.any(|word| word.eq_ignore_ascii_case("safe")), "{text}");
        }
    }

    #[test]
    fn a_row_without_a_time_is_no_claim() {
        for table in TABLES {
            for row in table.rows.iter().filter(|row| row.hold.is_zero()) {
                assert_eq!(Claim::new(&Integral::new(BEEF), table, *row), None);
            }
        }
    }
}
