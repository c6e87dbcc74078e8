//! Quantities of a file that do not read, for the rules about them.

use quantities::{Fault, Kind, ReadError, parse};

use super::{Checked, Findings};
use crate::{
    keys::Shape,
    read,
    syntax::{Place, Value},
    walk::{Seen, inside},
};

/// What is wrong with a quantity.
pub(super) enum Found {
    /// A TOML number instead of a text.
    Bare(String),
    /// A text that is no quantity of this kind.
    Fault(ReadError),
}

/// Every quantity that does not read.
pub(super) fn faults<'c>(checked: &'c Checked<'_>) -> impl Iterator<Item = (&'c Seen<'c>, Found)> {
    checked.walk.values.iter().filter_map(|seen| {
        words_of(seen.shape)?;
        let found = match &seen.node.value {
            Value::Text(text) => Found::Fault(fault(seen.shape, text)?),
            Value::Whole(_) | Value::Decimal => Found::Bare(checked.source.excerpt(&seen.node.place)),
            Value::Truth(_) | Value::Moment | Value::List(_) | Value::Table(_) => return None,
        };
        Some((seen, found))
    })
}

/// Complains about every quantity with one of the faults that `is_mine` names.
pub(super) fn each(checked: &Checked<'_>, found: &mut Findings<'_>, is_mine: fn(Fault) -> bool) {
    for (seen, fault) in faults(checked) {
        if let Found::Fault(error) = fault
            && is_mine(error.fault)
        {
            found.add(place(checked, seen, &error), error.to_string(), error.help);
        }
    }
}

/// Where the fault stands in the file.
pub(super) fn place(checked: &Checked<'_>, seen: &Seen<'_>, error: &ReadError) -> Place {
    inside(checked.source.text, seen.node, &error.at)
}

/// What a shape asks for, in words.
pub(super) fn words(shape: &Shape) -> &'static str {
    words_of(shape).unwrap_or("a quantity")
}

/// A number with the units that it can have.
pub(super) fn with_units(shape: &Shape, number: &str, value: &Value) -> String {
    let quote = if matches!(value, Value::Text(_)) { "" } else { "\"" };
    let (first, second) = match shape {
        Shape::Duration | Shape::Durations | Shape::DurationOrNone => ("s", "min"),
        Shape::Temperature | Shape::TemperatureStep => ("°C", "°F"),
        Shape::Power => ("W", "kW"),
        Shape::Amount => ("g", "pieces"),
        Shape::Tolerance => ("%", "g"),
        Shape::Text { .. }
        | Shape::Id
        | Shape::Reference
        | Shape::Counts
        | Shape::Whole { .. }
        | Shape::Truth
        | Shape::Word(_)
        | Shape::Appliance
        | Shape::List(_)
        | Shape::Table(_)
        | Shape::Tables(_)
        | Shape::OneOf(_)
        | Shape::OneOrMore(_)
        | Shape::Many(_)
        | Shape::Anything => ("", ""),
    };
    format!("write {quote}{number} {first}{quote} or {quote}{number} {second}{quote}")
}

fn words_of(shape: &Shape) -> Option<&'static str> {
    match shape {
        Shape::Duration | Shape::Durations | Shape::DurationOrNone => Some("a duration"),
        Shape::Temperature => Some("a temperature"),
        Shape::TemperatureStep => Some("a temperature difference"),
        Shape::Power => Some("a power"),
        Shape::Amount => Some("an amount"),
        Shape::Tolerance => Some("a tolerance"),
        Shape::Text { .. }
        | Shape::Id
        | Shape::Reference
        | Shape::Counts
        | Shape::Whole { .. }
        | Shape::Truth
        | Shape::Word(_)
        | Shape::Appliance
        | Shape::List(_)
        | Shape::Table(_)
        | Shape::Tables(_)
        | Shape::OneOf(_)
        | Shape::OneOrMore(_)
        | Shape::Many(_)
        | Shape::Anything => None,
    }
}

fn fault(shape: &Shape, text: &str) -> Option<ReadError> {
    match shape {
        Shape::Duration => parse::span(text).err(),
        Shape::DurationOrNone if text == "none" => None,
        Shape::DurationOrNone => parse::span(text).err(),
        Shape::Durations => parse::span_range(text).err(),
        Shape::Temperature => parse::temperature(text).err(),
        Shape::TemperatureStep => parse::temperature_step(text).err(),
        Shape::Power => parse::power(text).err(),
        Shape::Amount => amount(text),
        Shape::Tolerance => tolerance(text),
        Shape::Text { .. }
        | Shape::Id
        | Shape::Reference
        | Shape::Counts
        | Shape::Whole { .. }
        | Shape::Truth
        | Shape::Word(_)
        | Shape::Appliance
        | Shape::List(_)
        | Shape::Table(_)
        | Shape::Tables(_)
        | Shape::OneOf(_)
        | Shape::OneOrMore(_)
        | Shape::Many(_)
        | Shape::Anything => None,
    }
}

fn amount(text: &str) -> Option<ReadError> {
    if read::amount(text).is_some() {
        return None;
    }
    let mut error = nearest_fault(text, Kind::Volume, parse::mass(text).err()?, |text| parse::volume(text).err());
    error.expected = "an amount";
    if !matches!(
        error.fault,
        Fault::NoUnit | Fault::Negative | Fault::Ambiguous | Fault::Thousands | Fault::EndsSwapped
    ) {
        error.help = "write it like 900 g, 250 ml or 3 pieces".to_owned();
    }
    Some(error)
}

fn tolerance(text: &str) -> Option<ReadError> {
    if read::tolerance(text).is_some() {
        return None;
    }
    let mut error = nearest_fault(text, Kind::Mass, parse::share(text).err()?, |text| parse::mass(text).err());
    error.expected = "a tolerance";
    if !matches!(
        error.fault,
        Fault::NoUnit | Fault::Negative | Fault::Ambiguous | Fault::Thousands | Fault::EndsSwapped
    ) {
        error.help = "write it like 2 % or 5 g".to_owned();
    }
    Some(error)
}

/// The fault of the reader for the unit that was written.
fn nearest_fault(text: &str, other: Kind, first: ReadError, read_other: fn(&str) -> Option<ReadError>) -> ReadError {
    let is_of_other = first.fault == (Fault::WrongKind { found: other });
    match read_other(text) {
        // `fl oz` is unknown as a mass and has two sizes as a volume
        Some(second) if is_of_other || second.fault == Fault::Ambiguous => second,
        Some(_) | None => first,
    }
}
