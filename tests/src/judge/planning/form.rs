//! An instance read by the form's definition, apart from what the solver reads.

use serde_json::Value;

/// Start distances: `S_to >= S_from + lag`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lag {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) lag: i64,
}

/// Two that never overlap, with the set-up for either order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    pub(super) one: usize,
    pub(super) other: usize,
    pub(super) if_one_first: i64,
    pub(super) if_other_first: i64,
}

/// A planning problem as the file has it.
#[derive(Clone, Debug)]
pub(super) struct Form {
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) durations: Vec<i64>,
    /// For each activity, what it needs of which resource.
    pub(super) needs: Vec<Vec<(usize, i64)>>,
    pub(super) capacities: Vec<i64>,
    pub(super) lags: Vec<Lag>,
    pub(super) pairs: Vec<Pair>,
    pub(super) weights: Vec<(usize, i64)>,
    /// The best value or the best known one.
    pub(super) best: Option<i64>,
    /// A value that nothing gets below.
    pub(super) low: Option<i64>,
}

impl Form {
    pub(super) fn of(instance: &Value) -> Result<Form, String> {
        let name = instance["name"].as_str().ok_or("expected an instance with a name, found none")?;
        let wrong = |part: &str| format!("expected {part} of instance {name} in the form, found: {}", instance[part]);
        let rows = |part: &str, width: usize| -> Result<Vec<Vec<i64>>, String> {
            let list = &instance[part];
            if list.is_null() {
                return Ok(Vec::new());
            }
            numbers(list, width).ok_or_else(|| wrong(part))
        };
        let tasks = instance["tasks"].as_array().filter(|tasks| !tasks.is_empty()).ok_or_else(|| wrong("tasks"))?;
        let index = |number: i64| usize::try_from(number).ok().filter(|&at| at < tasks.len());
        let mut durations = Vec::new();
        let mut needs = Vec::new();
        for task in tasks {
            durations.push(task["d"].as_i64().filter(|&d| d >= 0).ok_or_else(|| wrong("tasks"))?);
            let of_task = if task["r"].is_null() { Some(Vec::new()) } else { numbers(&task["r"], 2) };
            let of_task = of_task.ok_or_else(|| wrong("tasks"))?;
            let of_task = of_task.iter().map(|need| Some((usize::try_from(need[0]).ok()?, need[1])));
            needs.push(of_task.collect::<Option<Vec<_>>>().ok_or_else(|| wrong("tasks"))?);
        }
        let capacities: Option<Vec<i64>> =
            serde_json::from_value(instance["caps"].clone()).map_err(|_| wrong("caps"))?;
        let capacities = capacities.unwrap_or_default();
        if needs.iter().flatten().any(|need| need.0 >= capacities.len()) {
            return Err(wrong("caps"));
        }
        let lags = rows("prec", 3)?;
        let lags = lags.iter().map(|row| Some(Lag { from: index(row[0])?, to: index(row[1])?, lag: row[2] }));
        let pairs = rows("incompat", 4)?;
        let pairs = pairs.iter().map(|row| {
            let (one, other) = (index(row[0])?, index(row[1])?);
            Some(Pair { one, other, if_one_first: row[2], if_other_first: row[3] })
        });
        let weights = rows("obj", 2)?;
        let weights = weights.iter().map(|row| Some((index(row[0])?, row[1])));
        let mut weights = weights.collect::<Option<Vec<_>>>().ok_or_else(|| wrong("obj"))?;
        if weights.is_empty() {
            weights.push((tasks.len() - 1, 1));
        }
        let optimum = instance["opt"].as_i64();
        Ok(Form {
            name: name.to_owned(),
            kind: instance["kind"].as_str().unwrap_or("any").to_owned(),
            needs,
            capacities,
            lags: lags.collect::<Option<Vec<_>>>().ok_or_else(|| wrong("prec"))?,
            pairs: pairs.collect::<Option<Vec<_>>>().ok_or_else(|| wrong("incompat"))?,
            weights,
            best: optimum.or(instance["ub"].as_i64()),
            low: optimum.or(instance["lb"].as_i64()),
            durations,
        })
    }
}

fn numbers(list: &Value, width: usize) -> Option<Vec<Vec<i64>>> {
    let rows: Vec<Vec<i64>> = serde_json::from_value(list.clone()).ok()?;
    rows.iter().all(|row| row.len() == width).then_some(rows)
}
