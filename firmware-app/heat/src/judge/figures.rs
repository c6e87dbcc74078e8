//! Figures held against what is accepted and what is aimed at.

use core::fmt;

/// What a figure is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// As good as was aimed at.
    Aim,
    /// Good enough.
    Accepted,
    /// Not good enough.
    Missed,
    /// There was nothing to measure it on, and that is no fault.
    Empty,
}

/// What a figure may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Bound {
    /// This or less.
    AtMost(f64),
    /// This or more.
    AtLeast(f64),
    /// From the first to the second.
    From(f64, f64),
}

/// One figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// What was found; none if there was nothing to measure it on.
    pub found: Option<f64>,
    unit: &'static str,
    accept: Option<Bound>,
    aim: Option<Bound>,
    needed: bool,
}

impl Figure {
    pub(super) fn new(name: impl Into<String>, found: f64, unit: &'static str, accept: Bound) -> Self {
        let found = Some(found).filter(|found| found.is_finite());
        Self { name: name.into(), found, unit, accept: Some(accept), aim: None, needed: false }
    }

    /// A figure that is aimed at and never missed.
    pub(super) fn aimed(name: impl Into<String>, found: f64, unit: &'static str, aim: Bound) -> Self {
        Self { accept: None, ..Self::new(name, found, unit, aim).aim(aim) }
    }

    pub(super) fn aim(self, aim: Bound) -> Self {
        Self { aim: Some(aim), ..self }
    }

    /// Missed if there is nothing to measure it on.
    pub(super) fn needed(self) -> Self {
        Self { needed: true, ..self }
    }

    /// What it is worth.
    pub fn grade(&self) -> Grade {
        match self.found {
            None if self.needed => Grade::Missed,
            None => Grade::Empty,
            Some(found) if self.accept.is_some_and(|accept| !accept.holds(found)) => Grade::Missed,
            Some(found) if self.aim.is_some_and(|aim| aim.holds(found)) => Grade::Aim,
            Some(_) => Grade::Accepted,
        }
    }
}

impl Bound {
    fn holds(self, found: f64) -> bool {
        match self {
            Self::AtMost(most) => found <= most,
            Self::AtLeast(least) => found >= least,
            Self::From(least, most) => (least..=most).contains(&found),
        }
    }
}

impl fmt::Display for Bound {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AtMost(most) => write!(out, "at most {most}"),
            Self::AtLeast(least) => write!(out, "at least {least}"),
            Self::From(least, most) => write!(out, "{least} to {most}"),
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.pad(match self {
            Self::Aim => "aim met",
            Self::Accepted => "accepted",
            Self::Missed => "MISSED",
            Self::Empty => "no data",
        })
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:9} {}: ", self.grade(), self.name)?;
        match self.found {
            Some(found) => write!(out, "{found:.2} {}", self.unit)?,
            None => write!(out, "nothing told")?,
        }
        match (self.accept, self.aim) {
            (Some(accept), Some(aim)) => write!(out, " (accept {accept}, aim {aim})"),
            (Some(accept), None) => write!(out, " (accept {accept})"),
            (None, Some(aim)) => write!(out, " (aim {aim})"),
            (None, None) => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_aimed_at_accepted_or_missed() {
        let grade = |found| Figure::new("x", found, "%", Bound::AtMost(12.0)).aim(Bound::AtMost(8.0)).grade();
        assert_eq!([8.0, 12.0, 12.1].map(grade), [Grade::Aim, Grade::Accepted, Grade::Missed]);
        let within = |found| Figure::new("x", found, "%", Bound::From(76.0, 90.0)).grade();
        assert_eq!([75.9, 76.0, 90.1].map(within), [Grade::Missed, Grade::Accepted, Grade::Missed]);
        assert_eq!(Figure::new("x", 49.0, "%", Bound::AtLeast(50.0)).grade(), Grade::Missed);
    }

    #[test]
    fn nothing_to_measure_is_a_miss_only_where_it_is_needed() {
        let figure = Figure::new("x", f64::NAN, "%", Bound::AtMost(12.0));
        assert_eq!(figure.grade(), Grade::Empty);
        assert_eq!(figure.needed().grade(), Grade::Missed);
    }

    #[test]
    fn a_missed_figure_says_what_was_accepted() {
        let figure = Figure::new("late", 13.0, "%", Bound::AtMost(12.0)).aim(Bound::AtMost(10.0));
        assert_eq!(figure.to_string(), "MISSED    late: 13.00 % (accept at most 12, aim at most 10)");
    }
}
