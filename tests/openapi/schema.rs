//! Whether a JSON value is what a schema of the document says. It knows the words of JSON Schema
//! that the document uses and takes any other for a fault, so that none is silently ignored; and a
//! property that the schema does not name is a fault too, since an answer should hold nothing that
//! the contract does not tell.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate};
use serde_json::Value;
use uuid::Uuid;

use crate::contract::DOCUMENT;

/// What is wrong with a value, each with a JSON pointer to it; nothing if it is as the schema says.
pub(crate) fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    check(schema, value, "", &mut faults);
    faults
}

fn check(schema: &Value, value: &Value, at: &str, faults: &mut Vec<String>) {
    let parts = parts(schema);
    for part in &parts {
        for (word, told) in part.as_object().expect("a schema is an object") {
            if !is_kept(word, told, value) {
                faults.push(format!("{at}: {value} breaks {word} {told}"));
            }
        }
        if let (Some(schema), Some(values)) = (part.get("items"), value.as_array()) {
            for (index, value) in values.iter().enumerate() {
                check(schema, value, &format!("{at}/{index}"), faults);
            }
        }
        if let Some(choices) = part["oneOf"].as_array() {
            let each: Vec<_> = choices.iter().map(|it| self::faults(it, value)).collect();
            if each.iter().filter(|faults| faults.is_empty()).count() != 1 {
                faults.push(format!("{at}: not exactly one of the choices: {each:?}"));
            }
        }
    }
    check_object(&parts, value, at, faults);
}

/// Whether a value keeps to one word of a schema; those that look into it are not judged here.
fn is_kept(word: &str, told: &Value, value: &Value) -> bool {
    match word {
        "type" => is_of_type(value, told),
        "enum" => told.as_array().is_some_and(|all| all.contains(value)),
        "format" => is_in_format(value, told.as_str().unwrap_or_default()),
        "minimum" => value.as_f64().is_none_or(|it| Some(it) >= told.as_f64()),
        "maximum" => value.as_f64().is_none_or(|it| Some(it) <= told.as_f64()),
        "exclusiveMinimum" => value.as_f64().is_none_or(|it| Some(it) > told.as_f64()),
        "maxLength" => length(value).is_none_or(|it| Some(it) <= told.as_u64()),
        "maxItems" => items(value).is_none_or(|it| Some(it) <= told.as_u64()),
        // Every object is judged as if it said so.
        "additionalProperties" => told == &Value::Bool(false),
        // These look into the value, or say nothing of it.
        "$ref" | "allOf" | "oneOf" | "items" | "properties" | "required" | "description"
        | "example" | "default" => true,
        unknown => panic!("a schema uses \"{unknown}\", which this check does not know"),
    }
}

/// The properties of an object: those that must be there, and no others than the schema names.
fn check_object(parts: &[&Value], value: &Value, at: &str, faults: &mut Vec<String>) {
    let mut properties = BTreeMap::new();
    let mut required = Vec::new();
    let mut is_object = false;
    for schema in parts {
        is_object |= schema["type"] == "object";
        let more = schema["properties"].as_object().into_iter().flatten();
        properties.extend(more);
        required.extend(schema["required"].as_array().into_iter().flatten());
    }
    let Some(object) = value.as_object().filter(|_| is_object) else {
        return; // That it should be an object is told by its type.
    };
    for name in required.into_iter().filter_map(Value::as_str) {
        if !object.contains_key(name) {
            faults.push(format!("{at}: {name} is missing"));
        }
    }
    for (name, value) in object {
        match properties.get(name) {
            Some(schema) => check(schema, value, &format!("{at}/{name}"), faults),
            None => faults.push(format!("{at}: {name} is not in the contract")),
        }
    }
}

/// A schema and those it is made of: what it refers to, and what it adds up.
fn parts(schema: &Value) -> Vec<&Value> {
    let mut found = vec![schema];
    if let Some(target) = schema["$ref"].as_str() {
        let target = target.strip_prefix('#').expect("a place in this document");
        found.extend(parts(DOCUMENT.pointer(target).expect("it is there")));
    }
    for part in schema["allOf"].as_array().into_iter().flatten() {
        found.extend(parts(part));
    }
    found
}

fn is_of_type(value: &Value, told: &Value) -> bool {
    let one = |name: &Value| match name.as_str().unwrap_or_default() {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "string" => value.is_string(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        unknown => panic!("there is no type \"{unknown}\""),
    };
    told.as_array()
        .map_or_else(|| one(told), |names| names.iter().any(one))
}

/// A format speaks of one kind of value only: a null has none.
fn is_in_format(value: &Value, format: &str) -> bool {
    match (format, value) {
        ("int32", Value::Number(number)) => {
            number.as_i64().is_some_and(|it| i32::try_from(it).is_ok())
        }
        ("int64", Value::Number(number)) => number.as_i64().is_some(),
        ("double", Value::Number(number)) => number.as_f64().is_some_and(f64::is_finite),
        ("uuid", Value::String(text)) => Uuid::parse_str(text).is_ok(),
        ("date", Value::String(text)) => text.parse::<NaiveDate>().is_ok(),
        ("date-time", Value::String(text)) => DateTime::parse_from_rfc3339(text).is_ok(),
        ("int32" | "int64" | "double" | "uuid" | "date" | "date-time", _) => true,
        (unknown, _) => panic!("this check does not know the format \"{unknown}\""),
    }
}

fn length(value: &Value) -> Option<u64> {
    let text = value.as_str()?;
    u64::try_from(text.chars().count()).ok()
}

fn items(value: &Value) -> Option<u64> {
    u64::try_from(value.as_array()?.len()).ok()
}

#[test]
fn a_value_that_is_not_as_its_schema_says_is_found() {
    let reference = serde_json::json!({ "$ref": "#/components/schemas/NewSite" });
    let good = serde_json::json!({ "code": "shop", "zone": "Etc/UTC" });
    assert_eq!(faults(&reference, &good), [""; 0]);
    for (bad, why) in [
        (serde_json::json!({ "code": "shop" }), ": zone is missing"),
        (
            serde_json::json!({ "code": "shop", "zone": 1 }),
            "/zone: 1 breaks type \"string\"",
        ),
        (
            serde_json::json!({ "code": "shop", "zone": "Etc/UTC", "more": 1 }),
            ": more is not in the contract",
        ),
        (serde_json::json!([]), ": [] breaks type \"object\""),
    ] {
        assert_eq!(faults(&reference, &bad), [why]);
    }
    let role = serde_json::json!({ "$ref": "#/components/schemas/Role" });
    assert_eq!(faults(&role, &"read".into()), [""; 0]);
    assert_eq!(faults(&role, &"reader".into()).len(), 1);
    let instant = serde_json::json!({ "type": ["string", "null"], "format": "date-time" });
    for (value, count) in [
        ("2026-06-15T08:00:00-03:00".into(), 0),
        (Value::Null, 0),
        ("2026-06-15T08:00:00".into(), 1),
        (1.into(), 1),
    ] {
        assert_eq!(faults(&instant, &value).len(), count, "{value}");
    }
}
