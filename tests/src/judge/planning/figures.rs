//! What is wanted, and what was found.

use std::fmt;

use super::table::{Row, Tally};

/// One wanted figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Figure {
    pub(super) name: &'static str,
    found: f64,
    unit: &'static str,
    wanted: Wanted,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Wanted {
    AtLeast(f64),
    AtMost(f64),
}

impl Figure {
    pub(super) fn is_met(&self) -> bool {
        match self.wanted {
            Wanted::AtLeast(least) => self.found >= least,
            Wanted::AtMost(most) => self.found <= most,
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let met = if self.is_met() { "met" } else { "MISSED" };
        let (word, bound) = match self.wanted {
            Wanted::AtLeast(least) => ("at least", least),
            Wanted::AtMost(most) => ("at most", most),
        };
        write!(out, "{met:7} {}: {:.3} {} (wanted {word} {bound})", self.name, self.found, self.unit)
    }
}

/// All figures that the rows can show.
pub(super) fn of(rows: &[Row]) -> Vec<Figure> {
    let all = Tally::of(rows.iter());
    let kitchens = Tally::of(rows.iter().filter(|row| row.kind == "kitchen"));
    let large = Tally::of(rows.iter().filter(|row| (61..=90).contains(&row.steps)));
    let wrong = rows.iter().map(|row| row.faults.len()).sum::<usize>() as f64;
    let late = rows.iter().filter(|row| !row.is_in_time()).count() as f64;
    let most = |numbers: &mut dyn Iterator<Item = f64>| numbers.reduce(f64::max);
    let replans = || rows.iter().flat_map(|row| &row.replans);
    let p95 = |times: Vec<Option<f64>>| quantile(times.into_iter().map(|time| time.unwrap_or(f64::INFINITY)).collect());
    let without = replans().filter(|replan| replan.first_ms.is_none()).count();
    let figures = [
        ("broken schedules and wrong proofs", Some(wrong), "", Wanted::AtMost(0.0)),
        ("without a plan at 0.1 s", Some(late), "", Wanted::AtMost(0.0)),
        ("best known value", all.hits, "%", Wanted::AtLeast(88.0)),
        ("mean gap of kitchens", kitchens.gap, "%", Wanted::AtMost(0.1)),
        ("proven", all.proven, "%", Wanted::AtLeast(75.0)),
        ("61 to 90 steps within 1 %", large.near, "%", Wanted::AtLeast(95.0)),
        ("memory", most(&mut rows.iter().filter_map(|row| row.peak_mib)), "MiB", Wanted::AtMost(16.0)),
        ("re-plan, first plan, 95 %", p95(replans().map(|r| r.first_ms).collect()), "ms", Wanted::AtMost(5.0)),
        ("re-plan within 1 %, 95 %", p95(replans().map(|r| r.near_ms).collect()), "ms", Wanted::AtMost(50.0)),
        ("re-plans without a plan", replans().next().map(|_| without as f64), "", Wanted::AtMost(0.0)),
    ];
    let shown = figures.into_iter().filter_map(|(name, found, unit, wanted)| Some((name, found?, unit, wanted)));
    shown.map(|(name, found, unit, wanted)| Figure { name, found, unit, wanted }).collect()
}

/// The least number that 95 % of all are not above.
fn quantile(mut numbers: Vec<f64>) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    numbers.get((numbers.len() * 95).div_ceil(100).saturating_sub(1)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quantile_leaves_one_in_twenty_above_it() {
        let numbers = |count: i32| (1..=count).rev().map(f64::from).collect();
        assert_eq!(quantile(numbers(20)), Some(19.0));
        assert_eq!(quantile(numbers(100)), Some(95.0));
        assert_eq!(quantile(numbers(1)), Some(1.0));
        assert_eq!(quantile(Vec::new()), None);
    }

    #[test]
    fn a_figure_is_met_up_to_its_bound() {
        let figure = |found, wanted| Figure { name: "x", found, unit: "%", wanted };
        assert!(figure(88.0, Wanted::AtLeast(88.0)).is_met());
        assert!(!figure(87.9, Wanted::AtLeast(88.0)).is_met());
        assert!(figure(16.0, Wanted::AtMost(16.0)).is_met());
        let missed = figure(16.1, Wanted::AtMost(16.0));
        assert_eq!(missed.to_string(), "MISSED  x: 16.100 % (wanted at most 16)");
    }
}
