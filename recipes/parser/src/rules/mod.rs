//! The rules of a recipe file, one file a rule, each with its reason and a bad and a good example.
//!
//! The examples are parts of a file: a test puts them into a small recipe and checks that the bad one breaks exactly
//! this rule and the good one none.

use std::collections::BTreeSet;

use crate::{
    Complaint, Severity, Source,
    build::{Gap, Sound, SoundVariant},
    draft::{DraftProgramme, DraftRecipe, DraftStage, DraftStep},
    plan::Plan,
    read,
    syntax::{self, Place, SyntaxFault, Table},
    variant::{self, Resolved},
    walk::Walk,
};

/// A rule that a recipe file keeps.
#[derive(Debug)]
pub struct Rule {
    /// Its name in messages: `begin-cycle`.
    pub code: &'static str,
    /// Whether breaking it refuses the recipe.
    pub severity: Severity,
    /// What it asks, in a line.
    pub title: &'static str,
    /// Why.
    pub why: &'static str,
    /// A part of a file that breaks it.
    pub bad: &'static str,
    /// The same, put right.
    pub good: &'static str,
    level: Level,
    check: fn(&Checked<'_>, &mut Findings<'_>),
}

/// How much of a file must be sound before a rule can say anything true about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Level {
    /// Any text.
    Text,
    /// Single values, also of a file with syntax faults elsewhere.
    Value,
    /// A file without syntax faults.
    Whole,
}

/// A file, or one variant of it, with everything that the rules look at.
struct Checked<'a> {
    source: Source<'a>,
    root: &'a Table,
    faults: &'a [SyntaxFault],
    walk: Walk<'a>,
    draft: &'a DraftRecipe,
    plan: Plan,
    /// The variants; none while one of them is looked at.
    variants: &'a [(Resolved, DraftRecipe)],
    is_variant: bool,
}

impl<'a> Checked<'a> {
    fn programme(&self) -> &'a DraftProgramme {
        &self.draft.programme
    }

    fn steps(&self) -> impl Iterator<Item = (&'a DraftStage, &'a DraftStep)> {
        self.draft.programme.steps().map(|(_, stage, step)| (stage, step))
    }
}

/// Takes what one rule finds.
struct Findings<'a> {
    rule: &'static Rule,
    source: Source<'a>,
    list: Vec<Complaint>,
    more: usize,
}

/// The most complaints of one rule that are listed; the last one says how many more there are.
const MOST_OF_A_RULE: usize = 100;

impl Findings<'_> {
    fn add(&mut self, place: Place, message: impl Into<String>, help: impl Into<String>) {
        if self.list.len() == MOST_OF_A_RULE {
            self.more += 1;
            return;
        }
        self.list.push(complaint(self.rule, &self.source, place, message.into(), help.into()));
    }

    fn finish(mut self) -> Vec<Complaint> {
        if let (Some(last), 1..) = (self.list.last_mut(), self.more) {
            last.message.push_str(&format!(" (and {} more like this)", self.more));
        }
        self.list
    }
}

fn complaint(rule: &'static Rule, source: &Source<'_>, place: Place, message: String, help: String) -> Complaint {
    let (line, column) = source.line_and_column(place.start);
    let found = source.excerpt(&place);
    Complaint { rule: rule.code, severity: rule.severity, span: place, line, column, message, found, help }
}

/// Looks at a file and all its variants with every rule. The sound draft is given if nothing refuses it.
pub(crate) fn check<'a>(source: &Source<'a>) -> (Vec<Complaint>, Option<Sound>) {
    let is_readable = source.text.len() <= syntax::LARGEST && syntax::too_deep(source.text).is_none();
    let (root, faults) = if is_readable { syntax::tree(source.text) } else { syntax::tree("") };
    let draft = read::recipe(&root);
    let variants: Vec<(Resolved, DraftRecipe)> = root
        .tables("variant")
        .take(variant::MOST_VARIANTS)
        .map(|table| {
            let resolved = variant::resolve(&root, table, source.text);
            let draft = read::recipe(&resolved.tree);
            (resolved, draft)
        })
        .collect();
    let base = Checked {
        source: *source,
        root: &root,
        faults: &faults,
        walk: Walk::new(&root),
        draft: &draft,
        plan: Plan::new(&draft.programme),
        variants: &variants,
        is_variant: false,
    };
    let level = if !is_readable {
        Level::Text
    } else if faults.is_empty() {
        Level::Whole
    } else {
        Level::Value
    };
    let mut complaints = run(&base, level);
    let known: BTreeSet<(&str, usize, usize)> = complaints.iter().map(key).collect();
    let tables: Vec<&Table> = root.tables("variant").collect();
    for ((resolved, draft), table) in variants.iter().zip(&tables) {
        if level != Level::Whole {
            break;
        }
        let checked = Checked {
            source: *source,
            root: &resolved.tree,
            faults: &[],
            walk: Walk::new(&resolved.tree),
            draft,
            plan: Plan::new(&draft.programme),
            variants: &[],
            is_variant: true,
        };
        let new = run(&checked, level).into_iter().filter(|c| !known.contains(&key(c)));
        complaints.extend(new.map(|complaint| at_difference(source, complaint, resolved, table)));
    }
    let is_sound = level == Level::Whole && complaints.iter().all(|c| c.severity != Severity::Error);
    let sound = is_sound.then(|| Sound {
        variants: draft
            .variants
            .iter()
            .cloned()
            .zip(variants)
            .map(|(head, (resolved, draft))| SoundVariant {
                head,
                programme: draft.programme,
                changes: resolved.changes,
            })
            .collect(),
        draft,
    });
    (complaints, sound)
}

fn key(complaint: &Complaint) -> (&'static str, usize, usize) {
    (complaint.rule, complaint.span.start, complaint.span.end)
}

fn run(checked: &Checked<'_>, level: Level) -> Vec<Complaint> {
    let mut all = Vec::new();
    for rule in RULES {
        let runs = match rule.level {
            Level::Text => true,
            Level::Value => level != Level::Text,
            Level::Whole => level == Level::Whole,
        };
        if runs {
            let mut findings = Findings { rule, source: checked.source, list: Vec::new(), more: 0 };
            (rule.check)(checked, &mut findings);
            all.extend(findings.finish());
        }
    }
    // next to a syntax fault a value may be cut short: what it lacks is not its own fault
    if level == Level::Value {
        let lines: BTreeSet<usize> =
            checked.faults.iter().map(|f| checked.source.line_and_column(f.place.start).0).collect();
        let is_swallowed =
            |at: usize| checked.faults.iter().any(|fault| fault.place.start <= at && at < fault.swallows);
        let is_header_lost = checked.faults.iter().any(toml_syntax::is_header_fault);
        all.retain(|c| {
            is_text_rule(c.rule)
                || !(lines.contains(&c.line)
                    || is_swallowed(c.span.start)
                    || is_header_lost && is_of_lost_table(c.rule))
        });
    }
    all
}

/// Whether a rule speaks of keys that may belong to another table, if a header was lost.
fn is_of_lost_table(code: &str) -> bool {
    code == unknown_key::RULE.code || code == wrong_type::RULE.code
}

fn is_text_rule(code: &str) -> bool {
    RULES.iter().any(|rule| rule.code == code && rule.level == Level::Text)
}

/// A complaint about a variant, said at the difference that causes it.
fn at_difference(source: &Source<'_>, mut complaint: Complaint, resolved: &Resolved, table: &Table) -> Complaint {
    let id = table.get("id").and_then(|node| node.as_text()).unwrap_or("?");
    let is_in_it = resolved.places.iter().any(|p| p.start <= complaint.span.start && complaint.span.end <= p.end);
    if is_in_it {
        complaint.message = format!("in variant `{id}`: {}", complaint.message);
        return complaint;
    }
    let place = match resolved.places.as_slice() {
        [only] => only.clone(),
        _ => table.get("id").map_or_else(|| table.place.clone(), |node| node.place.clone()),
    };
    let line = complaint.line;
    complaint.message = format!("in variant `{id}`, at line {line} of the base: {}", complaint.message);
    (complaint.line, complaint.column) = source.line_and_column(place.start);
    complaint.found = source.excerpt(&place);
    complaint.span = place;
    complaint
}

/// A value that no rule found fault with and that still could not be used: said like any other complaint.
pub(crate) fn unread(source: &Source<'_>, gap: Gap) -> Complaint {
    let rule = RULES.iter().find(|rule| rule.code == missing_key::RULE.code).unwrap_or(&RULES[0]);
    complaint(
        rule,
        source,
        gap.place,
        format!("expected {}, found none that can be read", gap.what),
        "write it as the schema says".into(),
    )
}

/// What every rule file needs.
mod prelude {
    pub(super) use super::{Checked, Findings, Level, Rule};
    pub(super) use crate::Severity::{Error, Warning};
}

mod alarm_flood;
mod appliance_missing;
mod appliance_shared;
mod bad_id;
mod begin_cycle;
mod coarse_looks;
mod control_letters;
mod core_below_minimum;
mod core_without_fallback;
mod cue_missing;
mod decimal_comma;
mod dish_unused;
mod duplicate_id;
mod duplicate_key;
mod empty_text;
mod ends_swapped;
mod event_after_end;
mod food_without_core;
mod gap_shorter_than_wait;
mod half_on_open_step;
mod hazard_caution;
mod hazard_without_food;
mod hold_on_heat;
mod hysteresis_range;
mod in_rest_at_minimum;
mod in_rest_microwave;
mod in_rest_points;
mod in_rest_without_rest;
mod ingredient_unused;
mod landing_of_one;
mod lead_too_long;
mod least_over_planned;
mod look_interval;
mod looks_order;
mod microwave_power;
mod missing_key;
mod negative;
mod no_end;
mod no_step;
mod no_unit;
mod points_count;
mod poultry_minimum;
mod quantity;
mod reserved_id;
mod rest_missing;
mod rest_too_short;
mod rhythm_too_long;
mod round_count;
mod schema_version;
mod score_scale;
mod superheated;
mod tolerance_too_wide;
mod toml_syntax;
mod too_deep;
mod too_large;
mod too_long;
mod too_many_probes;
mod too_many_stages;
mod too_many_variants;
mod too_wide;
mod two_controls;
mod two_ends;
mod two_temperatures;
mod unknown_key;
mod unknown_reference;
mod unknown_word;
mod unlikely_temperature;
mod unpredictable_anchor;
mod unreachable_step;
mod unread_quantity;
mod variant_path;
mod variant_same;
mod warning_too_long;
mod window_missing;
mod wrong_type;
mod zero_time;

/// Every rule, in the order in which they are listed.
pub static RULES: &[Rule] = &[
    toml_syntax::RULE,
    decimal_comma::RULE,
    duplicate_key::RULE,
    too_large::RULE,
    too_deep::RULE,
    unknown_key::RULE,
    missing_key::RULE,
    wrong_type::RULE,
    no_unit::RULE,
    negative::RULE,
    ends_swapped::RULE,
    unread_quantity::RULE,
    unknown_word::RULE,
    bad_id::RULE,
    duplicate_id::RULE,
    reserved_id::RULE,
    schema_version::RULE,
    no_step::RULE,
    no_end::RULE,
    two_ends::RULE,
    empty_text::RULE,
    control_letters::RULE,
    too_long::RULE,
    unknown_reference::RULE,
    begin_cycle::RULE,
    unreachable_step::RULE,
    lead_too_long::RULE,
    unpredictable_anchor::RULE,
    gap_shorter_than_wait::RULE,
    looks_order::RULE,
    look_interval::RULE,
    coarse_looks::RULE,
    cue_missing::RULE,
    window_missing::RULE,
    core_without_fallback::RULE,
    core_below_minimum::RULE,
    poultry_minimum::RULE,
    rest_missing::RULE,
    rest_too_short::RULE,
    least_over_planned::RULE,
    in_rest_without_rest::RULE,
    in_rest_points::RULE,
    in_rest_microwave::RULE,
    in_rest_at_minimum::RULE,
    superheated::RULE,
    hazard_caution::RULE,
    hazard_without_food::RULE,
    food_without_core::RULE,
    hold_on_heat::RULE,
    too_wide::RULE,
    appliance_missing::RULE,
    two_temperatures::RULE,
    appliance_shared::RULE,
    too_many_probes::RULE,
    too_many_stages::RULE,
    round_count::RULE,
    points_count::RULE,
    hysteresis_range::RULE,
    unlikely_temperature::RULE,
    zero_time::RULE,
    rhythm_too_long::RULE,
    event_after_end::RULE,
    half_on_open_step::RULE,
    warning_too_long::RULE,
    variant_path::RULE,
    variant_same::RULE,
    two_controls::RULE,
    too_many_variants::RULE,
    tolerance_too_wide::RULE,
    ingredient_unused::RULE,
    dish_unused::RULE,
    landing_of_one::RULE,
    score_scale::RULE,
    microwave_power::RULE,
    alarm_flood::RULE,
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// A small recipe into which the examples are put: named keys at its top, then its tables.
    const TOP: [(&str, &str); 4] =
        [("schema", "1"), ("id", "\"toast\""), ("title", "\"Toast\""), ("yield", "\"2 slices\"")];
    const KITCHEN: &str =
        "[kitchen]\novens = 1\nmicrowaves = 1\nmicrowave_power = \"800 W\"\nburners = 2\nprobes = 1\n";
    const STAGE: &str = "[[stage]]\nid = \"bread\"\nappliance = \"oven\"\n";
    const STEP: &str = "[[stage.step]]\nid = \"bake\"\ndo = \"Bake the bread.\"\nuntil = { time = \"12 min\" }\n";

    /// What an example leaves out comes from the small recipe.
    fn complete(example: &str) -> String {
        let at = example.lines().take_while(|line| !line.starts_with('[')).map(|line| line.len() + 1).sum::<usize>();
        let (keys, tables) = example.split_at(at.min(example.len()));
        let mut text = String::new();
        for (key, value) in TOP {
            if !keys.lines().any(|line| line.split(' ').next() == Some(key)) {
                text.push_str(&format!("{key} = {value}\n"));
            }
        }
        text.push_str(keys);
        text.push('\n');
        if !tables.contains("[kitchen]") {
            text.push_str(KITCHEN);
        }
        let (before, steps) = tables.split_at(tables.find("[[stage.step]]").unwrap_or(tables.len()));
        text.push_str(before);
        text.push('\n');
        if !tables.contains("[[stage]]") {
            text.push_str(STAGE);
        }
        text.push_str(if !tables.contains("[[stage.step]]") && !tables.contains("step = [") { STEP } else { steps });
        text
    }

    /// Rules that cannot be broken alone.
    const COMES_WITH: [(&str, &str); 1] = [("unreachable-step", "begin-cycle")];

    #[test]
    fn every_bad_example_breaks_exactly_its_rule() {
        for rule in RULES.iter().filter(|rule| !rule.bad.is_empty()) {
            let text = complete(rule.bad);
            let mut codes: Vec<&str> = crate::parse("example", &text).complaints.iter().map(|c| c.rule).collect();
            codes.dedup();
            codes.retain(|code| !COMES_WITH.contains(&(rule.code, code)));
            assert_eq!(codes, [rule.code], "{text}\n{:#?}", crate::parse("example", &text).complaints);
        }
    }

    #[test]
    fn every_good_example_breaks_no_rule() {
        for rule in RULES {
            let text = complete(rule.good);
            let parsed = crate::parse("example", &text);
            assert!(parsed.complaints.is_empty(), "{}\n{text}\n{:#?}", rule.code, parsed.complaints);
            assert!(parsed.recipe.is_some(), "{}", rule.code);
        }
    }

    #[test]
    fn a_rule_without_an_example_needs_a_file_too_large_to_print() {
        let without: Vec<&str> = RULES.iter().filter(|rule| rule.bad.is_empty()).map(|rule| rule.code).collect();
        assert_eq!(without, ["too-large", "too-many-stages", "too-many-variants"]);
        for (code, text) in [
            ("too-large", format!("title = \"{}\"\n", "x".repeat(syntax::LARGEST))),
            ("too-many-stages", complete(&(0..65).map(many_stages).collect::<String>())),
            ("too-many-variants", complete(&(0..25).map(many_variants).collect::<String>())),
        ] {
            let codes: Vec<&str> = crate::parse("example", &text).complaints.iter().map(|c| c.rule).collect();
            assert_eq!(codes, [code]);
        }
    }

    fn many_stages(number: usize) -> String {
        format!(
            "[[stage]]\nid = \"s{number}\"\nname = \"dish\"\nappliance = \"bench\"\nbegin = {}\n{STEP}",
            if number == 0 { "[]".to_owned() } else { format!("{{ after = \"s{}.bake\" }}", number - 1) }
        )
    }

    fn many_variants(number: usize) -> String {
        format!(
            "[[variant]]\nid = \"v{number}\"\ntitle = \"Longer\"\nfactor = \"time\"\nchange = [{{ at = \"bread.bake.until.time\", to = \"{} min\" }}]\n",
            number + 20
        )
    }

    #[test]
    fn codes_are_unique_and_every_rule_says_why() {
        let mut codes: Vec<&str> = RULES.iter().map(|rule| rule.code).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), RULES.len());
        assert!(RULES.len() >= 40, "{}", RULES.len());
        assert!(RULES.iter().all(|rule| rule.why.len() > 20 && !rule.title.ends_with('.')));
    }

    #[test]
    fn the_list_of_rules_in_the_readme_is_current() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
        let readme = std::fs::read_to_string(path).unwrap();
        let (before, rest) = readme.split_once("<!-- rules -->\n").unwrap();
        let (_, after) = rest.split_once("<!-- end of rules -->").unwrap();
        let mut table = String::from("| code | weight | what it asks | why |\n|---|---|---|---|\n");
        for rule in RULES {
            table.push_str(&format!("| {} | {} | {} | {} |\n", rule.code, rule.severity, rule.title, rule.why));
        }
        let current = format!("{before}<!-- rules -->\n{table}<!-- end of rules -->{after}");
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            std::fs::write(path, &current).unwrap();
        }
        assert!(
            current == std::fs::read_to_string(path).unwrap(),
            "{path} is old: run the tests once with UPDATE_EXPECT=1"
        );
    }
}
