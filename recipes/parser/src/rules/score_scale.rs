use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "score-scale",
    severity: Error,
    title: "a score has a scale of 2 to 9 steps, and a word for each or none",
    why: "A mark outside its scale cannot be analysed.",
    bad: r#"[record]
score = [{ what = "crust", scale = "9-9" }]"#,
    good: r#"[record]
score = [{ what = "crust", scale = "1-9" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for score in &checked.draft.scores {
        let place = score.scale.as_ref().map_or_else(|| score.spot.0.clone(), |at| at.place.clone());
        let words = score.words.as_ref().map(Vec::len);
        let steps = match (&score.scale, words) {
            (Some(scale), _) => usize::from(scale.value.high() - scale.value.low()) + 1,
            (None, Some(words)) => words,
            (None, None) => 0,
        };
        if !(2..=9).contains(&steps) || score.scale.as_ref().is_some_and(|at| at.value.high() > 99) {
            let message = format!("expected a scale of 2 to 9 steps, found {steps}");
            found.add(place, message, "write scale = \"1-9\", or words = [\"pale\", \"right\", \"dark\"]");
        } else if let Some(words) = words.filter(|words| *words != steps) {
            let message = format!("expected a word for each of the {steps} steps or none, found {words}");
            found.add(place, message, "write as many words as the scale has steps, or leave one of the two out");
        }
    }
}
