use super::prelude::*;
use crate::{keys::Shape, nearest::nearest, read::appliance, source::shortened, variant::article};

pub(super) const RULE: Rule = Rule {
    code: "unknown-word",
    severity: Error,
    title: "food classes, hazards, cautions and appliances are words of the lists",
    why: "A safety rule can only follow from a word that it knows.",
    bad: r#"hazards = ["glutten"]"#,
    good: r#"hazards = ["gluten"]"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in &checked.walk.values {
        let Some(text) = seen.node.as_text() else { continue };
        let (known, name) = if let Shape::Word(words) = seen.shape {
            (words.all(), words.name())
        } else if matches!(seen.shape, Shape::Appliance) && appliance(text).is_none() {
            (vec!["oven", "oven 2", "microwave", "burner", "burner 2", "bench", "fridge"], "appliance")
        } else {
            continue;
        };
        if !known.contains(&text) {
            let message = format!("expected {}, found `{}`", article(name), shortened(text));
            found.add(seen.node.place.clone(), message, nearest(text, &known).help());
        }
    }
}
