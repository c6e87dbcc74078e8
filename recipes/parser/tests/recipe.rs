//! One whole recipe through every function of the crate.
#![allow(clippy::unwrap_used)]

use quantities::{Celsius, Mass, Range, Span};
use recipe_model::*;
use recipe_parser::{Severity, Source, format, parse, render, steps_text, writers_world};

const TEXT: &str = include_str!("good/loin-and-gratin.toml");

fn recipe(text: &str) -> Recipe {
    let parsed = parse("loin-and-gratin.toml", text);
    let source = Source { name: "loin-and-gratin.toml", text };
    let said: String = parsed.complaints.iter().map(|c| render(c, &source, false)).collect();
    assert!(parsed.complaints.is_empty(), "{said}");
    parsed.recipe.unwrap()
}

fn step<'r>(programme: &'r Programme, id: &str) -> &'r Step {
    programme.steps().find(|(.., step)| step.id.as_str() == id).map(|(.., step)| step).unwrap()
}

#[test]
fn every_key_reaches_the_model() {
    let recipe = recipe(TEXT);
    assert_eq!((recipe.id.as_str(), recipe.yields.as_str()), ("loin-and-gratin", "6 portions"));
    assert_eq!((recipe.kitchen.ovens, recipe.kitchen.burners, recipe.kitchen.probes), (2, 2, 2));
    assert_eq!(recipe.hazards, [Hazard::RawPork, Hazard::Milk]);
    assert_eq!(recipe.base.ingredients[0].amount, Amount::Mass(Mass::whole(1200)));
    assert_eq!(recipe.base.ingredients[1].tolerance, Tolerance::Mass(Mass::whole(20)));
    assert_eq!(recipe.record.score[0].words, ["pale", "right", "dark"]);
    assert_eq!((recipe.record.score[1].low, recipe.record.score[1].high), (1, 9));

    let roast = step(&recipe.base, "loin.roast");
    let Until::Core(core) = &roast.until else { panic!("{:?}", roast.until) };
    assert_eq!(
        (core.target, core.hold, core.points, core.protects, core.in_rest),
        (Celsius::whole(68), Span::from_secs(30), 1, true, true)
    );
    assert_eq!(core.fallback.looks.window.no_later, Span::from_mins(95));
    assert_eq!(roast.setting, Some(Setting::Heat { at: Celsius::whole(180), fan: true }));
    assert_eq!((roast.grace, roast.warn), (Span::from_secs(90), Some(Span::from_mins(2))));
    assert_eq!(roast.inside.branches[0].id.as_str(), "tent");

    let bake = step(&recipe.base, "gratin.bake");
    let Until::Time { expect, looks: Some(looks) } = &bake.until else { panic!("{:?}", bake.until) };
    assert_eq!(*expect, Range::new(Span::from_mins(45), Span::from_mins(60)).unwrap());
    assert_eq!(
        looks.window,
        Window { first: Span::from_mins(40), every: Span::from_mins(5), no_later: Span::from_mins(65) }
    );
    assert_eq!(bake.setting, Some(Setting::Heat { at: Celsius::whole(180), fan: false }));

    let reduce = step(&recipe.base, "pan.reduce");
    assert_eq!(reduce.begin[0].anchor, Anchor::Event { event: EventId::new("pan.boiling"), wait: Span::ZERO });
    assert_eq!(reduce.begin[1].within, Some(Span::from_mins(3)));
    assert_eq!((reduce.hands, reduce.then.as_str()), (Hands::Busy, "OFF HEAT"));
    let pan = recipe.base.stages.iter().find(|s| s.id.as_str() == "pan").unwrap();
    let roast_at = StepRef { stage: 0, step: 1 };
    assert_eq!(pan.begin[0].anchor, Anchor::BeforeEnd { step: roast_at, lead: Span::from_mins(15) });
}

#[test]
fn defaults_follow_the_appliance_and_the_time() {
    let recipe = recipe(TEXT);
    let layer = step(&recipe.base, "gratin.layer");
    assert_eq!(
        (layer.hands, layer.holdable, layer.grace, layer.then.as_str()),
        (Hands::Busy, false, Span::from_secs(60), "CHECK"),
        "the stage goes on: there is nothing to take out yet"
    );
    assert_eq!(step(&recipe.base, "gratin.bake").then, "TAKE OUT");
    let warm = step(&recipe.base, "milk.warm");
    assert_eq!((warm.hands, warm.warn, warm.name.as_str()), (Hands::Free, None, "warm"));
    let lanes: Vec<&str> = recipe.base.stages.iter().map(|s| s.lane.as_str()).collect();
    assert_eq!(lanes, ["Oven 1", "Oven 2", "Pan 1", "Micro"]);
}

#[test]
fn a_variant_gives_its_golden_step_list_byte_for_byte() {
    let recipe = recipe(TEXT);
    for (id, golden) in [
        ("base", include_str!("good/loin-and-gratin.base.steps")),
        ("longer", include_str!("good/loin-and-gratin.longer.steps")),
        ("crumb-crust", include_str!("good/loin-and-gratin.crumb-crust.steps")),
    ] {
        let text = steps_text(recipe.programme(&VariantId::new(id)).unwrap());
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            let path = format!("{}/tests/good/loin-and-gratin.{id}.steps", env!("CARGO_MANIFEST_DIR"));
            std::fs::write(path, &text).unwrap();
        } else {
            assert_eq!(text, golden, "{id}");
        }
    }
    assert_eq!(recipe.variants[0].changes[0], "gratin.bake.until.time: 45-60 min -> 50-65 min");
    assert_eq!(recipe.variants[1].changes, ["skip milk", "add crumbs after gratin.layer", "add ingredient crumbs"]);
}

#[test]
fn a_variant_is_checked_by_the_same_rules_at_its_own_place() {
    let text = TEXT.replace("to = \"50-65 min\"", "to = \"65-50 min\"");
    let parsed = parse("r.toml", &text);
    let [complaint] = &parsed.complaints[..] else { panic!("{:#?}", parsed.complaints) };
    assert_eq!((complaint.rule, complaint.found.as_str()), ("ends-swapped", "65-50 min"));
    assert!(complaint.message.starts_with("in variant `longer`: "), "{}", complaint.message);
    assert!(parsed.recipe.is_none());
}

#[test]
fn a_skipped_step_that_others_wait_for_is_complained_about_at_the_skip() {
    let text = TEXT.replace("skip = [\"milk\"]", "skip = [\"loin.roast\"]");
    let parsed = parse("r.toml", &text);
    let lost: Vec<_> = parsed.complaints.iter().filter(|c| c.rule == "unknown-reference").collect();
    assert_eq!(lost.len(), 2, "{:#?}", parsed.complaints);
    assert!(lost.iter().all(|c| c.message.contains("in variant `crumb-crust`, at line ")), "{lost:#?}");
}

#[test]
fn the_version_names_the_meaning_and_not_the_words() {
    let version = recipe(TEXT).version;
    assert_eq!(version.len(), 64);
    for (from, to) in [
        ("# The gratin goes into the second oven.", "# Another comment."),
        ("amount = \"1.2 kg\"", "amount = \"1200 g\""),
        ("until = { time = \"90 s\" }", "until = { time = \"PT1M30S\" }"),
        ("to = \"50-65 min\"", "to = \"PT50M/PT65M\""),
        ("heat = \"180 °C\", fan = true", "fan = true, heat = \"180,0 °C\""),
        (
            "title = \"Pork loin with potato gratin\"\nyield = \"6 portions\"",
            "yield = \"6 portions\"\ntitle = \"Pork loin with potato gratin\"",
        ),
        ("cooks = 1\n", ""),
        ("least = \"3 min\", probe = \"core\"", "probe = \"core\", least = \"180 s\""),
    ] {
        let text = TEXT.replace(from, to);
        assert_ne!(text, TEXT, "{from}");
        assert_eq!(recipe(&text).version, version, "{to}");
    }
    for (from, to) in [
        ("1.2 kg", "1.3 kg"),
        ("90 s\" }", "91 s\" }"),
        ("Warm the milk.", "Warm the milk!"),
        ("50-65 min", "51-65 min"),
    ] {
        assert_ne!(recipe(&TEXT.replace(from, to)).version, version, "{to}");
    }
}

#[test]
fn a_target_is_left_to_the_rest_only_where_the_file_says_so_and_older_versions_stand() {
    let in_rest = |text: &str| {
        let Until::Core(core) = &step(&recipe(text).base, "loin.roast").until.clone() else { panic!() };
        core.in_rest
    };
    let at = "core = \"68 °C\", in_rest = true, ";
    let without = TEXT.replace(at, "core = \"63 °C\", ");
    let denied = TEXT.replace(at, "core = \"63 °C\", in_rest = false, ");
    assert_eq!([TEXT, &without, &denied].map(in_rest), [true, false, false]);
    // as it was before recipes could say it
    let before = "d80a3d0bdd5bf24b494de7bfbbf0d5a4f740c7c516a97569e9dc89fd528f4632";
    assert_eq!(recipe(&without).version, before);
    assert_eq!(recipe(&denied).version, before);
    assert_ne!(recipe(TEXT).version, before);
}

#[test]
fn food_that_is_left_to_the_rest_is_called_off_the_heat() {
    let unsaid = TEXT.replacen("then = \"TAKE OUT\"\n", "", 1);
    assert_eq!(step(&recipe(&unsaid).base, "loin.roast").then, "TAKE OUT");
    let stays = unsaid.replace("in_rest = true, ", "");
    assert_eq!(step(&recipe(&stays).base, "loin.roast").then, "CHECK", "without it nobody is told to move the food");
}

#[test]
fn formatting_keeps_the_recipe_and_its_comments_and_is_done_after_once() {
    let untidy = TEXT
        .replace("id = \"loin-and-gratin\"", "  id=\"loin-and-gratin\"   # kept")
        .replace("[[stage.step]]\nid = \"bake\"", "\n\n   [[stage.step]]   # header\n# why\nid = \"bake\"")
        .replace("{ heat = \"180 °C\", fan = true }", "{fan=true,heat=\"180 °C\"}")
        .replace("core = \"68 °C\", in_rest = true", "in_rest=true, core = \"68 °C\"")
        .replace("[\"raw-pork\", \"milk\"]", "[ \"raw-pork\" ,\"milk\", ]")
        + "\n\n# the end";
    let once = format(&untidy).unwrap();
    assert_eq!(format(&once).unwrap(), once);
    assert_eq!(recipe(&once), recipe(&untidy));
    assert_eq!(recipe(&once), recipe(TEXT));
    assert!(once.starts_with("# Tern Lane Test Kitchen: a menu that uses every key of the format.\n\nschema = 1\nid = \"loin-and-gratin\" # kept\n"), "{once}");
    assert!(once.contains("\n\n[[stage.step]] # header\n# why\nid = \"bake\"\n"), "{once}");
    assert!(once.contains("setting = { heat = \"180 °C\", fan = true }\n"), "{once}");
    assert!(once.contains("until = { core = \"68 °C\", in_rest = true, probe = \"core\", hold"), "{once}");
    assert!(once.contains("hazards = [\"raw-pork\", \"milk\"]\n"), "{once}");
    assert!(once.contains("# The gratin goes into the second oven.\n[[stage]]\n"), "{once}");
    assert!(once.ends_with("\n\n# the end\n"), "{once}");
}

#[test]
fn text_that_is_no_toml_is_not_laid_out() {
    let complaints = format("title = \"Toast\nid = 62,5\n").unwrap_err();
    let codes: Vec<&str> = complaints.iter().map(|c| c.rule).collect();
    assert_eq!(codes, ["toml-syntax", "decimal-comma"]);
    assert!(complaints.iter().all(|c| c.severity == Severity::Error));
}

#[test]
fn a_complaint_shows_its_line_and_what_to_write() {
    let text = TEXT.replace("until = { time = \"90 s\" }", "until = { tme = \"90 s\", time = \"90\" }");
    let parsed = parse("menu.toml", &text);
    let source = Source { name: "menu.toml", text: &text };
    let said: String = parsed.complaints.iter().map(|c| render(c, &source, false)).collect();
    let line = text.lines().position(|line| line.contains("tme")).unwrap() + 1;
    assert_eq!(
        said,
        format!(
            "menu.toml:{line}:11: error[unknown-key]: expected a key of an end by time, found `tme`\n\
             \u{20}   |\n\
             {line} | until = {{ tme = \"90 s\", time = \"90\" }}\n\
             \u{20}   |           ^^^\n\
             \u{20}   = help: time stands in this table already: leave one of the two\n\
             menu.toml:{line}:33: error[no-unit]: expected a duration with its unit, found the number `90` alone\n\
             \u{20}   |\n\
             {line} | until = {{ tme = \"90 s\", time = \"90\" }}\n\
             \u{20}   |                                 ^^\n\
             \u{20}   = help: write 90 s or 90 min\n"
        )
    );
    let coloured = render(&parsed.complaints[0], &source, true);
    assert!(coloured.contains('\u{1b}') && !said.contains('\u{1b}'));
}

#[test]
fn a_recipe_in_fahrenheit_is_printed_in_fahrenheit() {
    use quantities::print::{World, temperature_both};
    assert_eq!(writers_world(TEXT), World::Metric);
    let text = TEXT.replace("180 °C", "355 °F").replace("68 °C", "155 °F");
    assert_eq!(writers_world(&text), World::Us);
    let recipe = recipe(&text);
    let Until::Core(core) = &step(&recipe.base, "loin.roast").until else { panic!() };
    assert_eq!(temperature_both(core.target, World::Us), "155 °F (68 °C)");
}
