use serde_json::{Map, Value, json};

use crate::keys::{Choice, Key, Kind, Need, RECIPE, Shape};

/// The JSON Schema (draft 2020-12) of a recipe file, for editors, as text with a newline at its end. It is made from the
/// same table of keys that the parser walks by, so the two cannot differ; what needs the whole file to be known
/// (references, cycles, temperatures) only the parser checks. The shipped copy is `schema/recipe.schema.json`.
pub fn json_schema() -> String {
    let mut defs = Map::new();
    define(&RECIPE, &mut defs);
    let mut root = defs.remove(&name(&RECIPE)).unwrap_or_default();
    if let Some(root) = root.as_object_mut() {
        root.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        root.insert("title".into(), json!("tallyhob recipe, format 1"));
        root.insert("$defs".into(), Value::Object(defs));
    }
    let mut text = serde_json::to_string_pretty(&root).unwrap_or_default();
    text.push('\n');
    text
}

fn name(kind: &Kind) -> String {
    kind.name.replace(' ', "_")
}

fn define(kind: &'static Kind, defs: &mut Map<String, Value>) {
    if defs.contains_key(&name(kind)) {
        return;
    }
    // taken first, so that a kind inside itself would end
    defs.insert(name(kind), Value::Null);
    let properties: Map<String, Value> =
        kind.keys.iter().map(|key| (key.name.to_owned(), property(key, defs))).collect();
    let required: Vec<&str> = kind.keys.iter().filter(|key| key.need == Need::Required).map(|key| key.name).collect();
    let schema = json!({
        "type": "object",
        "description": kind.doc,
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    });
    defs.insert(name(kind), schema);
}

fn property(key: &Key, defs: &mut Map<String, Value>) -> Value {
    let mut schema = shape(&key.shape, defs);
    if let Some(schema) = schema.as_object_mut() {
        schema.insert("description".into(), json!(key.doc));
    }
    schema
}

fn shape(of: &Shape, defs: &mut Map<String, Value>) -> Value {
    match of {
        Shape::Text { most } => json!({ "type": "string", "minLength": 1, "maxLength": most }),
        Shape::Id => json!({ "type": "string", "pattern": "^[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?$" }),
        Shape::Reference => json!({ "type": "string", "minLength": 1 }),
        Shape::Duration => quantity("12 min 30 s"),
        Shape::Durations => quantity("45-60 min"),
        Shape::DurationOrNone => quantity("1 min"),
        Shape::Temperature => quantity("74 °C"),
        Shape::TemperatureStep => quantity("0.5 °C"),
        Shape::Power => quantity("700 W"),
        Shape::Amount => quantity("900 g"),
        Shape::Tolerance => quantity("2 %"),
        Shape::Counts => json!({ "type": ["string", "integer"], "examples": ["3-6"] }),
        Shape::Whole { low, high } => json!({ "type": "integer", "minimum": low, "maximum": high }),
        Shape::Truth => json!({ "type": "boolean" }),
        Shape::Word(words) => json!({ "type": "string", "enum": words.all() }),
        Shape::Appliance => json!({ "type": "string", "pattern": "^(oven|microwave|burner|bench|fridge)( [1-9])?$" }),
        Shape::List(inner) => json!({ "type": "array", "items": shape(inner, defs) }),
        Shape::Table(kind) => reference(kind, defs),
        Shape::Tables(kind) => json!({ "type": "array", "items": reference(kind, defs) }),
        Shape::OneOf(choice) => json!({ "anyOf": kinds(choice, defs) }),
        Shape::OneOrMore(choice) => {
            let mut any = kinds(choice, defs);
            any.push(json!({ "type": "array", "items": { "anyOf": kinds(choice, defs) } }));
            json!({ "anyOf": any })
        }
        Shape::Many(choice) => json!({ "type": "array", "items": { "anyOf": kinds(choice, defs) } }),
        Shape::Anything => json!({}),
    }
}

/// A text with a letter or a sign in it: a number alone has no unit.
fn quantity(example: &str) -> Value {
    json!({ "type": "string", "pattern": "[^-0-9., ]", "examples": [example] })
}

fn kinds(choice: &Choice, defs: &mut Map<String, Value>) -> Vec<Value> {
    choice.kinds.iter().map(|(_, kind)| reference(kind, defs)).collect()
}

fn reference(kind: &'static Kind, defs: &mut Map<String, Value>) -> Value {
    define(kind, defs);
    json!({ "$ref": format!("#/$defs/{}", name(kind)) })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_shipped_schema_is_current() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/schema/recipe.schema.json");
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            std::fs::write(path, json_schema()).unwrap();
        }
        let shipped = std::fs::read_to_string(path).unwrap_or_default();
        assert!(shipped == json_schema(), "{path} is old: run the tests once with UPDATE_EXPECT=1");
    }

    #[test]
    fn every_reference_points_at_a_definition() {
        let schema: Value = serde_json::from_str(&json_schema()).unwrap();
        let text = json_schema();
        let used = text.match_indices("#/$defs/").map(|(at, start)| {
            let rest = &text[at + start.len()..];
            &rest[..rest.find('"').unwrap()]
        });
        let mut count = 0;
        for name in used {
            assert!(schema["$defs"][name].is_object(), "{name}");
            count += 1;
        }
        assert!(count > 20, "{count}");
    }
}
