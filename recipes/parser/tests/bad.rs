//! Every file in `tests/bad` gives the complaints beside it, word for word. `UPDATE_EXPECT=1` renews them.
#![allow(clippy::unwrap_used)]

use std::{collections::BTreeSet, fs, path::PathBuf};

use recipe_parser::{Severity, Source, parse, render, rules::RULES};

/// The faulty files, in order.
fn files() -> Vec<PathBuf> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bad");
    let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    all.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    all.sort();
    all
}

fn said(path: &PathBuf) -> (String, Vec<recipe_parser::Complaint>) {
    let text = fs::read_to_string(path).unwrap();
    let name = path.file_name().unwrap().to_str().unwrap();
    let source = Source { name, text: &text };
    let complaints = parse(name, &text).complaints;
    (complaints.iter().map(|c| render(c, &source, false)).collect(), complaints)
}

#[test]
fn every_bad_file_gives_its_golden_complaints() {
    let mut differ = Vec::new();
    for path in files() {
        let golden = path.with_extension("expected");
        let (found, _) = said(&path);
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            fs::write(&golden, &found).unwrap();
        }
        if fs::read_to_string(&golden).unwrap_or_default() != found {
            differ.push(format!("{}\n{found}", path.display()));
        }
    }
    assert!(differ.is_empty(), "{} files differ:\n{}", differ.len(), differ.join("\n"));
}

#[test]
fn there_are_sixty_bad_files_and_each_is_complained_about() {
    let files = files();
    assert!(files.len() >= 60, "{}", files.len());
    for path in files {
        let (_, complaints) = said(&path);
        assert!(!complaints.is_empty(), "{}", path.display());
    }
}

#[test]
fn every_rule_is_broken_by_a_file() {
    let broken: BTreeSet<&str> = files().iter().flat_map(|path| said(path).1).map(|c| c.rule).collect();
    let left: Vec<&str> =
        RULES.iter().map(|r| r.code).filter(|code| !broken.contains(code) && !["too-large"].contains(code)).collect();
    assert!(left.is_empty(), "no file in tests/bad breaks {left:?}");
}

#[test]
fn a_recipe_comes_out_exactly_when_nothing_is_an_error() {
    for path in files() {
        let text = fs::read_to_string(&path).unwrap();
        let parsed = parse("r.toml", &text);
        let refused = parsed.complaints.iter().any(|c| c.severity == Severity::Error);
        assert_eq!(parsed.recipe.is_some(), !refused, "{}", path.display());
    }
}

#[test]
fn every_complaint_points_into_its_line_and_says_what_to_do() {
    for path in files() {
        let text = fs::read_to_string(&path).unwrap();
        for complaint in said(&path).1 {
            let at = format!("{} {complaint:?}", path.display());
            assert!(text.get(complaint.span.clone()).is_some(), "{at}");
            let source = Source { name: "", text: &text };
            assert!(complaint.column <= source.line(complaint.line).chars().count() + 1, "{at}");
            assert!(!complaint.help.is_empty() && !complaint.message.ends_with('.'), "{at}");
        }
    }
}
