use core::ops::Range;

use toml::de::{DeTable, DeValue};

/// A place in the file, in bytes.
pub(crate) type Place = Range<usize>;

/// A value of the file with its place.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) place: Place,
    pub(crate) value: Value,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    /// Nothing if it does not fit.
    Whole(Option<i64>),
    Decimal,
    Truth(bool),
    Moment,
    List(Vec<Node>),
    Table(Table),
}

/// Keys and values in the order of the file.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) place: Place,
    pub(crate) entries: Vec<Entry>,
}

/// A key and its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) key_place: Place,
    pub(crate) node: Node,
}

/// A text that is not TOML, at one place.
#[derive(Clone, Debug)]
pub(crate) struct SyntaxFault {
    pub(crate) place: Place,
    /// Up to here the text was taken for something that it is not.
    pub(crate) swallows: usize,
    pub(crate) message: String,
    /// The key again, if it stands twice.
    pub(crate) is_duplicate: bool,
}

/// The largest file that is read.
pub(crate) const LARGEST: usize = 256 * 1024;
/// The most dots in one key and the deepest nesting of values.
pub(crate) const DEEPEST: usize = 16;

/// The tree of a text and every syntax fault in it, in the order of the file. Never fails: what could not be read is
/// left out of the tree.
pub(crate) fn tree(text: &str) -> (Table, Vec<SyntaxFault>) {
    let (root, errors) = DeTable::parse_recoverable(text);
    let mut faults: Vec<SyntaxFault> = errors
        .iter()
        .map(|error| SyntaxFault {
            place: within(text, error.span().unwrap_or(0..0)),
            swallows: 0,
            message: error.message().to_owned(),
            is_duplicate: error.message() == "duplicate key",
        })
        .collect();
    let place = within(text, root.span());
    let tree = table(root.get_ref(), place, &mut faults, 0);
    faults.sort_by_key(|fault| (fault.place.start, fault.place.end));
    (tree, without_echoes(text, faults))
}

/// Leaves one fault where one slip gave many: a bracket that is not closed runs into the keys after it, and a wrong key
/// is also one without a value.
fn without_echoes(text: &str, faults: Vec<SyntaxFault>) -> Vec<SyntaxFault> {
    let mut kept: Vec<SyntaxFault> = Vec::new();
    for (index, fault) in faults.iter().enumerate() {
        let last = kept.last();
        let is_echo = last.is_some_and(|last| {
            let has_no_value = fault.message.starts_with("key with no value") || fault.message == last.message;
            fault.place.start < last.swallows || has_no_value && is_on_line_of(text, last, fault)
        });
        // two texts without quotes on one line are two slips
        if is_echo && !fault.message.starts_with("string values")
            || last.is_some_and(|last| fault.place.start < last.swallows)
        {
            continue;
        }
        kept.push(unclosed_bracket(text, fault, &faults[index..]).unwrap_or_else(|| fault.clone()));
    }
    kept
}

/// The fault of a bracket on an earlier line, if this fault is where the keys after it run on as its contents.
fn unclosed_bracket(text: &str, fault: &SyntaxFault, rest: &[SyntaxFault]) -> Option<SyntaxFault> {
    let is_list = fault.message.starts_with("missing comma between array");
    if !is_list && !fault.message.starts_with("missing comma between key") {
        return None;
    }
    let (runs_on, open, close, message) = if is_list {
        ("unexpected `=` in array", '[', ']', "unclosed array")
    } else {
        ("unclosed inline table", '{', '}', "unclosed inline table")
    };
    let last = rest.iter().rfind(|later| later.message.starts_with(runs_on) || later.message.starts_with(message))?;
    let before = text.get(..fault.place.start)?;
    let at = before.rfind(open).filter(|at| !before[*at..].contains(close) && before[*at..].contains('\n'))?;
    let end = text[last.place.end..].find('\n').map_or(text.len(), |newline| last.place.end + newline + 1);
    Some(SyntaxFault { place: at..at + 1, swallows: end, message: message.to_owned(), is_duplicate: false })
}

fn is_on_line_of(text: &str, earlier: &SyntaxFault, later: &SyntaxFault) -> bool {
    !text.get(earlier.place.start..later.place.start).unwrap_or("\n").contains('\n')
}

/// A place in the text with more dots in one key than any recipe has; such a key would nest too deep to be read.
pub(crate) fn too_deep(text: &str) -> Option<Place> {
    let (mut start, mut dots) = (0, 0);
    for (at, letter) in text.char_indices() {
        match letter {
            '\n' | '=' | ',' | '{' | '[' | '"' | '\'' | '#' => (start, dots) = (at, 0),
            '.' => dots += 1,
            _ => {}
        }
        // a row of full stops in a sentence is longer than any key but has words or spaces only
        if dots > DEEPEST && !text[start..at].trim().contains(' ') {
            return Some(start..at);
        }
    }
    None
}

/// Widens an empty place to one letter where there is one, and keeps it on letter boundaries.
fn within(text: &str, place: Place) -> Place {
    let start = text.floor_char_boundary(place.start.min(text.len()));
    let end = text.ceil_char_boundary(place.end.clamp(start, text.len()));
    start..end
}

fn table(from: &DeTable<'_>, place: Place, faults: &mut Vec<SyntaxFault>, depth: usize) -> Table {
    let mut entries: Vec<Entry> = from
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_place: key.span(),
            node: node(value.get_ref(), value.span(), faults, depth + 1),
        })
        .collect();
    entries.sort_by_key(|entry| entry.key_place.start);
    Table { place, entries }
}

fn node(from: &DeValue<'_>, place: Place, faults: &mut Vec<SyntaxFault>, depth: usize) -> Node {
    if depth > DEEPEST && matches!(from, DeValue::Array(_) | DeValue::Table(_)) {
        let message = format!("expected at most {DEEPEST} tables inside each other, found more");
        if faults.last().is_none_or(|last| last.message != message) {
            faults.push(SyntaxFault { place: place.clone(), swallows: 0, message, is_duplicate: false });
        }
        return Node { place, value: Value::List(Vec::new()) };
    }
    let value = match from {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => Value::Whole(i64::from_str_radix(number.as_str(), number.radix()).ok()),
        DeValue::Float(_) => Value::Decimal,
        DeValue::Boolean(truth) => Value::Truth(*truth),
        DeValue::Datetime(_) => Value::Moment,
        DeValue::Array(items) => {
            Value::List(items.iter().map(|item| node(item.get_ref(), item.span(), faults, depth + 1)).collect())
        }
        DeValue::Table(inner) => Value::Table(table(inner, place.clone(), faults, depth)),
    };
    Node { place, value }
}

impl Table {
    pub(crate) fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }

    pub(crate) fn get(&self, key: &str) -> Option<&Node> {
        self.entry(key).map(|entry| &entry.node)
    }

    pub(crate) fn get_mut(&mut self, key: &str) -> Option<&mut Node> {
        self.entries.iter_mut().find(|entry| entry.key == key).map(|entry| &mut entry.node)
    }

    /// The tables under a key that holds a list of them, or a single one.
    pub(crate) fn tables(&self, key: &str) -> impl Iterator<Item = &Table> {
        self.get(key).into_iter().flat_map(Node::items).filter_map(Node::as_table)
    }

    /// The whole stretch of the file that its values take.
    pub(crate) fn extent(&self) -> Place {
        self.entries.iter().fold(self.place.clone(), |all, entry| {
            let inner = entry.node.extent();
            all.start.min(entry.key_place.start).min(inner.start)..all.end.max(inner.end)
        })
    }
}

impl Node {
    pub(crate) fn as_table(&self) -> Option<&Table> {
        if let Value::Table(table) = &self.value { Some(table) } else { None }
    }

    pub(crate) fn as_text(&self) -> Option<&str> {
        if let Value::Text(text) = &self.value { Some(text) } else { None }
    }

    /// The items of a list; anything else is a list of itself.
    pub(crate) fn items(&self) -> &[Node] {
        if let Value::List(items) = &self.value { items } else { core::slice::from_ref(self) }
    }

    pub(crate) fn extent(&self) -> Place {
        let inner = match &self.value {
            Value::Table(table) => table.extent(),
            Value::List(items) => items.iter().fold(self.place.clone(), |all, item| {
                let inner = item.extent();
                all.start.min(inner.start)..all.end.max(inner.end)
            }),
            Value::Text(_) | Value::Whole(_) | Value::Decimal | Value::Truth(_) | Value::Moment => self.place.clone(),
        };
        self.place.start.min(inner.start)..self.place.end.max(inner.end)
    }

    /// What it is, in the words of a message.
    pub(crate) fn what(&self) -> &'static str {
        match &self.value {
            Value::Text(_) => "a text",
            Value::Whole(_) => "a whole number",
            Value::Decimal => "a decimal number",
            Value::Truth(_) => "true or false",
            Value::Moment => "a date or time of day",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }
}
