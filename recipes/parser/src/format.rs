use toml_edit::{Array, DocumentMut, InlineTable, Item, KeyMut, RawString, Table, Value};

use crate::{
    Complaint, Severity,
    keys::{Kind, RECIPE, Shape},
    syntax,
};

/// Lays a recipe file out anew: keys in the order of the format, one space round `=`, one blank line before a header.
/// Comments stay with the line they belong to; a list or table over several lines stays as it is. The recipe means the
/// same before and after, and a second time changes nothing.
///
/// # Errors
/// The complaints about the syntax, if the text is not TOML; then there is nothing to lay out.
pub fn format(text: &str) -> Result<String, Vec<Complaint>> {
    let is_readable = text.len() <= syntax::LARGEST && syntax::too_deep(text).is_none();
    let Some(mut document) = is_readable.then(|| text.parse::<DocumentMut>().ok()).flatten() else {
        let mut complaints = crate::parse("", text).complaints;
        complaints.retain(|c| c.severity == Severity::Error);
        return Err(complaints);
    };
    let head = take_head(document.as_table_mut());
    let end = comments(Some(document.trailing()), true);
    table(Some(&RECIPE), document.as_table_mut());
    document.set_trailing(if end.is_empty() { String::new() } else { format!("\n{end}") });
    let body = document.to_string();
    let body = body.trim_start_matches('\n').trim_end();
    Ok(if head.is_empty() { format!("{body}\n") } else { format!("{head}\n{body}\n") })
}

/// Takes the comment at the very top off the first key, if a blank line parts the two: it belongs to the file.
fn take_head(root: &mut Table) -> String {
    let first = root.iter().next().map(|(key, _)| key.to_owned());
    let Some(mut key) =
        first.and_then(|key| root.key_mut(&key).map(|k| (k.get().to_owned(), k.leaf_decor().prefix().cloned())))
    else {
        return String::new();
    };
    let prefix = key.1.take().and_then(|raw| raw.as_str().map(str::to_owned)).unwrap_or_default();
    let Some((head, own)) = prefix.rsplit_once("\n\n") else { return String::new() };
    let head = comments(Some(&RawString::from(head)), true);
    if let Some(mut key) = root.key_mut(&key.0) {
        key.leaf_decor_mut().set_prefix(own);
    }
    head
}

fn table(kind: Option<&'static Kind>, table: &mut Table) {
    if let Some(kind) = kind {
        table.sort_values_by(|a, _, b, _| order(kind, a.get()).cmp(&order(kind, b.get())));
    }
    for (mut key, item) in table.iter_mut() {
        let shape = kind.and_then(|kind| kind.key(key.get())).map(|key| &key.shape);
        match item {
            Item::Value(inner) => {
                lay_key(&mut key);
                value(shape, inner);
                let comment = comments(inner.decor().suffix(), false);
                let suffix = if comment.is_empty() { String::new() } else { format!(" {}", comment.trim_end()) };
                inner.decor_mut().set_prefix(" ");
                inner.decor_mut().set_suffix(suffix);
            }
            Item::Table(inner) => {
                let of = child(shape, |lead| inner.contains_key(lead));
                if !inner.is_dotted() {
                    header(inner);
                }
                self::table(of, inner);
            }
            Item::ArrayOfTables(list) => {
                for inner in list.iter_mut() {
                    let of = child(shape, |lead| inner.contains_key(lead));
                    header(inner);
                    self::table(of, inner);
                }
            }
            Item::None => {}
        }
    }
}

fn lay_key(key: &mut KeyMut<'_>) {
    let above = comments(key.leaf_decor().prefix(), false);
    key.leaf_decor_mut().set_prefix(above);
    key.leaf_decor_mut().set_suffix(" ");
}

fn header(table: &mut Table) {
    let above = comments(table.decor().prefix(), true);
    let beside = comments(table.decor().suffix(), false);
    let beside = if beside.is_empty() { String::new() } else { format!(" {}", beside.trim_end()) };
    table.decor_mut().set_prefix(format!("\n{above}"));
    table.decor_mut().set_suffix(beside);
}

/// A value on one line; one that takes several lines may hold comments and is left as it is.
fn value(shape: Option<&'static Shape>, value: &mut Value) {
    match value {
        Value::InlineTable(inner) if !inner.to_string().contains('\n') => inline(shape, inner),
        Value::Array(inner) if !inner.to_string().contains('\n') => list(shape, inner),
        Value::InlineTable(_)
        | Value::Array(_)
        | Value::String(_)
        | Value::Integer(_)
        | Value::Float(_)
        | Value::Boolean(_)
        | Value::Datetime(_) => {}
    }
}

fn inline(shape: Option<&'static Shape>, table: &mut InlineTable) {
    let kind = child(shape, |lead| table.contains_key(lead));
    if let Some(kind) = kind {
        table.sort_values_by(|a, _, b, _| order(kind, a.get()).cmp(&order(kind, b.get())));
    }
    for (key, inner) in table.iter_mut() {
        value(kind.and_then(|kind| kind.key(key.get())).map(|key| &key.shape), inner);
    }
    table.set_trailing_comma(false);
    table.fmt();
}

fn list(shape: Option<&'static Shape>, array: &mut Array) {
    let inner = if let Some(Shape::List(inner)) = shape { Some(*inner) } else { shape };
    for item in array.iter_mut() {
        value(inner, item);
    }
    array.set_trailing_comma(false);
    array.set_trailing("");
    array.fmt();
}

/// The kind of a table behind a key of this shape.
fn child(shape: Option<&Shape>, has: impl Fn(&str) -> bool) -> Option<&'static Kind> {
    match shape? {
        Shape::Table(kind) | Shape::Tables(kind) => Some(kind),
        Shape::OneOf(choice) | Shape::OneOrMore(choice) | Shape::Many(choice) => {
            choice.kinds.iter().find(|(lead, _)| has(lead)).map(|(_, kind)| *kind)
        }
        Shape::Text { .. }
        | Shape::Id
        | Shape::Reference
        | Shape::Duration
        | Shape::Durations
        | Shape::DurationOrNone
        | Shape::Temperature
        | Shape::TemperatureStep
        | Shape::Power
        | Shape::Amount
        | Shape::Tolerance
        | Shape::Counts
        | Shape::Whole { .. }
        | Shape::Truth
        | Shape::Word(_)
        | Shape::Appliance
        | Shape::List(_)
        | Shape::Anything => None,
    }
}

fn order(kind: &Kind, key: &str) -> usize {
    kind.keys.iter().position(|known| known.name == key).unwrap_or(usize::MAX)
}

/// The comment lines of a stretch between values, each with its line end; with `blanks`, one blank line is kept between
/// two blocks of them.
fn comments(raw: Option<&RawString>, blanks: bool) -> String {
    let text = raw.and_then(RawString::as_str).unwrap_or("");
    let mut out = String::new();
    let mut blank = false;
    for line in text.lines().map(str::trim) {
        if line.starts_with('#') {
            if blank && blanks && !out.is_empty() {
                out.push('\n');
            }
            out.push_str(line);
            out.push('\n');
        }
        blank = line.is_empty();
    }
    out
}
