use quantities::{Celsius, Span};

use crate::Seen;

/// How fast a population dies: D minutes for a tenth to be left at a reference temperature, ten times as fast for each z
/// degrees more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kinetics {
    /// The organism, or the table that it is fitted to.
    pub organism: &'static str,
    /// In which medium it was measured.
    pub medium: &'static str,
    /// The reference temperature in °C.
    pub reference: f64,
    /// Minutes for a tenth to be left there.
    pub d_minutes: f64,
    /// Degrees for ten times the speed.
    pub z: f64,
    /// How far the table that it was fitted to lies off at most, in powers of ten; zero for a measured organism.
    pub misfit: f64,
    /// Where it comes from.
    pub source: &'static str,
    /// How it was read.
    pub seen: Seen,
}

/// Fitted to the beef table of FSIS Appendix A.
pub const BEEF: Kinetics = Kinetics {
    organism: "salmonella, as implied by the beef table of USDA FSIS Appendix A (1999)",
    medium: "beef",
    reference: 60.0,
    d_minutes: 1.7696,
    z: 5.562,
    misfit: 0.042,
    source: "least squares over the 28 rows of the table with a time",
    seen: Seen::Read,
};

/// Every organism here. Rows that name no z are left out: without one nothing can be integrated.
pub const ORGANISMS: [Kinetics; 5] = [
    BEEF,
    Kinetics {
        organism: "L. monocytogenes",
        medium: "meat",
        reference: 70.0,
        d_minutes: 0.3333,
        z: 7.5,
        misfit: 0.0,
        source: "MPI New Zealand Technical Paper 2016/05: six tenfold reductions at 70 °C in 2 min; z from memory",
        seen: Seen::FromMemory,
    },
    Kinetics {
        organism: "E. coli O157:H7",
        medium: "lean ground beef",
        reference: 60.0,
        d_minutes: 3.17,
        z: 6.0,
        misfit: 0.0,
        source: "Juneja et al. 1997, Int. J. Food Microbiol. 35:231 (abstract)",
        seen: Seen::Read,
    },
    Kinetics {
        organism: "C. botulinum, F0",
        medium: "low-acid food",
        reference: 121.1,
        d_minutes: 0.21,
        z: 10.0,
        misfit: 0.0,
        source: "convention of canning",
        seen: Seen::FromMemory,
    },
    Kinetics {
        organism: "psychrotrophic C. botulinum",
        medium: "chilled food",
        reference: 90.0,
        d_minutes: 1.667,
        z: 10.0,
        misfit: 0.0,
        source: "six tenfold reductions at 90 °C in 10 min; z 7 to 10",
        seen: Seen::FromMemory,
    },
];

impl Kinetics {
    /// How many minutes at the reference one minute at a temperature is worth.
    pub fn rate(&self, degrees: f64) -> f64 {
        libm::exp((degrees - self.reference) / self.z * core::f64::consts::LN_10)
    }

    /// Tenfold reductions after these equivalent minutes at the reference.
    pub fn log_reduction(&self, equivalent_minutes: f64) -> f64 {
        equivalent_minutes / self.d_minutes
    }

    /// How long a temperature is held for this many tenfold reductions.
    pub fn hold(&self, at: Celsius, reductions: f64) -> Span {
        let secs = reductions * self.d_minutes * 60.0 / self.rate(at.degrees());
        Span::from_millis(libm::ceil((secs * 1000.0).clamp(0.0, Span::LONGEST.millis() as f64)) as u64)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::vec::Vec;

    use super::*;
    use crate::{BEEF_6_5_LOG, BEEF_7_LOG};

    const TABLE: &str = include_str!("../tests/data/d_z_values.csv");

    // d_z_values.csv, every row with a z
    #[test]
    fn the_table_of_organisms_is_here() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(TABLE.as_bytes()).records() {
            let row = row.unwrap();
            let Ok(z) = row[4].parse::<f64>() else { continue };
            let (reference, d): (f64, f64) = (row[2].parse().unwrap(), row[3].parse().unwrap());
            let found = ORGANISMS.iter().find(|o| (o.reference, o.d_minutes, o.z) == (reference, d, z));
            let found = found.unwrap_or_else(|| panic!("{} is missing", &row[0]));
            assert_eq!(found.seen == Seen::FromMemory, row[6].contains("memory"), "{}", &row[0]);
            rows += 1;
        }
        assert_eq!(rows, ORGANISMS.len());
        let without: Vec<csv::StringRecord> = csv::Reader::from_reader(TABLE.as_bytes())
            .records()
            .map(Result::unwrap)
            .filter(|row| row[4].is_empty())
            .collect();
        assert_eq!(without.len(), 1, "{without:?}");
    }

    // d_z_values.csv, first row: least squares here over the rows of the 6.5-log column with a time
    #[test]
    fn the_fit_of_the_beef_table_comes_out_again() {
        let rows: Vec<(f64, f64)> = BEEF_6_5_LOG
            .rows
            .iter()
            .filter(|row| !row.hold.is_zero())
            .map(|row| (row.celsius().degrees() - 60.0, libm::log10(row.hold.secs() / 60.0 / 6.5)))
            .collect();
        let n = rows.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| rows.iter().map(of).sum::<f64>() / n;
        let (t, d) = (mean(|row| row.0), mean(|row| row.1));
        let slope = mean(|row| row.0 * row.1) - t * d;
        let slope = slope / (mean(|row| row.0 * row.0) - t * t);
        assert!((-1.0 / slope - BEEF.z).abs() < 0.002, "z {}", -1.0 / slope);
        let d_at_60 = libm::pow(10.0, d - slope * t);
        assert!((d_at_60 / BEEF.d_minutes - 1.0).abs() < 0.001, "D {d_at_60}");
    }

    // MPI New Zealand Technical Paper 2016/05, as quoted in d_z_values.csv: six tenfold reductions at 70 °C in 2 min
    #[test]
    fn six_reductions_of_listeria_take_two_minutes_at_seventy() {
        let minutes = ORGANISMS[1].hold(Celsius::whole(70), 6.0).secs() / 60.0;
        assert!((minutes - 2.0).abs() < 0.001, "{minutes}");
    }

    // FSIS Appendix A (1999): 28 rows of each column with a time; the fit is stated to lie within 0.042 powers of ten
    #[test]
    fn the_fit_meets_every_row_of_the_beef_table() {
        for (table, reductions) in [(BEEF_6_5_LOG, 6.5), (BEEF_7_LOG, 7.0)] {
            let mut rows = 0;
            for row in table.rows.iter().filter(|row| !row.hold.is_zero()) {
                let fitted = BEEF.hold(row.celsius(), reductions).secs();
                let off = libm::log10(fitted / row.hold.secs());
                assert!(off.abs() <= BEEF.misfit, "{}: {} °F {fitted} s, {off}", table.title, row.fahrenheit);
                rows += 1;
            }
            assert_eq!(rows, 28);
        }
    }

    // Juneja et al. 1997, as quoted in d_z_values.csv: D 21.13 min at 55 °C, 0.39 min at 65 °C; z is rounded to 6.0,
    // and the measured times bend: at 57.5 °C the straight line asks for 1.67 times as long
    #[test]
    fn the_measured_times_of_one_organism_are_met_within_the_bend_of_its_line() {
        let coli = ORGANISMS[2];
        for (at, minutes) in [(55.0, 21.13), (57.5, 4.95), (62.5, 0.93), (65.0, 0.39)] {
            let ratio = coli.d_minutes / coli.rate(at) / minutes;
            assert!((0.6..1.7).contains(&ratio), "{at} °C: {ratio}");
        }
    }
}
