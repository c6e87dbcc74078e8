//! Kitchen instances as projects: from reversed time back to the time of the cook.

use planner::{Activity, Apart, Edge, Gap, GapKind, Landing, Lasts, Need, Project, Resource, Standing};
use quantities::{Drift, RunTime, Span};
use serde_json::Value;

/// A kitchen instance, its project and its value as an instance.
pub(crate) struct Kitchen {
    pub(crate) name: String,
    pub(crate) steps: usize,
    pub(crate) project: Project,
}

/// What a step may take of its listed duration, in thousandths.
const LOW: u64 = 850;
const HIGH: u64 = 1300;

/// Reads the kitchens of a file; other instances are passed over.
pub(crate) fn read(text: &str) -> Result<Vec<Kitchen>, String> {
    let file: Value = serde_json::from_str(text).map_err(|error| format!("expected a list in JSON: {error}"))?;
    let list = file.as_array().ok_or("expected a list of instances in JSON")?;
    let kitchens = list.iter().filter(|instance| instance["kind"] == "kitchen");
    kitchens.map(kitchen).collect()
}

/// Node 0 is serving, the last node is the begin. `S_j >= S_i + lag` is counted back from serving: with a lag of zero or
/// more step i starts `lag - d_i` or more after step j ends; with a negative one step j starts at most `-lag - d_j` after
/// step i ends.
fn kitchen(instance: &Value) -> Result<Kitchen, String> {
    let name = instance["name"].as_str().unwrap_or("unnamed").to_owned();
    let wrong = |what: &str| format!("instance {name}: expected {what}");
    let unit = instance["unit_s"].as_u64().unwrap_or(30) * 1000;
    let tasks = instance["tasks"].as_array().ok_or_else(|| wrong("tasks"))?;
    if tasks.len() < 3 {
        return Err(wrong("serving, a begin and steps between"));
    }
    let (serving, begin) = (0, tasks.len() - 1);
    let number = |value: &Value, what: &str| value.as_i64().ok_or_else(|| wrong(what));
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let durations =
        tasks.iter().map(|task| number(&task["d"], "a duration `d` in every task")).collect::<Result<Vec<_>, _>>()?;
    let mut project = Project::default();
    let names = list(&instance["resources"]);
    for (index, capacity) in list(&instance["caps"]).iter().enumerate() {
        let name = names.get(index).and_then(Value::as_str).map_or_else(|| format!("resource {index}"), str::to_owned);
        let capacity = u16::try_from(number(capacity, "numbers in `caps`")?).map_err(|_| wrong("small capacities"))?;
        project.resources.push(Resource { name, capacity });
    }
    for (index, task) in tasks.iter().enumerate().take(begin).skip(1) {
        let mut needs = Vec::new();
        for need in list(&task["r"]) {
            let resource = usize::try_from(number(&need[0], "a resource")?).map_err(|_| wrong("a resource"))?;
            let amount = u16::try_from(number(&need[1], "an amount")?).map_err(|_| wrong("small amounts"))?;
            needs.push(Need { resource, amount });
        }
        let likely = Span::from_millis(durations[index].unsigned_abs() * unit);
        project.activities.push(Activity {
            name: task["name"].as_str().map_or_else(|| format!("step {index}"), str::to_owned),
            lasts: Lasts { low: likely.thousandths(LOW), likely, high: likely.thousandths(HIGH) },
            needs,
            standing: Standing::Open,
            not_before: None,
            keeps: false,
        });
    }
    let drift = |ticks: i64| Drift::from_millis(ticks * unit as i64);
    let mut dishes: Vec<(usize, Span)> = Vec::new();
    let mut waits: Vec<(usize, usize, Drift)> = Vec::new();
    for lag in list(&instance["prec"]) {
        let node = |at: usize| -> Result<usize, String> {
            let node = usize::try_from(number(&lag[at], "three numbers in `prec`")?).map_err(|_| wrong("a node"))?;
            if node < tasks.len() { Ok(node) } else { Err(wrong("nodes that exist in `prec`")) }
        };
        let (i, j, by) = (node(0)?, node(1)?, number(&lag[2], "three numbers in `prec`")?);
        if by < 0 && j == serving {
            dishes.push((i - 1, Span::from_millis(by.unsigned_abs() * unit)));
        } else if by < 0 && i != serving && i != begin && j != begin {
            let most = drift(-by - durations[j]);
            waits.push((i - 1, j - 1, most));
        } else if by >= 0 && j == begin {
            let after = u64::try_from(by - durations[i]).unwrap_or(0);
            if after > 0 {
                project.activities[i - 1].not_before = Some(RunTime::START + Span::from_millis(after * unit));
            }
        } else if by >= 0 && i != serving && i != begin && j != serving {
            let least = drift(by - durations[i]);
            let gap = Gap { from: j - 1, edge: Edge::End, to: i - 1, least, most: None, kind: GapKind::Order };
            project.gaps.push(gap);
        } else if !(by == 0 && i == serving) {
            return Err(wrong("lags between steps, from serving and to the begin only"));
        }
    }
    for (from, to, most) in waits {
        match project.gaps.iter_mut().find(|gap| (gap.from, gap.to) == (from, to)) {
            Some(gap) => (gap.most, gap.kind) = (Some(most), GapKind::Quality),
            None => return Err(wrong("a least wait for every longest wait")),
        }
    }
    // in reversed time the first of a pair comes last
    for pair in list(&instance["incompat"]) {
        let node =
            |at: usize| usize::try_from(number(&pair[at], "four numbers in `incompat`")?).map_err(|_| wrong("a node"));
        let setup = |at: usize| -> Result<Span, String> {
            Ok(Span::from_millis(number(&pair[at], "four numbers in `incompat`")?.unsigned_abs() * unit))
        };
        let (first, second) = (node(0)?, node(1)?);
        if !(1..begin).contains(&first) || !(1..begin).contains(&second) {
            return Err(wrong("pairs of steps"));
        }
        project.apart.push(Apart {
            first: first - 1,
            second: second - 1,
            first_then_second: setup(3)?,
            second_then_first: setup(2)?,
            resource: 0,
        });
    }
    project.landings.push(Landing {
        name: "serving".to_owned(),
        dishes: dishes.iter().map(|dish| dish.0).collect(),
        within: None,
        keeps: dishes.iter().map(|dish| Some(dish.1)).collect(),
        wanted: None,
        window: Span::from_mins(2),
        waiting_weight: 5,
    });
    Ok(Kitchen { steps: tasks.len(), name, project })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use planner::{How, arrange};
    use schedule::{Schedule, check};
    use schedule_proof::instances;

    use super::*;

    /// Two dishes of an oven with two temperatures: mix and bake, cut and roast, each plated; counted back from serving.
    const SMALL: &str = r#"[{"name": "small", "kind": "kitchen", "unit_s": 30, "resources": ["hands", "oven"],
        "caps": [1, 1],
        "tasks": [{"d": 0, "r": []}, {"d": 8, "r": [[0, 1]]}, {"d": 40, "r": [[1, 1]]}, {"d": 2, "r": [[0, 1]]},
                  {"d": 6, "r": [[0, 1]]}, {"d": 30, "r": [[1, 1]]}, {"d": 3, "r": [[0, 1]]}, {"d": 0, "r": []}],
        "prec": [[2, 1, 40], [1, 2, -60], [3, 2, 2], [2, 3, -50], [5, 4, 30], [6, 5, 8], [5, 6, -60],
                 [0, 3, 0], [3, 0, -90], [0, 6, 0], [6, 0, -90], [1, 7, 8], [2, 7, 52], [4, 7, 6], [5, 7, 30]],
        "incompat": [[2, 5, 4, 9]], "obj": [[7, 1], [3, 5], [6, 5]]}]"#;

    #[test]
    fn a_plan_of_the_project_is_a_schedule_of_the_instance_with_the_same_value() {
        let kitchen = &read(SMALL).unwrap()[0];
        let instance = &instances::read(SMALL).unwrap()[0];
        let problem = instance.problem().unwrap();
        let arranged = arrange(&kitchen.project, &How::default(), None, &mut || true).unwrap();
        let landed = arranged.plan.landings[0].at.millis();
        let ticks = |millis: u64| i32::try_from(millis / 30_000).unwrap();
        let mut starts = vec![0; kitchen.steps];
        for (step, planned) in arranged.plan.activities.iter().enumerate() {
            starts[step + 1] = ticks(landed - planned.end.millis());
        }
        starts[kitchen.steps - 1] = ticks(landed);
        assert_eq!(check(&problem, &Schedule { starts }), Ok(arranged.value));
        let best = schedule::Search::new(&problem, 1).improve(4000, &mut || true);
        assert_eq!(best.value, Some(arranged.value));
    }

    #[test]
    fn what_waits_and_what_keeps_is_read_in_the_time_of_the_cook() {
        let project = &read(SMALL).unwrap()[0].project;
        let gap = |from: usize, to: usize| project.gaps.iter().find(|gap| (gap.from, gap.to) == (from, to)).unwrap();
        // at most 60 units from the end of the mix to the end of the bake, which takes 40 of them
        assert_eq!(gap(0, 1).most, Some(Drift::from_millis((60 - 40) * 30_000)));
        // the roast rests for 5 units before it is plated
        assert_eq!(gap(4, 5).least, Drift::from_millis(5 * 30_000));
        assert_eq!(project.activities[1].not_before, Some(RunTime::from_millis(12 * 30_000)));
        assert_eq!(project.landings[0].keeps, [Some(Span::from_mins(45)), Some(Span::from_mins(45))]);
        // counted back the bake comes first with 4 units between, so for the cook the roast does
        assert_eq!(project.apart[0].second_then_first, Span::from_millis(4 * 30_000));
        assert_eq!(project.apart[0].first_then_second, Span::from_millis(9 * 30_000));
    }

    #[test]
    fn what_is_no_kitchen_is_told() {
        assert!(read("{}").is_err());
        assert!(read(r#"[{"name": "x", "kind": "kitchen"}]"#).is_err_and(|why| why.contains("tasks")));
        assert!(read(r#"[{"name": "x", "kind": "jobshop"}]"#).unwrap().is_empty());
    }
}
