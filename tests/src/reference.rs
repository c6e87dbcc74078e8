//! When a target was held, worked out a second time: plainly, from the exported readings, without the engine.

/// A reading as the table of an export gives it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Row {
    /// Milliseconds since the trial was opened.
    pub at_ms: i64,
    /// Ten-thousandths of a degree; nothing where there was no reading.
    pub celsius: Option<i64>,
}

/// A target as a recipe says it, in the same units.
#[derive(Clone, Copy, Debug)]
pub struct Target {
    /// The temperature.
    pub celsius: i64,
    /// How long it must stay.
    pub hold_ms: i64,
    /// How far it may dip.
    pub hysteresis: i64,
    /// What readings count as.
    pub counts: Counts,
}

/// What the readings of a probe count as against a target.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// The line through the last 30 s, 3 s ahead, never downwards: doneness.
    Line,
    /// The mean of the last 10 s, less so much: a target that protects.
    MeanLess(i64),
}

/// A probe that was only just put in says this many readings before it counts.
pub const SETTLING: usize = 5;

/// What the readings say of a target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Holding {
    /// The moments at which the target was crossed, the last one that of the hold.
    pub crossed: Vec<i64>,
    /// The moment of the reading with which the hold was full.
    pub held: Option<i64>,
}

/// Two readings that lie further apart do not belong to one hold.
const GAP_MS: i64 = 5_000;

/// Reads the rows of one probe from a table of readings.
pub fn rows(csv_text: &str, probe: &str) -> Vec<Row> {
    let mut table = csv::Reader::from_reader(csv_text.as_bytes());
    let thousandths = |text: &str| (text.parse::<f64>().unwrap() * 1000.0).round() as i64;
    let row = |record: csv::StringRecord| {
        let celsius = record[3].parse::<f64>().ok().map(|degrees| (degrees * 10_000.0).round() as i64);
        assert_eq!(celsius.is_some(), record[4].is_empty(), "a reading or its reason, never both: {record:?}");
        (record[1] == *probe).then(|| Row { at_ms: thousandths(&record[2]), celsius })
    };
    table.records().filter_map(|record| row(record.unwrap())).collect()
}

/// Says when a step that runs from `from_ms` on held its target.
pub fn holding(rows: &[Row], from_ms: i64, target: Target) -> Holding {
    let seen: Vec<(i64, i64)> =
        rows.iter().filter(|row| row.at_ms > from_ms).filter_map(|row| Some((row.at_ms, row.celsius?))).collect();
    let mut found = Holding { crossed: Vec::new(), held: None };
    let mut since: Option<i64> = None;
    for (i, (at, _)) in seen.iter().copied().enumerate() {
        if since.is_some() && i > 0 && at - seen[i - 1].0 > GAP_MS {
            since = None;
            continue;
        }
        let Some(value) = value(&seen[..=i], target.counts) else { continue };
        match since {
            None if value >= target.celsius => {
                found.crossed.push(at);
                since = Some(at);
            }
            None => {}
            Some(_) if value < target.celsius - target.hysteresis => since = None,
            Some(start) if at - start >= target.hold_ms => {
                found.held = Some(at);
                return found;
            }
            Some(_) => {}
        }
    }
    found
}

/// What readings come to at the last of them; nothing while they are too few.
fn value(seen: &[(i64, i64)], counts: Counts) -> Option<i64> {
    let (now, _) = *seen.last()?;
    let back = match counts {
        Counts::Line => 30_000,
        Counts::MeanLess(_) => 10_000,
    };
    let last: Vec<(f64, f64)> = seen
        .iter()
        .filter(|(at, _)| now - at < back)
        .map(|(at, celsius)| ((at - now) as f64 / 1000.0, *celsius as f64))
        .collect();
    let fills = last.first()?.0 <= -0.6 * back as f64 / 1000.0;
    if !fills || last.len() < 8 {
        return None;
    }
    let n = last.len() as f64;
    let (sum_t, sum_c) = last.iter().fold((0.0, 0.0), |(t, c), one| (t + one.0, c + one.1));
    let found = match counts {
        Counts::MeanLess(less) => sum_c / n - less as f64,
        Counts::Line => {
            // the sums of the textbook, not those of the engine
            let (sum_tt, sum_tc) =
                last.iter().fold((0.0, 0.0), |(tt, tc), one| (tt + one.0 * one.0, tc + one.0 * one.1));
            let slope = ((n * sum_tc - sum_t * sum_c) / (n * sum_tt - sum_t * sum_t)).max(0.0);
            sum_c / n + slope * (3.0 - sum_t / n)
        }
    };
    Some(found.floor() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(from: i64, to: i64, seconds: i64) -> Vec<Row> {
        let row = |s: i64| Row { at_ms: s * 1000, celsius: Some(from + (to - from) * s / seconds) };
        (1..=seconds).map(row).collect()
    }

    fn target(counts: Counts) -> Target {
        Target { celsius: 1000, hold_ms: 3000, hysteresis: 5, counts }
    }

    #[test]
    fn a_straight_rise_is_met_three_seconds_before_it_is_there() {
        // 10 a second: 1000 at 50 s
        let held = holding(&curve(500, 1500, 100), 0, target(Counts::Line));
        assert_eq!(held, Holding { crossed: vec![47_000], held: Some(50_000) });
    }

    #[test]
    fn a_mean_less_something_comes_later() {
        // the mean of ten readings is 4.5 s behind, 20 less is two seconds more
        let held = holding(&curve(500, 1500, 100), 0, target(Counts::MeanLess(20)));
        assert_eq!(held, Holding { crossed: vec![57_000], held: Some(60_000) });
    }

    #[test]
    fn a_dip_below_the_hysteresis_starts_it_again() {
        let mut rows = curve(985, 1015, 60);
        let fall = |s: i64| Row { at_ms: (60 + s) * 1000, celsius: Some(1015 - s) };
        rows.extend((1..=40).map(fall));
        rows.extend((1..=80).map(|s| Row { at_ms: (100 + s) * 1000, celsius: Some(975 + s) }));
        let held = holding(&rows, 0, Target { hold_ms: 50_000, ..target(Counts::MeanLess(0)) });
        assert_eq!(held.crossed.len(), 2, "{held:?}");
        assert_eq!(held.held, held.crossed.last().map(|since| since + 50_000));
    }

    #[test]
    fn a_long_silence_starts_it_again() {
        let mut rows = curve(1000, 1010, 40);
        rows.retain(|row| row.at_ms < 20_000 || row.at_ms > 29_000);
        let whole = holding(&curve(1000, 1010, 40), 0, Target { hold_ms: 12_000, ..target(Counts::MeanLess(0)) });
        let broken = holding(&rows, 0, Target { hold_ms: 12_000, ..target(Counts::MeanLess(0)) });
        assert!(whole.held.is_some() && broken.held.is_none(), "{broken:?}");
    }
}
