//! A line on each instance, and the summary by kind and size.

use std::{collections::BTreeMap, fmt};

use serde_json::{Value, json};

use super::{
    answer::{Answer, EARLY, Status},
    checker,
    form::Form,
    replan::Replan,
};

/// The line above the lines.
pub(super) const HEAD: &str =
    "instance       steps  status          value     best    gap %  first ms  at 0.1 s   seconds       MiB";

/// How one instance went.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) steps: usize,
    pub(super) status: Status,
    pub(super) value: Option<i64>,
    pub(super) best: Option<i64>,
    pub(super) early: Option<i64>,
    pub(super) first_ms: Option<f64>,
    pub(super) seconds: f64,
    pub(super) peak_mib: Option<f64>,
    pub(super) replans: Vec<Replan>,
    /// Broken schedules and wrong claims, in words.
    pub(super) faults: Vec<String>,
}

impl Row {
    /// Holds an answer against the form and what is known; only what the checker finds counts as the value.
    pub(super) fn of(form: &Form, answer: &Answer, known: Option<i64>) -> Row {
        let best = form.best.into_iter().chain(known).min();
        let mut faults = Vec::new();
        let mut fault = |text: String| faults.push(format!("wrong: {text}"));
        let value = match answer.starts.as_deref().map(|starts| checker::value(form, starts)) {
            None => None,
            Some(Ok(value)) => {
                if answer.value != Some(value) {
                    fault(format!("the value is {value}, told was {:?}", answer.value));
                }
                Some(value)
            }
            Some(Err(broken)) => {
                fault(broken);
                None
            }
        };
        match (answer.status, value, best) {
            (Status::Broken, _, _) => fault("the process ended without an answer".into()),
            (Status::Impossible, _, Some(best)) => fault(format!("called impossible, but {best} is known")),
            (Status::Best, Some(value), Some(best)) if value > best => {
                fault(format!("{value} called best, but {best} is known"));
            }
            (Status::Best | Status::Open | Status::Impossible | Status::Nothing, _, _) => {}
        }
        if let (Some(value), Some(low)) = (value, form.low)
            && value < low
        {
            fault(format!("{value} is below the known bound {low}"));
        }
        if let Some(best) = best.into_iter().chain(value).min()
            && answer.bound > best
        {
            fault(format!("the bound {} is above a known value {best}", answer.bound));
        }
        Row {
            name: form.name.clone(),
            kind: form.kind.clone(),
            steps: form.durations.len(),
            status: answer.status,
            value,
            best,
            early: answer.early,
            first_ms: answer.first_ms,
            seconds: answer.seconds,
            peak_mib: answer.peak_mib,
            replans: answer.replans.clone(),
            faults,
        }
    }

    /// By how many per cent the value lies above the best known one; nothing found counts as the whole.
    pub(super) fn gap(&self) -> Option<f64> {
        self.above(self.value)
    }

    fn above(&self, value: Option<i64>) -> Option<f64> {
        let best = self.best?;
        Some(value.map_or(100.0, |value| 100.0 * (value - best) as f64 / best.max(1) as f64))
    }

    pub(super) fn is_proven(&self) -> bool {
        match self.status {
            Status::Best | Status::Impossible => true,
            Status::Open | Status::Nothing | Status::Broken => false,
        }
    }

    /// Whether a plan was there early, if there is a plan at all.
    pub(super) fn is_in_time(&self) -> bool {
        match self.status {
            Status::Best | Status::Open => self.first_ms.is_some_and(|first| first <= EARLY.as_secs_f64() * 1e3),
            Status::Impossible => true,
            Status::Nothing | Status::Broken => self.best.is_none(),
        }
    }

    pub(super) fn json(&self) -> Value {
        json!({
            "name": self.name, "kind": self.kind, "steps": self.steps, "status": self.status, "proven": self.is_proven(),
            "value": self.value, "best": self.best, "early": self.early, "first_ms": self.first_ms, "seconds": self.seconds,
            "peak_mib": self.peak_mib, "faults": self.faults,
        })
    }
}

impl fmt::Display for Row {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let status = match self.status {
            Status::Best => "best, proven",
            Status::Open => "open",
            Status::Impossible => "impossible",
            Status::Nothing => "nothing found",
            Status::Broken => "no answer",
        };
        let whole = |value: Option<i64>| value.map_or("-".into(), |value| value.to_string());
        let part = |value: Option<f64>, digits: usize| value.map_or("-".into(), |value| format!("{value:.digits$}"));
        write!(out, "{:14} {:5}  {status:13} {:>7}  ", self.name, self.steps, whole(self.value))?;
        write!(out, "{:>7}  {:>7}  ", whole(self.best), part(self.value.and(self.gap()), 2))?;
        write!(out, "{:>8}  {:>8}  {:8.3}  ", part(self.first_ms, 2), whole(self.early), self.seconds)?;
        write!(out, "{:>8}", part(self.peak_mib, 1))
    }
}

/// Shares of a group of instances; a share of nothing is none.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tally {
    pub(super) count: usize,
    /// Per cent at the best known value.
    pub(super) hits: Option<f64>,
    /// Per cent within one per cent of it.
    pub(super) near: Option<f64>,
    /// Per cent proven.
    pub(super) proven: Option<f64>,
    /// Mean per cent above it.
    pub(super) gap: Option<f64>,
    /// The same by the time a plan must be there.
    pub(super) early_gap: Option<f64>,
}

impl Tally {
    pub(super) fn of<'r>(rows: impl Iterator<Item = &'r Row>) -> Tally {
        let rows: Vec<&Row> = rows.collect();
        let mean =
            |numbers: Vec<f64>| (!numbers.is_empty()).then(|| numbers.iter().sum::<f64>() / numbers.len() as f64);
        let per_cent = |holds: bool| if holds { 100.0 } else { 0.0 };
        let gaps: Vec<f64> = rows.iter().filter_map(|row| row.gap()).collect();
        Tally {
            count: rows.len(),
            hits: mean(gaps.iter().map(|&gap| per_cent(gap <= 0.0)).collect()),
            near: mean(gaps.iter().map(|&gap| per_cent(gap <= 1.0)).collect()),
            proven: mean(rows.iter().map(|row| per_cent(row.is_proven())).collect()),
            early_gap: mean(rows.iter().filter_map(|row| row.above(row.early)).collect()),
            gap: mean(gaps),
        }
    }
}

/// The table by kind and size.
pub(super) fn summary(rows: &[Row]) -> String {
    const SIZES: [(&str, usize, usize); 5] =
        [("to 30", 0, 30), ("31-60", 31, 60), ("61-90", 61, 90), ("above 90", 91, usize::MAX), ("all", 0, usize::MAX)];
    let mut text =
        String::from("\nkind        steps     count  best known  proven  within 1 %  mean gap %  at 0.1 s %\n");
    let mut kinds: BTreeMap<&str, Vec<&Row>> = BTreeMap::new();
    for row in rows {
        kinds.entry(&row.kind).or_default().push(row);
    }
    let kinds = kinds.into_iter().chain([("all", rows.iter().collect())]);
    for (kind, members) in kinds {
        for (size, least, most) in SIZES {
            let tally = Tally::of(members.iter().copied().filter(|row| (least..=most).contains(&row.steps)));
            if tally.count == 0 {
                continue;
            }
            let share = |share: Option<f64>| share.map_or("-".into(), |share| format!("{share:.0} %"));
            let gap = |gap: Option<f64>| gap.map_or("-".into(), |gap| format!("{gap:.3}"));
            text.push_str(&format!(
                "{kind:11} {size:9} {:5}  {:>10}  {:>6}  {:>10}  {:>10}  {:>10}\n",
                tally.count,
                share(tally.hits),
                share(tally.proven),
                share(tally.near),
                gap(tally.gap),
                gap(tally.early_gap),
            ));
        }
    }
    text
}
