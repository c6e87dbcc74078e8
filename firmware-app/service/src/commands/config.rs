use crate::{
    args::Reads,
    commands::Session,
    config::Origin,
    failure::{Failure, Outcome},
    output::{Out, Table},
};

/// Prints every setting, its value and where it came from.
pub(super) fn show(reads: Reads, session: &Session, out: &mut Out) -> Result<Outcome, Failure> {
    let rows = session.settings.rows();
    if reads.json {
        let settings: Vec<_> = rows
            .iter()
            .map(|row| serde_json::json!({ "name": row.name, "value": row.value, "origin": in_json(&row.origin), "about": row.about }))
            .collect();
        out.json(&serde_json::json!({
            "settings": settings,
            "files": session.settings.files,
            "runtime_dir": session.places.runtime_dir,
        }))?;
    } else {
        let mut table = Table::new(["setting", "value", "from"]);
        for row in rows {
            table.row([row.name.to_owned(), in_words(&row.value), row.origin.to_string()]);
        }
        out.table(&table)?;
    }
    Ok(Outcome::Done)
}

fn in_json(origin: &Origin) -> serde_json::Value {
    match origin {
        Origin::Default => serde_json::json!({ "from": "default" }),
        Origin::File { path, line } => serde_json::json!({ "from": "file", "path": path, "line": line }),
        Origin::Panel => serde_json::json!({ "from": "panel" }),
        Origin::Environment { name } => serde_json::json!({ "from": "environment", "name": name }),
        Origin::Flag { name } => serde_json::json!({ "from": "flag", "name": name }),
    }
}

fn in_words(value: &serde_json::Value) -> String {
    use serde_json::Value;
    match value {
        Value::Null => "none".to_owned(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.clone(),
        Value::Array(items) if items.is_empty() => "none".to_owned(),
        Value::Array(items) => items.iter().map(in_words).collect::<Vec<_>>().join(", "),
        Value::Object(pairs) if pairs.is_empty() => "none".to_owned(),
        Value::Object(pairs) => {
            pairs.iter().map(|(name, value)| format!("{name} = {}", in_words(value))).collect::<Vec<_>>().join(", ")
        }
    }
}
