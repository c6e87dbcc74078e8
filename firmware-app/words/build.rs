//! Makes one method for each message from the message files, so that a message that is missing in a language, or takes
//! other values there, is an error of the build and no surprise in a kitchen.
//!
//! Of the message format (Project Fluent) these parts are known: texts, values `{ $name }`, a choice by a number between
//! `[one]` and `*[other]`, and attributes, which are shorter ways to say the same, longest first.

use std::{
    collections::{BTreeMap, BTreeSet},
    env, fs,
    path::Path,
};

use fluent_syntax::{
    ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey},
    parser,
};

/// A language: its variant of the enum, and its file.
const LANGUAGES: [(&str, &str); 2] = [("English", "en"), ("German", "de")];

/// The texts of a message, fullest first.
type Lengths = Vec<Vec<Part>>;

enum Part {
    Text(String),
    Value(String),
    /// One, or another number.
    Number(String, Vec<Part>, Vec<Part>),
}

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=messages");
    let mut languages = Vec::new();
    for (variant, file) in LANGUAGES {
        let path = format!("messages/{file}.ftl");
        let text = fs::read_to_string(&path).unwrap_or_else(|why| panic!("cannot read {path}: {why}"));
        languages.push((variant, path.clone(), messages(&path, &text)));
    }
    let (_, first_path, first) = &languages[0];
    for (_, path, other) in &languages[1..] {
        for (key, lengths) in first {
            let Some(there) = other.get(key) else { panic!("{path}: expected the message {key} of {first_path}") };
            assert!(values(lengths) == values(there), "{path}: {key} takes other values than in {first_path}");
        }
        for key in other.keys() {
            assert!(first.contains_key(key), "{path}: found the message {key}, which {first_path} lacks");
        }
    }
    let mut code = String::from("impl Language {\n");
    for (key, lengths) in first {
        method(&mut code, key, lengths, &languages);
    }
    code.push_str("}\n");
    let names: Vec<String> = first.keys().map(|key| format!("{key:?}")).collect();
    code.push_str(&format!(
        "/// Every message by its key.\npub const KEYS: [&str; {}] = [{}];\n",
        names.len(),
        names.join(", ")
    ));
    let out = env::var("OUT_DIR").expect("cargo sets OUT_DIR for a build script");
    fs::write(Path::new(&out).join("messages.rs"), code).expect("OUT_DIR can be written");
}

fn messages(path: &str, text: &str) -> BTreeMap<String, Lengths> {
    let resource = parser::parse(text).unwrap_or_else(|(_, errors)| panic!("{path}: {errors:?}"));
    let mut found = BTreeMap::new();
    for entry in resource.body {
        match entry {
            Entry::Message(message) => {
                let key = message.id.name.to_owned();
                let place = format!("{path}: {key}");
                let value = message.value.unwrap_or_else(|| panic!("{place}: expected a text"));
                let mut lengths = vec![parts(&place, &value)];
                lengths.extend(message.attributes.iter().map(|attribute| parts(&place, &attribute.value)));
                assert!(found.insert(key, lengths).is_none(), "{place}: found twice");
            }
            Entry::Term(term) => panic!("{path}: expected no terms, found {}", term.id.name),
            Entry::Junk { content } => panic!("{path}: cannot read {content:?}"),
            Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => {}
        }
    }
    found
}

#[allow(clippy::wildcard_enum_match_arm, reason = "the syntax has more kinds than a message here may use")]
fn parts(place: &str, pattern: &Pattern<&str>) -> Vec<Part> {
    let part = |element: &PatternElement<&str>| match element {
        PatternElement::TextElement { value } => Part::Text((*value).to_owned()),
        PatternElement::Placeable { expression: Expression::Inline(inline) } => match inline {
            InlineExpression::VariableReference { id } => Part::Value(id.name.to_owned()),
            other => panic!("{place}: expected a value such as {{ $name }}, found {other:?}"),
        },
        PatternElement::Placeable { expression: Expression::Select { selector, variants } } => {
            let InlineExpression::VariableReference { id } = selector else {
                panic!("{place}: expected a choice by a value")
            };
            let arm = |name: &str| {
                let found = variants
                    .iter()
                    .find(|arm| matches!(&arm.key, VariantKey::Identifier { name: key } if *key == name));
                parts(place, &found.unwrap_or_else(|| panic!("{place}: expected an arm [{name}]")).value)
            };
            assert!(variants.len() == 2, "{place}: expected the arms [one] and *[other] only");
            Part::Number(id.name.to_owned(), arm("one"), arm("other"))
        }
    };
    pattern.elements.iter().map(part).collect()
}

/// Names of the values that a message takes, and of those by which it chooses.
fn values(lengths: &Lengths) -> (BTreeSet<String>, BTreeSet<String>) {
    fn collect(parts: &[Part], shown: &mut BTreeSet<String>, counted: &mut BTreeSet<String>) {
        for part in parts {
            match part {
                Part::Text(_) => {}
                Part::Value(name) => {
                    shown.insert(name.clone());
                }
                Part::Number(name, one, other) => {
                    counted.insert(name.clone());
                    shown.insert(name.clone());
                    collect(one, shown, counted);
                    collect(other, shown, counted);
                }
            }
        }
    }
    let (mut shown, mut counted) = (BTreeSet::new(), BTreeSet::new());
    for parts in lengths {
        collect(parts, &mut shown, &mut counted);
    }
    (shown, counted)
}

fn method(code: &mut String, key: &str, lengths: &Lengths, languages: &[(&str, String, BTreeMap<String, Lengths>)]) {
    // the values stand in the order in which the first language names them
    let mut order = Vec::new();
    lengths.iter().for_each(|parts| in_order(parts, &mut order));
    let (_, counted) = values(lengths);
    let arguments: String = order
        .iter()
        .map(|name| {
            let kind = if counted.contains(name) { "u64" } else { "impl core::fmt::Display" };
            format!(", {name}: {kind}")
        })
        .collect();
    let shown = plain(&lengths[0]).replace('`', "'");
    code.push_str(&format!("    /// `{}`\n", shown.trim()));
    code.push_str(&format!(
        "    pub fn {}(self{arguments}) -> Text {{\n        match self {{\n",
        key.replace('-', "_")
    ));
    for (variant, _, messages) in languages {
        let lengths = &messages[key];
        let texts: Vec<String> = lengths.iter().map(|parts| expression(parts)).collect();
        code.push_str(&format!("            Self::{variant} => Text::of([{}]),\n", texts.join(", ")));
    }
    code.push_str("        }\n    }\n\n");
}

fn in_order(parts: &[Part], order: &mut Vec<String>) {
    for part in parts {
        let names = match part {
            Part::Text(_) => vec![],
            Part::Value(name) => vec![name.clone()],
            Part::Number(name, one, other) => {
                let mut names = vec![name.clone()];
                in_order(one, &mut names);
                in_order(other, &mut names);
                names
            }
        };
        for name in names {
            if !order.contains(&name) {
                order.push(name);
            }
        }
    }
}

fn plain(parts: &[Part]) -> String {
    let one = |part: &Part| match part {
        Part::Text(text) => text.clone(),
        Part::Value(name) => format!("{{{name}}}"),
        Part::Number(_, _, other) => plain(other),
    };
    parts.iter().map(one).collect()
}

/// Rust that makes the text.
fn expression(parts: &[Part]) -> String {
    if let [Part::Text(text)] = parts {
        return format!("Cow::Borrowed({text:?})");
    }
    if let [Part::Number(name, one, other)] = parts {
        return format!("if {name} == 1 {{ {} }} else {{ {} }}", expression(one), expression(other));
    }
    let pattern: String = parts
        .iter()
        .map(|part| match part {
            Part::Text(text) => text.replace('{', "{{").replace('}', "}}"),
            Part::Value(name) => format!("{{{name}}}"),
            Part::Number(name, ..) => panic!("a choice by {name} has to be the whole text"),
        })
        .collect();
    format!("Cow::Owned(format!({pattern:?}))")
}
