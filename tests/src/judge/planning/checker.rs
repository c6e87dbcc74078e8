//! Checks a schedule by the form's definition alone; it shares no code with the solver.

use super::form::Form;

/// The value of a schedule, or what it breaks.
pub(super) fn value(form: &Form, starts: &[i64]) -> Result<i64, String> {
    let count = form.durations.len();
    if starts.len() != count {
        return Err(format!("{} starts for {count} activities", starts.len()));
    }
    if let Some(early) = starts.iter().position(|&start| start < 0) {
        return Err(format!("activity {early} starts before time 0, at {}", starts[early]));
    }
    for lag in &form.lags {
        if starts[lag.to] < starts[lag.from] + lag.lag {
            let found = starts[lag.to] - starts[lag.from];
            return Err(format!(
                "activity {} starts {found} after activity {}, expected {}",
                lag.to, lag.from, lag.lag
            ));
        }
    }
    for pair in &form.pairs {
        let one_first = starts[pair.one] + form.durations[pair.one] + pair.if_one_first <= starts[pair.other];
        let other_first = starts[pair.other] + form.durations[pair.other] + pair.if_other_first <= starts[pair.one];
        if !one_first && !other_first {
            return Err(format!("activities {} and {} overlap or lack their set-up", pair.one, pair.other));
        }
    }
    // what is in use changes upwards at starts only, so it is enough to look there
    for moment in 0..count {
        let at = starts[moment];
        for &(resource, _) in &form.needs[moment] {
            let running = (0..count).filter(|&i| starts[i] <= at && at < starts[i] + form.durations[i]);
            let needs = running.flat_map(|i| &form.needs[i]).filter(|need| need.0 == resource);
            let found: i64 = needs.map(|need| need.1).sum();
            let capacity = form.capacities[resource];
            if found > capacity {
                return Err(format!("resource {resource} at {at}: {found} in use of {capacity}"));
            }
        }
    }
    Ok(form.weights.iter().map(|&(activity, weight)| weight * starts[activity]).sum())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    /// Two pans of 4 and 3 on one burner and a plate at most 5 after the second pan's start; the pans need a set-up of 1
    /// if the second is first.
    fn two_pans() -> Form {
        let instance = json!({
            "name": "two pans", "tasks": [{"d": 4, "r": [[0, 1]]}, {"d": 3, "r": [[0, 1]]}, {"d": 0}], "caps": [1],
            "prec": [[0, 2, 4], [1, 2, 3], [2, 1, -5]], "incompat": [[0, 1, 0, 1]], "obj": [[2, 2], [0, 1]]
        });
        Form::of(&instance).unwrap()
    }

    #[test]
    fn a_schedule_that_keeps_everything_has_its_value() {
        assert_eq!(value(&two_pans(), &[0, 4, 7]), Ok(14));
        assert_eq!(value(&two_pans(), &[2, 6, 9]), Ok(20));
    }

    #[test]
    fn each_broken_demand_is_found() {
        let told = |starts: &[i64]| value(&two_pans(), starts).unwrap_err();
        assert_eq!(told(&[0, 4]), "2 starts for 3 activities");
        assert_eq!(told(&[-1, 4, 7]), "activity 0 starts before time 0, at -1");
        assert_eq!(told(&[0, 4, 6]), "activity 2 starts 2 after activity 1, expected 3");
        assert_eq!(told(&[4, 0, 8]), "activity 1 starts -8 after activity 2, expected -5");
        assert_eq!(told(&[0, 3, 7]), "activities 0 and 1 overlap or lack their set-up");
    }

    #[test]
    fn what_is_in_use_is_counted_at_each_start() {
        let instance = json!({
            "name": "trays", "tasks": [{"d": 5, "r": [[0, 2]]}, {"d": 5, "r": [[0, 1]]}, {"d": 2, "r": [[0, 1], [0, 1]]}],
            "caps": [3]
        });
        let form = Form::of(&instance).unwrap();
        assert_eq!(value(&form, &[0, 0, 5]), Ok(5));
        assert_eq!(value(&form, &[0, 5, 5]), Ok(5));
        assert_eq!(value(&form, &[0, 0, 4]), Err("resource 0 at 4: 5 in use of 3".to_owned()));
        assert_eq!(value(&form, &[3, 3, 0]), Ok(0));
        assert_eq!(value(&form, &[1, 6, 0]), Err("resource 0 at 1: 4 in use of 3".to_owned()));
    }

    #[test]
    fn an_instance_that_points_nowhere_is_refused() {
        let instance = json!({ "name": "lost", "tasks": [{"d": 1}], "prec": [[0, 4, 1]] });
        assert!(Form::of(&instance).unwrap_err().starts_with("expected prec of instance lost"));
        let instance = json!({ "name": "bare", "tasks": [{"d": 1, "r": [[0, 1]]}] });
        assert!(Form::of(&instance).unwrap_err().starts_with("expected caps of instance bare"));
    }
}
