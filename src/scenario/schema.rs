//! The JSON Schema of scenario files, made from the declarations of their keys.

use serde_json::{Map, Value, json};

use super::lower::describe;
use super::reader::{KeyInfo, Shape};
use super::sections::OF_A_PERIOD;
use super::station::describe_station;

/// Every key that a scenario may have.
#[must_use]
pub fn keys() -> Vec<KeyInfo> {
    describe()
}

/// The JSON Schema (draft 2020-12) of scenario files.
#[must_use]
pub fn schema() -> Value {
    let mut root = of_keys(&keys(), "brinecast scenario", &["format", "tank"]);
    for group in ["waters", "mix", "bands"] {
        open(&mut root, group);
    }
    // Any key of a scenario may stand in a variant or be spread.
    root["properties"]["variants"] = json!({
        "type": "object",
        "additionalProperties": { "type": "object" },
        "description": "Named variants: keys of the scenario with other values."
    });
    // What is done may be otherwise in a period, and a table taken away.
    for table in OF_A_PERIOD {
        let usual = root["properties"][table].clone();
        let period = &mut root["properties"]["periods"]["additionalProperties"]["properties"];
        period[table] = json!({ "anyOf": [usual, { "type": "string", "const": "none" }] });
    }
    root["properties"]["uncertainty"]["properties"]["spread"] = json!({
        "type": "object",
        "description": "Keys of the scenario whose value is drawn: normal(MEAN, SD), lognormal(MEDIAN, CV), uniform(LOW, HIGH), triangular(LOW, MODE, HIGH), one-of(A, B)."
    });
    root
}

/// Every key that the file of a station may have.
#[must_use]
pub fn station_keys() -> Vec<KeyInfo> {
    describe_station()
}

/// The JSON Schema (draft 2020-12) of files of stations.
#[must_use]
pub fn station_schema() -> Value {
    let mut root = of_keys(&station_keys(), "brinecast station", &["format", "station", "tanks"]);
    // Any key of a tank's scenario may be set.
    root["properties"]["tanks"]["additionalProperties"]["properties"]["set"] = json!({
        "type": "object",
        "description": "Keys of the tank's scenario with other values."
    });
    root
}

fn of_keys(keys: &[KeyInfo], title: &str, required: &[&str]) -> Value {
    let mut root = object();
    for key in keys {
        insert(&mut root, &key.path.split('.').collect::<Vec<_>>(), key);
    }
    root["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    root["title"] = json!(title);
    root["required"] = json!(required);
    root
}

fn object() -> Value {
    json!({ "type": "object", "additionalProperties": false, "properties": {} })
}

/// Solutes of the user's own may stand as keys in waters and bands.
fn open(root: &mut Value, group: &str) {
    let text = json!({ "type": "string" });
    let table = &mut root["properties"][group];
    if table["additionalProperties"].is_object() {
        table["additionalProperties"]["additionalProperties"] = text;
    } else {
        table["additionalProperties"] = text;
    }
}

fn insert(node: &mut Value, path: &[&str], key: &KeyInfo) {
    let Some((first, rest)) = path.split_first() else { return };
    let slot = if *first == "NAME" {
        if !node["additionalProperties"].is_object() {
            node["additionalProperties"] = object();
        }
        &mut node["additionalProperties"]
    } else {
        let properties = &mut node["properties"];
        if !properties[*first].is_object() {
            properties[*first] = if rest.is_empty() { Value::Object(Map::new()) } else { object() };
        }
        &mut properties[*first]
    };
    if rest.is_empty() {
        *slot = leaf(key);
    } else {
        insert(slot, rest, key);
    }
}

fn leaf(key: &KeyInfo) -> Value {
    let text = json!({ "type": "string" });
    let mut leaf = match key.shape {
        Shape::Text if key.path == "format" => json!({ "const": 1 }),
        Shape::Text if key.choices.is_empty() => text,
        Shape::Text => json!({ "enum": key.choices }),
        Shape::List => json!({ "type": "array", "items": text }),
        Shape::Pairs => {
            json!({ "type": "array", "items": { "type": "array", "items": text, "minItems": 2, "maxItems": 2 } })
        }
    };
    leaf["description"] = json!(format!("{} It is {}.", key.doc, key.kind));
    if key.path != "format" {
        leaf["examples"] = json!([key.example]);
    }
    if let Some(default) = &key.default {
        leaf["default"] = json!(default);
    }
    leaf
}
