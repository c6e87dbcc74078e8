use super::prelude::*;
use crate::{
    syntax::Node,
    variant::{MOST_DIFFERENCES, MOST_VARIANTS},
};

pub(super) const RULE: Rule = Rule {
    code: "too-many-variants",
    severity: Error,
    title: "a recipe has at most 24 variants of at most 60 differences",
    why: "More than that is another recipe.",
    bad: r#""#,
    good: r#""#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let variants: Vec<_> = checked.root.tables("variant").collect();
    if let Some(variant) = variants.get(MOST_VARIANTS) {
        let message = format!("expected at most {MOST_VARIANTS} variants, found {}", variants.len());
        found.add(variant.place.clone(), message, "put what belongs to another question into another recipe");
    }
    for variant in variants {
        for key in ["change", "skip", "add"] {
            let Some(node) = variant.get(key) else { continue };
            let count = Node::items(node).len();
            if count > MOST_DIFFERENCES {
                let message = format!("expected at most {MOST_DIFFERENCES} differences in `{key}`, found {count}");
                found.add(node.place.clone(), message, "write another recipe");
            }
        }
    }
}
