//! Variants: a base tree with some values changed, steps skipped and steps added.

use crate::{
    keys::{self, Kind, Shape},
    nearest::nearest,
    source::shortened,
    syntax::{Entry, Node, Place, Table, Value},
};

/// The most variants of a recipe and the most differences in one; more would be another recipe.
pub(crate) const MOST_VARIANTS: usize = 24;
pub(crate) const MOST_DIFFERENCES: usize = 60;

/// A variant's own tree.
pub(crate) struct Resolved {
    pub(crate) tree: Table,
    /// Each difference in words.
    pub(crate) changes: Vec<String>,
    /// Where each difference stands in the file.
    pub(crate) places: Vec<Place>,
    pub(crate) faults: Vec<PathFault>,
}

/// A difference that points at nothing.
pub(crate) struct PathFault {
    pub(crate) place: Place,
    pub(crate) message: String,
    pub(crate) help: String,
}

/// Applies the differences of a variant to the tree of the file, in the order change, skip, add.
pub(crate) fn resolve(root: &Table, variant: &Table, source: &str) -> Resolved {
    let mut tree = root.clone();
    tree.entries.retain(|entry| entry.key != "variant");
    let mut all = Resolved { tree, changes: Vec::new(), places: Vec::new(), faults: Vec::new() };
    for change in variant.tables("change").take(MOST_DIFFERENCES) {
        let (Some(at), Some(to)) = (change.get("at"), change.get("to")) else { continue };
        let Some(path) = at.as_text() else { continue };
        all.places.push(change.extent());
        let before = match set(&mut all.tree, path, to.clone()) {
            Ok(before) => before.map_or("nothing".to_owned(), |node| shown(&node, source)),
            Err((message, help)) => {
                all.faults.push(PathFault { place: at.place.clone(), message, help });
                continue;
            }
        };
        all.changes.push(format!("{path}: {before} -> {}", shown(to, source)));
    }
    for skip in variant.get("skip").map_or(&[][..], Node::items).iter().take(MOST_DIFFERENCES) {
        let Some(path) = skip.as_text() else { continue };
        all.places.push(skip.place.clone());
        match remove(&mut all.tree, path) {
            Ok(()) => all.changes.push(format!("skip {path}")),
            Err((message, help)) => all.faults.push(PathFault { place: skip.place.clone(), message, help }),
        }
    }
    for add in variant.tables("add").take(MOST_DIFFERENCES) {
        all.places.push(add.extent());
        let id =
            |node: &Node| node.as_table().and_then(|t| t.get("id")).and_then(Node::as_text).unwrap_or("?").to_owned();
        if let (Some(after), Some(step)) = (add.get("after"), add.get("step")) {
            let Some(path) = after.as_text() else { continue };
            match insert(&mut all.tree, path, step.clone()) {
                Ok(()) => all.changes.push(format!("add {} after {path}", id(step))),
                Err((message, help)) => all.faults.push(PathFault { place: after.place.clone(), message, help }),
            }
        } else if let Some(ingredient) = add.get("ingredient") {
            push(&mut all.tree, "ingredient", ingredient.clone());
            all.changes.push(format!("add ingredient {}", id(ingredient)));
        }
    }
    all
}

type Fault = (String, String);

/// Puts a value at a path and gives back what stood there.
fn set(root: &mut Table, path: &str, to: Node) -> Result<Option<Node>, Fault> {
    let parts: Vec<&str> = path.split('.').collect();
    let [head, middle @ .., last] = parts.as_slice() else {
        return Err((
            format!("expected a path to a value, found `{path}`"),
            "write it like loin.roast.until.time".into(),
        ));
    };
    let (mut kind, mut table) = item(root, head, middle.first())?;
    let used = if kind.name == keys::STAGE.name { 0 } else { 1 };
    for part in middle.iter().skip(used) {
        (kind, table) = deeper(kind, table, part)?;
    }
    if kind.key(last).is_none() {
        let known: Vec<&str> = kind.keys.iter().map(|key| key.name).collect();
        return Err((
            format!("expected a key of {} at the end of `{path}`, found `{last}`", article(kind.name)),
            nearest(last, &known).help(),
        ));
    }
    if let Some(node) = table.get_mut(last) {
        return Ok(Some(core::mem::replace(node, to)));
    }
    table.entries.push(Entry { key: (*last).to_owned(), key_place: to.place.clone(), node: to });
    Ok(None)
}

/// The table that the first part of a path names: a stage by its id, or `ingredient` and `dish` with the id after it.
fn item<'t>(root: &'t mut Table, head: &str, next: Option<&&str>) -> Result<(&'static Kind, &'t mut Table), Fault> {
    for (list, kind) in [("ingredient", &keys::INGREDIENT), ("dish", &keys::DISH)] {
        if head == list {
            let id = next.copied().unwrap_or("");
            return by_id(root, list, id).map(|table| (kind, table));
        }
    }
    by_id(root, "stage", head).map(|table| (&keys::STAGE, table))
}

fn deeper<'t>(kind: &'static Kind, table: &'t mut Table, part: &str) -> Result<(&'static Kind, &'t mut Table), Fault> {
    let is_stage = kind.name == keys::STAGE.name;
    if is_stage && kind.key(part).is_none() {
        return by_id(table, "step", part).map(|step| (&keys::STEP, step));
    }
    let lost = |what: &str| {
        (format!("expected {what}, found `{part}`"), "write the ids and keys as they stand in the base".to_owned())
    };
    let known: Vec<&str> = kind.keys.iter().map(|key| key.name).collect();
    let Some(key) = kind.key(part) else {
        return Err((
            format!("expected a key of {}, found `{part}`", article(kind.name)),
            nearest(part, &known).help(),
        ));
    };
    let inner = table.get_mut(part).ok_or_else(|| lost("a table that the base has"))?;
    let Value::Table(inner) = &mut inner.value else { return Err(lost("a table inside")) };
    let inner_kind = match key.shape {
        Shape::Table(kind) => Some(kind),
        Shape::OneOf(choice) | Shape::OneOrMore(choice) => choice.kind(inner).map(|(_, kind)| kind),
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
        | Shape::Tables(_)
        | Shape::Many(_)
        | Shape::Anything => None,
    };
    match inner_kind {
        Some(kind) => Ok((kind, inner)),
        None => Err(lost("a table whose kind is clear")),
    }
}

fn by_id<'t>(table: &'t mut Table, list: &str, id: &str) -> Result<&'t mut Table, Fault> {
    let items = match table.get_mut(list).map(|node| &mut node.value) {
        Some(Value::List(items)) => items.as_mut_slice(),
        _ => &mut [],
    };
    let ids: Vec<String> = items.iter().filter_map(id_of).collect();
    match items.iter_mut().find(|item| id_of(item).as_deref() == Some(id)).map(|item| &mut item.value) {
        Some(Value::Table(found)) => Ok(found),
        _ => {
            let known: Vec<&str> = ids.iter().map(String::as_str).collect();
            Err((format!("expected the id of {} in the base, found `{id}`", article(list)), nearest(id, &known).help()))
        }
    }
}

fn id_of(node: &Node) -> Option<String> {
    node.as_table()?.get("id")?.as_text().map(|id| id.trim().to_owned())
}

fn remove(root: &mut Table, path: &str) -> Result<(), Fault> {
    let (list_owner, list, id) = match path.split_once('.') {
        None => (root, "stage", path),
        Some((list @ ("ingredient" | "dish"), id)) => (root, list, id),
        Some((stage, step)) => (by_id(root, "stage", stage)?, "step", step),
    };
    by_id(list_owner, list, id)?;
    if let Some(Value::List(items)) = list_owner.get_mut(list).map(|node| &mut node.value) {
        items.retain(|item| id_of(item).as_deref() != Some(id));
    }
    Ok(())
}

/// Puts a step behind the one that a path names; a stage alone puts it first.
fn insert(root: &mut Table, path: &str, step: Node) -> Result<(), Fault> {
    let (stage, before) = path.split_once('.').map_or((path, None), |(stage, step)| (stage, Some(step)));
    let stage = by_id(root, "stage", stage)?;
    if let Some(before) = before {
        by_id(stage, "step", before)?;
    }
    if let Some(Value::List(items)) = stage.get_mut("step").map(|node| &mut node.value) {
        let at =
            items.iter().position(|item| before.is_some() && id_of(item).as_deref() == before).map_or(0, |i| i + 1);
        items.insert(at, step);
    }
    Ok(())
}

fn push(table: &mut Table, list: &str, node: Node) {
    match table.get_mut(list).map(|list| &mut list.value) {
        Some(Value::List(items)) => items.push(node),
        _ => {
            let place = node.place.clone();
            let value = Node { place: place.clone(), value: Value::List(vec![node]) };
            table.entries.push(Entry { key: list.to_owned(), key_place: place, node: value });
        }
    }
}

fn shown(node: &Node, source: &str) -> String {
    match node.as_text() {
        Some(text) => shortened(text),
        None => {
            shortened(&source.get(node.place.clone()).unwrap_or("").split_whitespace().collect::<Vec<_>>().join(" "))
        }
    }
}

/// `a step`, `an ingredient`.
pub(crate) fn article(word: &str) -> String {
    let an = word.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {word}", if an { "an" } else { "a" })
}
