use quantities::{parse, print::World};

use crate::{
    keys::{Choice, Kind, RECIPE, Shape},
    syntax::{Entry, Node, Place, Table, Value},
};

/// The file seen through the table of keys: every table with its kind, every value with its shape.
pub(crate) struct Walk<'a> {
    pub(crate) tables: Vec<(&'static Kind, &'a Table)>,
    pub(crate) values: Vec<Seen<'a>>,
    /// Tables of which no kind can be told.
    pub(crate) unclear: Vec<(&'static Choice, &'a Table)>,
    /// Tables with the leading keys of more than one kind.
    pub(crate) double: Vec<(&'static Choice, &'a Table)>,
}

/// A value behind a known key.
pub(crate) struct Seen<'a> {
    pub(crate) key: &'a str,
    pub(crate) shape: &'static Shape,
    pub(crate) node: &'a Node,
}

impl<'a> Walk<'a> {
    pub(crate) fn new(root: &'a Table) -> Self {
        let mut walk = Self { tables: Vec::new(), values: Vec::new(), unclear: Vec::new(), double: Vec::new() };
        walk.table(&RECIPE, root);
        walk
    }

    /// The unit world of most of its temperatures; metric where there are none.
    pub(crate) fn world(&self) -> World {
        let temperatures = self.values.iter().filter(|seen| matches!(seen.shape, Shape::Temperature));
        let read = temperatures.filter_map(|seen| parse::temperature(seen.node.as_text()?).ok());
        let (us, metric): (Vec<World>, Vec<World>) =
            read.map(|written| written.world()).partition(|world| *world == World::Us);
        if us.len() > metric.len() { World::Us } else { World::Metric }
    }

    fn table(&mut self, kind: &'static Kind, table: &'a Table) {
        self.tables.push((kind, table));
        for entry in &table.entries {
            if let Some(key) = kind.key(&entry.key) {
                self.value(&entry.key, &key.shape, &entry.node);
            }
        }
    }

    fn value(&mut self, key: &'a str, shape: &'static Shape, node: &'a Node) {
        self.values.push(Seen { key, shape, node });
        match (shape, &node.value) {
            (Shape::List(inner), Value::List(items)) => items.iter().for_each(|item| self.value(key, inner, item)),
            (Shape::Table(kind), Value::Table(table)) => self.table(kind, table),
            (Shape::Tables(kind), Value::List(items)) => {
                items.iter().filter_map(Node::as_table).for_each(|table| self.table(kind, table));
            }
            (Shape::OneOf(choice), Value::Table(table)) => self.choice(choice, table),
            (Shape::OneOrMore(choice) | Shape::Many(choice), Value::List(items)) => {
                items.iter().filter_map(Node::as_table).for_each(|table| self.choice(choice, table));
            }
            (Shape::OneOrMore(choice), Value::Table(table)) => self.choice(choice, table),
            _ => {}
        }
    }

    fn choice(&mut self, choice: &'static Choice, table: &'a Table) {
        match choice.kind(table) {
            Some((_, kind)) => {
                if leads(choice, kind, table).is_some() {
                    self.double.push((choice, table));
                }
                self.table(kind, table);
            }
            None => self.unclear.push((choice, table)),
        }
    }
}

/// The leading key of another kind than `kind` in a table, if it has one that `kind` does not know.
pub(crate) fn leads<'a>(choice: &Choice, kind: &Kind, table: &'a Table) -> Option<&'a Entry> {
    table
        .entries
        .iter()
        .find(|entry| kind.key(&entry.key).is_none() && choice.kinds.iter().any(|(lead, _)| *lead == entry.key))
}

impl Choice {
    /// The kind of a table by its leading key; of several, the kind that knows most of the table's keys.
    pub(crate) fn kind(&self, table: &Table) -> Option<(&'static str, &'static Kind)> {
        let led = self.kinds.iter().filter(|(lead, _)| table.entry(lead).is_some()).copied();
        // the first one stays if others know as many
        led.reduce(|best, other| if other.1.known_in(table) > best.1.known_in(table) { other } else { best })
    }
}

impl Kind {
    fn known_in(&self, table: &Table) -> usize {
        table.entries.iter().filter(|entry| self.key(&entry.key).is_some()).count()
    }
}

/// Whether a value has the TOML type that its shape asks for, and what that is in words.
pub(crate) fn fits(shape: &Shape, node: &Node) -> Result<(), String> {
    let is_table = |node: &Node| matches!(node.value, Value::Table(_));
    let (fits, expected) = match shape {
        Shape::Text { .. } | Shape::Id | Shape::Reference | Shape::Word(_) | Shape::Appliance => {
            (matches!(node.value, Value::Text(_)), "a text in quotes".to_owned())
        }
        // a bare number is a missing unit, which has its own rule
        Shape::Duration
        | Shape::Durations
        | Shape::DurationOrNone
        | Shape::Temperature
        | Shape::TemperatureStep
        | Shape::Power
        | Shape::Amount
        | Shape::Tolerance => {
            (matches!(node.value, Value::Text(_) | Value::Whole(_) | Value::Decimal), "a quantity in quotes".to_owned())
        }
        Shape::Counts => (
            matches!(node.value, Value::Text(_) | Value::Whole(Some(0..=0xFFFF))),
            "a range in quotes, like \"3-6\"".to_owned(),
        ),
        Shape::Whole { low, high } => {
            let number = if let Value::Whole(number) = node.value { number } else { None };
            (number.is_some_and(|n| (*low..=*high).contains(&n)), format!("a whole number from {low} to {high}"))
        }
        Shape::Truth => (matches!(node.value, Value::Truth(_)), "true or false".to_owned()),
        Shape::List(_) => (matches!(node.value, Value::List(_)), "a list in square brackets".to_owned()),
        Shape::Table(_) | Shape::OneOf(_) => (is_table(node), "a table in curly brackets".to_owned()),
        Shape::Tables(_) | Shape::Many(_) => {
            (matches!(&node.value, Value::List(items) if items.iter().all(is_table)), "a list of tables".to_owned())
        }
        Shape::OneOrMore(_) => (node.items().iter().all(is_table), "a table or a list of tables".to_owned()),
        Shape::Anything => (true, String::new()),
    };
    if fits { Ok(()) } else { Err(expected) }
}

/// Where a byte of a text value stands in the file: exact for plain strings, else the whole value.
pub(crate) fn inside(source: &str, node: &Node, at: &Place) -> Place {
    let (Some(text), Some(written)) = (node.as_text(), source.get(node.place.clone())) else {
        return node.place.clone();
    };
    let bare = written.len() >= 2 && written.get(1..written.len() - 1) == Some(text);
    if !bare || at.is_empty() {
        return node.place.clone();
    }
    let start = node.place.start + 1;
    start + at.start..start + at.end
}
