//! Every message in every language has a form that fits its place on the wide panel, in the letters that are drawn
//! there. That every screen can be drawn without a cut, on both panels, is tested where they are drawn (`screens`).
//!
//! The message files are read here once more, on their own, and filled with values as long as they get: what
//! [`words::Text`] gives is compared with that in `said_in_full`. Words of a recipe (a food, a step) are short here, for
//! where they meet a word of the panel the screens fall back to the verb alone.
#![allow(clippy::unwrap_used, clippy::print_stderr)]

use std::collections::BTreeMap;

use face::Size;
use fluent_syntax::{
    ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey},
    parser,
};
use words::{KEYS, Language};

const FILES: [(Language, &str); 2] =
    [(Language::English, include_str!("../messages/en.ftl")), (Language::German, include_str!("../messages/de.ftl"))];

/// A place for words on the wide panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    KeyWord,
    Button,
    Loss,
    Verb,
    AfterVerb,
    BandLabel,
    Header,
    Figures,
    Title,
    CellName,
    Note,
    Row,
    Aside,
    Beside,
    Reason,
    Line,
    Fact,
    Caution,
}

impl Kind {
    /// Size and room in px.
    fn place(self) -> (Size, u32) {
        match self {
            Self::KeyWord => (Size::S, 68),
            Self::Button => (Size::S, 130),
            // the two boxes at the ends of the bar of clicks
            Self::Loss => (Size::S, 112),
            Self::Verb => (Size::S, 105),
            // one of the two lines of an alert pair
            Self::AfterVerb => (Size::S, 105),
            Self::BandLabel => (Size::M, 252),
            Self::Header => (Size::S, 150),
            Self::Figures => (Size::Question, 75),
            // beside the sign of a lost probe
            Self::Title => (Size::Question, 206),
            Self::CellName => (Size::S, 76),
            Self::Note => (Size::S, 300),
            Self::Row => (Size::M, 190),
            Self::Aside => (Size::S, 150),
            // beside the figures of the dark time
            Self::Beside => (Size::S, 190),
            // why a plan does not fit, and what helps
            Self::Reason => (Size::M, 304),
            Self::Line => (Size::S, 300),
            // two lines each
            Self::Fact | Self::Caution => (Size::S, 2 * 300),
        }
    }

    /// By the message's key: the longest start that is listed, else a line.
    fn of(key: &str) -> Self {
        let starts = STARTS.iter().flat_map(|(kind, starts)| starts.iter().map(move |start| (*kind, *start)));
        let found = starts.filter(|(_, start)| key.starts_with(start)).max_by_key(|(_, start)| start.len());
        found.map_or(Self::Line, |(kind, _)| kind)
    }
}

const STARTS: [(Kind, &[&str]); 17] = [
    (Kind::KeyWord, &["key-start", "key-ok", "key-done", "key-yes"]),
    (
        Kind::Button,
        &["button-", "answer-", "knob-", "turn-choose", "turn-keep", "turn-scroll", "turn-set", "hold-", "any-key"],
    ),
    (Kind::Loss, &["keep", "skip", "stop", "give-up", "forget"]),
    (Kind::Verb, &["verb-", "probe-lost-row"]),
    (Kind::AfterVerb, &["probe-place", "under"]),
    (Kind::BandLabel, &["next", "call"]),
    (
        Kind::Header,
        &[
            "all-done",
            "need-you",
            "undo-",
            "power-was-off",
            "step-of",
            "choose-recipe",
            "recipes",
            "of-count",
            "updating",
            "in-order",
            "menu",
            "food-goes-on",
            "settings",
            "to-answer",
            "plan-moved",
            "plan-title",
            "lands-",
            "note-of",
            "trial-saved",
            "given-up",
            "check-probe",
            "join-title",
            "disk-full",
            "outcome-title",
            "was-lost-at",
        ],
    ),
    (Kind::Figures, &["now", "done"]),
    (Kind::Title, &["probe-lost-title"]),
    (Kind::CellName, &["later", "was-lost", "place-", "core-at", "reading-age"]),
    (
        Kind::Note,
        &[
            "left",
            "until-",
            "waits-",
            "ready-to-",
            "runs-for",
            "call-at",
            "still-cooking",
            "done-at",
            "lost-since",
            "probe-lost",
            "stirred-next",
            "no-reading",
            "ago-",
            "a-minute",
            "target",
            "rest-",
            "held-",
            "places-",
            "about-",
            "call-to-rest",
            "withheld-",
            "look-range",
            "now-at",
            "turn-to-note",
            "digit-",
            "later-is-fine",
            "start-and-latest",
            "start-only",
            "can-wait",
            "no-slack",
        ],
    ),
    (
        Kind::Row,
        &[
            "starting-",
            "back",
            "oven-at",
            "probe-called",
            "ingredients-in",
            "another-recipe",
            "quiet-row",
            "give-up-row",
            "plan-row",
            "eight-in-ten",
            "late-by",
            "ready-at",
            "ready-in",
            "plan-first",
            "set-",
            "version",
        ],
    ),
    (
        Kind::Aside,
        &[
            "keys-free",
            "key-stuck",
            "key-lane",
            "key-knob",
            "key-pedal",
            "not-there",
            "not-set-up",
            "works",
            "testing-lane",
            "trials-kept",
            "trial-new",
            "trial-count",
            "refused-",
            "found-",
            "on",
            "off",
            "level-of",
            "celsius",
            "fahrenheit",
            "english",
            "german",
            "never-checked",
            "fan",
            "start-latest",
            "start-no-slack",
            "start-in",
            "wanted-at",
            "as-it-comes",
            "plan",
            // in a cell too, where the screens leave out the degree sign of a long one
            "rest-of",
        ],
    ),
    (Kind::Beside, &["off-clocks", "or-more"]),
    (Kind::Reason, &["cannot-", "remedy-"]),
    // on the page of a lane
    (Kind::Fact, &["taken-now", "take-at", "doubt-", "shallow-tip", "peak-", "said-peak"]),
    (Kind::Caution, &["caution-"]),
];

/// Starts above that are words of their own begin other keys too; those are lines.
const LINES: [&str; 18] = [
    "plan-late",
    "plan-early",
    "plan-cannot-fit",
    "plan-lands-late",
    "plan-lands-early",
    "plan-from-to",
    "off-by",
    "off-by-too-much",
    "skip-this",
    "stop-this",
    "give-up-this",
    "forget-check",
    "keep-hint",
    "kept-here",
    "kept-and-sent",
    "disk-full-title",
    "nothing-is-due",
    "still-cooking-question",
];

fn kind(key: &str) -> Kind {
    if LINES.contains(&key) { Kind::Line } else { Kind::of(key) }
}

/// As long as the value gets.
fn value(language: Language, name: &str) -> &'static str {
    let german = language == Language::German;
    match name {
        "lane" | "place" | "step" | "held" | "level" | "name" => "4",
        "of" => "12",
        "at" | "count" => "10",
        "low" => "64.9",
        "high" => "67.5",
        "age" => "99 s",
        "time" | "was" | "now" | "start" | "latest" => "12:47",
        "span" | "left" | "from" | "to" => "59:59",
        "reading" | "core" | "peak" | "said" | "expected" => "−18.4°",
        "target" => "145°",
        "hot" => "100°C",
        "slope" | "by" => "+10.2°",
        "moment" if german => "um 12:47",
        "moment" => "at 12:47",
        "change" | "shift" => "+12 min",
        "setting" => "165°C",
        "when" => "2026-11-25",
        "version" => "0.12.10",
        "code" => "K7M2-9QXR",
        "verb" if german => "RUHEN LASSEN",
        "verb" => "TAKE OUT",
        "word" if german => "FERTIG",
        "word" => "START",
        "key" if german => "Taste 4",
        "key" => "key 4",
        "why" if german => "kein Signal",
        "why" => "no signal",
        "last" if german => "war 64°",
        "last" => "was 64°",
        "oven" if german => "Ofen 2",
        "oven" => "Oven 2",
        "food" | "recipe" | "title" | "cue" | "call" => "loaf",
        other => panic!("no sample of the value {other}"),
    }
}

/// All forms of all messages, with values in them.
fn messages(language: Language) -> BTreeMap<String, Vec<String>> {
    let text = FILES.iter().find(|(of, _)| *of == language).unwrap().1;
    let entries = parser::parse(text).unwrap().body.into_iter();
    let messages = entries.filter_map(|entry| match entry {
        Entry::Message(message) => Some(message),
        Entry::Term(_)
        | Entry::Junk { .. }
        | Entry::Comment(_)
        | Entry::GroupComment(_)
        | Entry::ResourceComment(_) => None,
    });
    let all = messages.map(|message| {
        // a step is a number in `step-of` and a word elsewhere
        let step = if message.id.name == "step-of" { "12" } else { "bake" };
        // what is known of a lost probe is a sentence
        let what = if message.id.name == "lost-since" { "0:22 ago at 64°" } else { "loaf" };
        let forms = message.value.iter().chain(message.attributes.iter().map(|attribute| &attribute.value));
        (message.id.name.to_owned(), forms.map(|form| filled(language, [step, what], form)).collect())
    });
    all.collect()
}

fn filled(language: Language, words: [&str; 2], pattern: &Pattern<&str>) -> String {
    let value = |name: &str| match name {
        "step" => words[0].to_owned(),
        "what" => words[1].to_owned(),
        other => value(language, other).to_owned(),
    };
    let element = |element: &PatternElement<&str>| match element {
        PatternElement::TextElement { value } => (*value).to_owned(),
        PatternElement::Placeable { expression } => match expression {
            Expression::Inline(InlineExpression::VariableReference { id }) => value(id.name),
            Expression::Inline(other) => panic!("{other:?}"),
            Expression::Select { variants, .. } => {
                let other = variants.iter().find(|arm| matches!(arm.key, VariantKey::Identifier { name: "other" }));
                filled(language, words, &other.unwrap().value)
            }
        },
    };
    pattern.elements.iter().map(element).collect()
}

/// Each message with its language and key.
fn every() -> impl Iterator<Item = (Language, String, Vec<String>)> {
    Language::ALL
        .into_iter()
        .flat_map(|language| messages(language).into_iter().map(move |(key, forms)| (language, key, forms)))
}

fn letters(text: &str) -> usize {
    text.chars().count()
}

#[test]
fn every_message_has_a_form_that_fits_its_place() {
    let mut widest: BTreeMap<(Kind, Language), (u32, String)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for (language, key, forms) in every() {
        let kind = kind(&key);
        let (size, room) = kind.place();
        let least = forms.last().unwrap();
        let width = face::width(size, least);
        if width > room {
            wrong.push(format!("{} {key}: {least:?} is {width} px wide, {kind:?} has {room}", language.code()));
        }
        let longest = widest.entry((kind, language)).or_default();
        if width > longest.0 {
            *longest = (width, least.clone());
        }
    }
    // shown when the test fails, or with --nocapture
    let report: Vec<String> = widest
        .iter()
        .map(|((kind, language), (width, text))| {
            let (size, room) = kind.place();
            format!("{kind:?} {}: {width} of {room} px in {size:?}, {text:?}", language.code())
        })
        .collect();
    eprintln!("widest of the shortest forms of each kind:\n{}", report.join("\n"));
    assert!(wrong.is_empty(), "{} texts are too long:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_caution_breaks_into_two_lines() {
    for (language, key, forms) in every().filter(|(_, key, _)| kind(key) == Kind::Caution) {
        let wide = |line: &str| face::width(Size::S, line) <= 300;
        assert!(lines(&forms[0], wide) <= 2, "{} {key}: {:?}", language.code(), forms[0]);
    }
}

/// How many lines a text takes, broken at spaces.
fn lines(text: &str, fits: impl Fn(&str) -> bool) -> usize {
    let (mut count, mut line) = (1, String::new());
    for word in text.split(' ') {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
        } else {
            count += 1;
            line = word.to_owned();
        }
    }
    count
}

#[test]
fn each_form_is_shorter_than_the_one_before() {
    for (language, key, forms) in every() {
        for pair in forms.windows(2) {
            let shorter = face::width(Size::S, &pair[1]) < face::width(Size::S, &pair[0]);
            assert!(shorter && letters(&pair[1]) < letters(&pair[0]), "{} {key}: {pair:?}", language.code());
        }
    }
}

#[test]
fn the_face_has_every_letter() {
    for (language, key, forms) in every() {
        let (size, _) = kind(&key).place();
        for form in forms {
            assert_eq!(face::covers(size, &form), Ok(()), "{} {key}: {form:?}", language.code());
        }
    }
}

#[test]
fn the_narrow_panel_has_every_letter_but_the_minus_and_the_arrow() {
    // its faces are those of ISO 8859-1; the screens write - and > for these two
    let known = |letter: char| u32::from(letter) < 0x100 || ['−', '→'].contains(&letter);
    for (language, key, forms) in every() {
        assert!(forms.iter().all(|form| form.chars().all(known)), "{} {key}: {forms:?}", language.code());
    }
}

#[test]
fn what_stands_in_the_large_figures_has_letters_there() {
    // the largest sizes have figures and the letters of few words
    for (language, _, forms) in every().filter(|(_, key, _)| key == "now") {
        for size in [Size::Xxl, Size::Badge, Size::Xl, Size::L] {
            let drawn = forms.iter().any(|form| face::covers(size, form).is_ok());
            assert!(drawn, "{} {size:?}: {forms:?}", language.code());
        }
    }
}

#[test]
fn german_differs_from_english_but_for_words_that_are_the_same() {
    /// Messages that say the same in both languages.
    const SAME: [&str; 18] = [
        "stirred-next",
        "place-grill",
        "button-key",
        "celsius",
        "english",
        "fahrenheit",
        "german",
        "join-code",
        "key-ok",
        "key-pedal",
        "key-start",
        "plan",
        "plan-from-to",
        "score-what",
        "start-in",
        "step-of",
        "knob-time",
        "version",
    ];
    let (english, german) = (messages(Language::English), messages(Language::German));
    for (key, forms) in &english {
        let other = &german[key];
        // a form that is only values, or only lane and word, is no word of a language
        let said = |forms: &[String]| -> Vec<String> {
            forms.iter().filter(|form| form.chars().any(char::is_alphabetic)).cloned().collect()
        };
        if SAME.contains(&key.as_str()) {
            continue;
        }
        let shared = said(forms).into_iter().filter(|form| said(other).contains(form)).collect::<Vec<_>>();
        let recipe_words = ["loaf", "+12 min", "bake", "+10.2°/min", "START"];
        assert!(
            shared.iter().all(|form| recipe_words.contains(&form.as_str())) && forms[0] != other[0],
            "{key} is {shared:?} in both languages"
        );
    }
    for key in SAME {
        assert!(english.contains_key(key), "{key} is no message");
    }
}

#[test]
fn capitals_are_for_acts() {
    let acts = |key: &str| {
        let kind = kind(key);
        matches!(kind, Kind::KeyWord | Kind::Button | Kind::Loss | Kind::Verb | Kind::Title)
            || kind == Kind::BandLabel && key == "call"
            // spoken, not shown
            || key.starts_with("say-")
    };
    for (language, key, forms) in every().filter(|(_, key, _)| !acts(key)) {
        for word in forms.iter().flat_map(|form| form.split(' ')) {
            let capitals = word.chars().filter(|letter| letter.is_uppercase()).count();
            let small = word.chars().any(char::is_lowercase);
            assert!(capitals < 2 || small || word == "K7M2-9QXR", "{} {key}: {word}", language.code());
        }
    }
}

#[test]
fn nobody_is_addressed_in_german_and_nothing_is_called_safe() {
    let barred = ["du", "dich", "dir", "dein", "deine", "sie", "ihr", "ihre", "ihnen", "safe", "sicher"];
    for (language, key, forms) in every() {
        for word in forms.iter().flat_map(|form| form.split(|letter: char| !letter.is_alphabetic())) {
            assert!(!barred.contains(&word.to_lowercase().as_str()), "{} {key}: {word}", language.code());
        }
    }
}

#[test]
fn the_files_hold_the_messages_of_the_crate() {
    for (language, _) in FILES {
        assert!(messages(language).keys().map(String::as_str).eq(KEYS), "{}", language.code());
    }
}

#[test]
fn said_in_full() {
    for language in Language::ALL {
        let files = messages(language);
        let check = |key: &str, text: words::Text| {
            assert_eq!(text.lengths().collect::<Vec<_>>(), files[key], "{} {key}", language.code());
        };
        check("key-done", language.key_done());
        check("button-key", language.button_key(4, value(language, "word")));
        check("trial-count", language.trial_count(10));
        check("held-of", language.held_of("59:59", "12"));
        check("places-held", language.places_held(4, 12));
        check("ago-at-rising", language.ago_at_rising("59:59", "−18.4°"));
    }
}

#[test]
fn one_is_said_in_the_singular() {
    assert_eq!(Language::German.trial_count(1).full(), "1 Versuch");
    assert_eq!(Language::German.trial_count(0).full(), "0 Versuche");
    assert_eq!(Language::English.trial_count(1).full(), "1 trial");
    assert_eq!(Language::English.trial_count(2).full(), "2 trials");
}
