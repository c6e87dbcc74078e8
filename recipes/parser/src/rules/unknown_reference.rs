use super::prelude::*;
use crate::{
    draft::{At, DraftMark, Hook},
    nearest::nearest,
    source::shortened,
    variant::article,
};

pub(super) const RULE: Rule = Rule {
    code: "unknown-reference",
    severity: Error,
    title: "every reference names something in the file",
    why: "A step that waits for nothing known never starts.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
uses = ["flower"]"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    let names = |id: &Option<At<String>>| id.as_ref().map(|at| at.value.clone());
    let mut steps: Vec<String> = programme.steps().map(|(at, ..)| programme.name(at)).collect();
    steps.extend(programme.stages.iter().filter_map(|s| names(&s.id)));
    let marks =
        |(stage, mark): (&Option<At<String>>, &DraftMark)| Some(format!("{}.{}", names(stage)?, names(&mark.id)?));
    let events: Vec<String> = programme
        .steps()
        .flat_map(|(_, stage, step)| step.marks.iter().map(|m| (&stage.id, m)))
        .filter_map(marks)
        .collect();
    let ingredients: Vec<String> = programme.ingredients.iter().filter_map(|i| names(&i.id)).collect();
    let dishes: Vec<String> = programme.dishes.iter().filter_map(|d| names(&d.id)).collect();
    let mut refuse = |at: &At<String>, what: &str, known: &[String]| {
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        let message = format!("expected the id of {} of this file, found `{}`", article(what), shortened(&at.value));
        found.add(at.place.clone(), message, nearest(&at.value, &known).help());
    };
    for (_, begin) in programme.begins().filter(|(_, begin)| programme.anchor(begin).is_none()) {
        match begin.hook {
            Hook::On => refuse(&begin.target, "mark", &events),
            Hook::After | Hook::With | Hook::Before => refuse(&begin.target, "step", &steps),
        }
    }
    for (_, step) in checked.steps() {
        step.uses
            .iter()
            .filter(|at| !ingredients.contains(&at.value))
            .for_each(|at| refuse(at, "ingredient", &ingredients));
    }
    let stage_dishes = programme.stages.iter().filter_map(|s| s.dish.as_ref());
    for at in stage_dishes.chain(programme.landings.iter().flat_map(|l| &l.dishes)) {
        if !dishes.contains(&at.value) {
            refuse(at, "dish", &dishes);
        }
    }
    // what to weigh belongs to the base; a variant may well leave that step out
    for at in checked.draft.weighings.iter().filter_map(|w| w.after.as_ref()).filter(|_| !checked.is_variant) {
        if programme.find(&at.value, Hook::After).is_none() {
            refuse(at, "step", &steps);
        }
    }
}
