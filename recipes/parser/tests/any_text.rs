//! Promises that hold for every text, tried on damaged recipes.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use recipe_parser::{Severity, Source, format, json_schema, parse, render};

const TEXT: &str = include_str!("good/loin-and-gratin.toml");

/// What [`parse`] promises for any text.
fn invariant_parse(text: &str) {
    let parsed = parse("r.toml", text);
    let refused = parsed.complaints.iter().any(|c| c.severity == Severity::Error);
    assert_eq!(parsed.recipe.is_some(), !refused, "{:#?}", parsed.complaints);
    let source = Source { name: "r.toml", text };
    for complaint in &parsed.complaints {
        assert!(text.get(complaint.span.clone()).is_some(), "{complaint:?}");
        assert!(render(complaint, &source, false).starts_with("r.toml:"), "{complaint:?}");
    }
    assert!(parsed.complaints.windows(2).all(|pair| pair[0].span.start <= pair[1].span.start));
}

/// What [`format`] promises for any text.
fn invariant_format(text: &str) {
    match format(text) {
        Ok(once) => {
            assert_eq!(format(&once).unwrap(), once);
            assert_eq!(parse("", &once).recipe, parse("", text).recipe);
            let comments = |text: &str| text.matches("# ").count();
            assert_eq!(comments(&once), comments(text), "{once}");
        }
        Err(complaints) => assert!(!complaints.is_empty()),
    }
}

/// The good recipe with some bytes cut out and a piece of text put in.
fn damaged() -> impl Strategy<Value = String> {
    let pieces = prop::sample::select(vec![
        "",
        "\"",
        "[",
        "]]",
        "{",
        "}",
        "=",
        ",",
        "\n",
        "#",
        "'",
        "\\",
        "\"\"\"",
        "90",
        "-",
        "é",
        "\u{202e}",
        "[[stage]]\n",
        "[a.b]\n",
        "time = 1\n",
        "\"-5 min\"",
        "id = \"x\"\n",
        "begin = { after = \"milk.warm\" }\n",
        "nan",
        "1979-05-27",
        "\u{0}",
    ]);
    (0..TEXT.len(), 0usize..40, pieces).prop_map(|(at, cut, piece)| {
        let (start, end) = (TEXT.floor_char_boundary(at), TEXT.ceil_char_boundary((at + cut).min(TEXT.len())));
        format!("{}{piece}{}", &TEXT[..start], &TEXT[end..])
    })
}

/// The good recipe with whole lines left out or doubled.
fn shuffled() -> impl Strategy<Value = String> {
    prop::collection::vec((0..TEXT.lines().count(), 0usize..3), 1..6).prop_map(|edits| {
        let mut lines: Vec<&str> = TEXT.lines().collect();
        for (at, what) in edits {
            let at = at % lines.len();
            match what {
                0 => drop(lines.remove(at)),
                1 => lines.insert(at, lines[at]),
                _ => lines.swap(at, 0),
            }
        }
        lines.join("\n")
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_damaged_recipe_is_never_a_panic_and_never_half_a_recipe(text in damaged()) {
        invariant_parse(&text);
    }

    #[test]
    fn lost_and_doubled_lines_are_never_a_panic(text in shuffled()) {
        invariant_parse(&text);
    }

    #[test]
    fn formatting_any_recipe_keeps_its_meaning_and_comments(text in prop_oneof![damaged(), shuffled()]) {
        invariant_format(&text);
    }

    #[test]
    fn any_text_at_all_is_read_to_its_end(text in "\\PC{0,200}") {
        invariant_parse(&text);
    }
}

#[test]
fn a_hostile_file_takes_no_quadratic_time() {
    let many = |piece: &str, count: usize| format!("schema = 1\n{}", piece.repeat(count));
    let step = "[[stage.step]]\nid = \"x\"\ndo = \"y\"\nuntil = { time = \"1\" }\nbegin = { after = \"a.x\" }\n";
    let variant = "[[variant]]\nid = \"v\"\nchange = [{ at = \"a.x.until.time\", to = \"2 min\" }]\n";
    for text in [
        many("[[stage]]\nid = \"a\"\n", 9000),
        format!("[[stage]]\nid = \"a\"\n{}", step.repeat(3000)),
        format!("[[stage]]\nid = \"a\"\n{}{}", step.repeat(1500), variant.repeat(1500)),
        many("k.", 60_000),
        many("[", 200_000),
        many("a = {", 50_000),
        many("\"", 200_000),
        many("x = [[[[[[[[[[\n", 10_000),
        "\n".repeat(250_000),
        "é".repeat(120_000),
        "#".repeat(5_000_000),
    ] {
        let start = std::time::Instant::now();
        invariant_parse(&text);
        let took = start.elapsed();
        // unoptimised builds on a busy machine; the bound is against quadratic work, not a promise of speed
        assert!(took.as_secs() < 10, "{} bytes {:?} took {took:?}", text.len(), &text[..text.len().min(40)]);
    }
}

#[test]
fn the_schema_is_the_same_on_every_call() {
    assert_eq!(json_schema(), json_schema());
}
