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
    /// The readings of so long back count as their mean; none where each reading counts by itself.
    pub mean_of_ms: Option<i64>,
}

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
    for (i, (at, celsius)) in seen.iter().copied().enumerate() {
        let value = match target.mean_of_ms {
            None => celsius,
            Some(back) => {
                let window: Vec<i64> =
                    seen[..=i].iter().filter(|(then, _)| at - then <= back).map(|(_, celsius)| *celsius).collect();
                window.iter().sum::<i64>().div_euclid(window.len() as i64)
            }
        };
        let gap = i > 0 && at - seen[i - 1].0 > GAP_MS;
        match since {
            None if value >= target.celsius => {
                found.crossed.push(at);
                since = Some(at);
            }
            None => {}
            Some(_) if gap || value < target.celsius - target.hysteresis => since = None,
            Some(start) if at - start >= target.hold_ms => {
                found.held = Some(at);
                return found;
            }
            Some(_) => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const TARGET: Target = Target { celsius: 100, hold_ms: 3000, hysteresis: 5, mean_of_ms: None };

    fn curve(values: &[Option<i64>]) -> Vec<Row> {
        let at = |i: usize| (i as i64 + 1) * 1000;
        values.iter().enumerate().map(|(i, celsius)| Row { at_ms: at(i), celsius: *celsius }).collect()
    }

    #[test]
    fn the_hold_counts_from_the_crossing() {
        let held = holding(&curve(&[99, 100, 101, 101, 101, 101].map(Some)), 0, TARGET);
        assert_eq!(held, Holding { crossed: vec![2000], held: Some(5000) });
    }

    #[test]
    fn a_dip_below_the_hysteresis_starts_it_again() {
        let within = holding(&curve(&[100, 95, 100, 100].map(Some)), 0, TARGET);
        assert_eq!(within.held, Some(4000));
        let below = holding(&curve(&[100, 94, 100, 100, 100, 100].map(Some)), 0, TARGET);
        assert_eq!(below, Holding { crossed: vec![1000, 3000], held: Some(6000) });
    }

    #[test]
    fn a_long_silence_starts_it_again() {
        let mut values = vec![Some(100)];
        values.extend([None; 6]);
        values.push(Some(100));
        assert_eq!(holding(&curve(&values), 0, TARGET).held, None);
    }

    #[test]
    fn a_mean_comes_later_than_its_readings() {
        let mean = Target { mean_of_ms: Some(2000), ..TARGET };
        let held = holding(&curve(&[90, 90, 100, 104, 106, 106, 106, 106].map(Some)), 0, mean);
        assert_eq!(held, Holding { crossed: vec![5000], held: Some(8000) });
    }
}
