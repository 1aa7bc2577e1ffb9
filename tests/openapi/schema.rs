//! Whether a JSON value is what a schema of the document says: by a validator that others wrote, with
//! formats taken seriously. A property that the schema does not name is a fault too, since an answer
//! should hold nothing that the contract does not tell.

use std::sync::LazyLock;

use serde_json::Value;

use crate::contract::DOCUMENT;

/// The components, each closed wherever it is used as a whole.
static CLOSED: LazyLock<Value> = LazyLock::new(|| {
    let mut components = DOCUMENT["components"].clone();
    close(&mut components);
    components
});

/// What is wrong with a value, each with a JSON pointer to it; nothing if it is as the schema says.
pub(crate) fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let mut whole = schema.clone();
    close(&mut whole);
    whole["components"] = CLOSED.clone();
    let validator = jsonschema::draft202012::options()
        .should_validate_formats(true)
        .build(&whole)
        .expect("the schema is one");
    let faults = validator.iter_errors(value);
    faults
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect()
}

/// Lets an object have the properties it is described with and no others. A schema that is a part
/// of another one stays open, since the other adds to it.
fn close(schema: &mut Value) {
    if let Some(parts) = schema.as_array_mut() {
        parts.iter_mut().for_each(close);
    }
    let Some(words) = schema.as_object_mut() else {
        return;
    };
    let is_whole = words.contains_key("$ref") || words.contains_key("allOf");
    for (_, inner) in words.iter_mut().filter(|(word, _)| *word != "allOf") {
        close(inner);
    }
    if is_whole {
        words.insert("unevaluatedProperties".to_owned(), false.into());
    }
}

#[test]
fn a_value_that_is_not_as_its_schema_says_is_found() {
    let reference = serde_json::json!({ "$ref": "#/components/schemas/NewSite" });
    let good = serde_json::json!({ "code": "shop", "zone": "Etc/UTC" });
    assert_eq!(faults(&reference, &good), [""; 0]);
    for (bad, at, why) in [
        (serde_json::json!({ "code": "shop" }), "", "zone"),
        (
            serde_json::json!({ "code": "shop", "zone": 1 }),
            "/zone",
            "string",
        ),
        (
            serde_json::json!({ "code": "shop", "zone": "Etc/UTC", "more": 1 }),
            "",
            "more",
        ),
        (serde_json::json!([]), "", "object"),
    ] {
        let found = faults(&reference, &bad);
        let is_told = |fault: &String| fault.starts_with(&format!("{at}: ")) && fault.contains(why);
        assert!(found.iter().any(is_told), "{bad}: {found:?}");
    }
    // A made key adds its secret to a key, and nothing else may be added to either.
    let key = serde_json::json!({
        "id": "01890a5d-ac96-774b-bcce-b302099a8057", "name": "phone", "role": "log",
        "prefix": "tig_", "created_at": "2026-06-15T08:00:00Z", "secret": "tig_hush",
    });
    let made = serde_json::json!({ "$ref": "#/components/schemas/CreatedKey" });
    assert_eq!(faults(&made, &key), [""; 0]);
    let kept = serde_json::json!({ "$ref": "#/components/schemas/Key" });
    assert_eq!(faults(&kept, &key).len(), 1);
    let role = serde_json::json!({ "$ref": "#/components/schemas/Role" });
    assert_eq!(faults(&role, &"read".into()), [""; 0]);
    assert!(!faults(&role, &"reader".into()).is_empty());
    let instant = serde_json::json!({ "type": ["string", "null"], "format": "date-time" });
    for (value, is_one) in [
        ("2026-06-15T08:00:00-03:00".into(), true),
        (Value::Null, true),
        ("2026-06-15T08:00:00".into(), false),
        (1.into(), false),
    ] {
        assert_eq!(faults(&instant, &value).is_empty(), is_one, "{value}");
    }
}
