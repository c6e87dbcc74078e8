//! The shipped estimator on the development curves: the accepted figures, and that a worse one would be found out.

use std::{path::Path, sync::Arc};

use doneness::{Knowledge, Mix};
use heat::judge::{Ask, Trace, judge, read};

fn development() -> Vec<Trace> {
    let at = |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/development").join(name);
    read(&at("curves.csv.gz"), &at("curves_meta.json"), Some(&at("curves_rest_truth.csv.gz")))
        .expect("the files are there")
        .traces
}

fn ask() -> Ask {
    let knowledge = Arc::new(Knowledge::shipped().expect("the shipped files are whole"));
    Ask { knowledge, mix: Mix::USUAL, reached: true, history: None }
}

#[test]
fn every_accepted_figure_is_met_on_the_development_curves() {
    let verdict = judge(&development(), &ask());
    assert!(verdict.missed().is_empty(), "{}\n{:?}", verdict.text, verdict.missed());
}

#[test]
fn an_interval_without_width_is_found_out() {
    let verdict = judge(&development(), &Ask { mix: Mix { widen: 0.1, ..Mix::USUAL }, ..ask() });
    let missed = verdict.missed();
    assert!(missed.iter().any(|missed| missed.name.starts_with("80 % interval")), "{missed:?}");
}

#[test]
fn earlier_trials_help_at_a_quarter_of_the_cook() {
    let quarter = |ask: &Ask| {
        let figures = judge(&development(), ask).figures;
        let figure = figures.iter().find(|figure| figure.name == "error at 25 % of the cook, median");
        figure.and_then(|figure| figure.found).expect("it was measured")
    };
    let (without, with) = (quarter(&ask()), quarter(&Ask { history: Some(0.09), ..ask() }));
    assert!(with < without, "{with} with history, {without} without");
}
