use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "round-count",
    severity: Error,
    title: "rounds are 1 to 99",
    why: "A step of no rounds is never looked at; more than 99 are a slip of the hand.",
    bad: r#"[[stage.step]]
id = "baste"
do = "Baste the bread."
until = { rounds = "0-3", each = "2 min", cue = "crust shines" }"#,
    good: r#"[[stage.step]]
id = "baste"
do = "Baste the bread."
until = { rounds = "1-3", each = "2 min", cue = "crust shines" }"#,
    level: Level::Whole,
    check,
};

/// More rounds than this are a slip: nobody counts them at the stove.
const MOST_ROUNDS: u16 = 99;

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        if let Some(DraftEnd::Rounds { count: Some(count), .. }) = step.end() {
            let (low, high) = (count.value.low(), count.value.high());
            if low == 0 {
                let message = format!("expected at least one round, found {low}");
                let help = format!("write rounds = \"1-{}\"", high.clamp(1, MOST_ROUNDS));
                found.add(count.place.clone(), message, help);
            } else if high > MOST_ROUNDS {
                let message = format!("expected at most {MOST_ROUNDS} rounds, found {high}");
                let help = format!("write rounds = \"{}-{MOST_ROUNDS}\"", low.min(MOST_ROUNDS));
                found.add(count.place.clone(), message, help);
            }
        }
    }
}
