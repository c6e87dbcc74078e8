use super::prelude::*;
use crate::{keys::Shape, source::shortened, walk::fits};

pub(super) const RULE: Rule = Rule {
    code: "wrong-type",
    severity: Error,
    title: "every value is of the type that its key takes",
    why: "A text where a list is asked for says something else than what is read.",
    bad: r#"hazards = "gluten""#,
    good: r#"hazards = ["gluten"]"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in &checked.walk.values {
        if let Err(expected) = fits(seen.shape, seen.node) {
            let help = match seen.shape {
                Shape::Tables(_) if checked.source.excerpt(&seen.node.place).starts_with('[') => {
                    format!("write the header in double brackets, like [[{}]]", seen.key)
                }
                Shape::Tables(_) => format!("write it like {} = [{{ … }}]", seen.key),
                Shape::OneOf(_) | Shape::OneOrMore(_) | Shape::Table(_) => {
                    format!("write it like {} = {{ … }}", seen.key)
                }
                Shape::List(_) | Shape::Many(_) => format!("write it like {} = [ … ]", seen.key),
                Shape::Text { .. }
                | Shape::Id
                | Shape::Reference
                | Shape::Word(_)
                | Shape::Appliance
                | Shape::Duration
                | Shape::Durations
                | Shape::DurationOrNone
                | Shape::Temperature
                | Shape::TemperatureStep
                | Shape::Power
                | Shape::Amount
                | Shape::Tolerance
                | Shape::Counts => format!("write it like {} = \"…\"", seen.key),
                Shape::Whole { .. } | Shape::Truth | Shape::Anything => format!("write {expected}, without quotes"),
            };
            let found_text = shortened(checked.source.excerpt(&seen.node.place).as_str());
            let message = format!("expected {expected} for `{}`, found {} `{found_text}`", seen.key, seen.node.what());
            found.add(seen.node.place.clone(), message, help);
        }
    }
}
