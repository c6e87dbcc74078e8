use super::prelude::*;
use crate::{keys::Shape, source::shortened};

pub(super) const RULE: Rule = Rule {
    code: "bad-id",
    severity: Error,
    title: "an id has lower-case letters, digits and hyphens, at most 40",
    why: "Ids stand in paths like loin.roast.until.time, in file names and in the record for years.",
    bad: r#"id = "Toast Deluxe""#,
    good: r#"id = "toast-deluxe""#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in checked.walk.values.iter().filter(|seen| matches!(seen.shape, Shape::Id)) {
        let Some(id) = seen.node.as_text() else { continue };
        // an empty one has its own rule
        if id.trim().is_empty() || is_well_formed(id) {
            continue;
        }
        let message = format!("expected lower-case letters, digits and hyphens, at most 40, found `{}`", shortened(id));
        found.add(seen.node.place.clone(), message, format!("write {}", mended(id)));
    }
}

fn is_well_formed(id: &str) -> bool {
    let letters = id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    letters && id.len() <= 40 && !id.starts_with('-') && !id.ends_with('-')
}

fn mended(id: &str) -> String {
    let letters = id.chars().take(200).map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' });
    let words: String = letters.collect();
    let mut short: String = words.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
    short.truncate(40);
    let short = short.trim_end_matches('-');
    if short.is_empty() { "a short name".to_owned() } else { short.to_owned() }
}
