//! The document keeps to the OpenAPI specification 3.1, section 4.8, as far as this document goes.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::contract::{DOCUMENT, METHODS, operations, places, schemas};
use crate::schema::faults;

fn keys(value: &Value) -> BTreeSet<&str> {
    let object = value.as_object().expect("an object");
    object.keys().map(String::as_str).collect()
}

fn assert_within(value: &Value, known: &[&str]) {
    let unknown: Vec<&str> = keys(value)
        .into_iter()
        .filter(|key| !known.contains(key))
        .collect();
    assert!(unknown.is_empty(), "unknown fields: {unknown:?}");
}

#[test]
fn the_document_has_the_fields_of_one() {
    assert!(
        DOCUMENT["openapi"]
            .as_str()
            .is_some_and(|it| it.starts_with("3.1."))
    );
    assert_within(
        &DOCUMENT,
        &["openapi", "info", "paths", "components", "tags"],
    );
    assert!(DOCUMENT["info"]["title"].is_string());
    assert!(DOCUMENT["info"]["version"].is_string());
    let license = &DOCUMENT["info"]["license"];
    assert!(
        license["name"].is_string() && license["url"].is_null(),
        "{license}"
    );
}

#[test]
fn paths_begin_with_a_slash_and_hold_operations_only() {
    let paths = DOCUMENT["paths"].as_object().expect("there are paths");
    for (path, item) in paths {
        assert!(path.starts_with('/') && !path.contains('?'), "{path}");
        assert_within(item, &METHODS);
    }
}

#[test]
fn no_two_paths_are_the_same_but_for_the_names_in_braces() {
    let mut shapes = BTreeSet::new();
    for path in keys(&DOCUMENT["paths"]) {
        let shape: Vec<&str> = path
            .split('/')
            .map(|part| if part.starts_with('{') { "{}" } else { part })
            .collect();
        assert!(shapes.insert(shape.join("/")), "{path}");
    }
}

#[test]
fn the_names_in_braces_are_the_path_parameters() {
    for operation in operations() {
        let in_path: BTreeSet<&str> = operation
            .path
            .split('{')
            .skip(1)
            .filter_map(|part| Some(part.split_once('}')?.0))
            .collect();
        let told: BTreeSet<&str> = operation
            .parameters("path")
            .map(|parameter| {
                assert_eq!(parameter["required"], true, "{}", operation.id());
                parameter["name"].as_str().expect("a name")
            })
            .collect();
        assert_eq!(told, in_path, "{}", operation.id());
    }
}

#[test]
fn parameters_have_a_name_a_place_and_a_schema_and_come_once() {
    for operation in operations() {
        let mut seen = BTreeSet::new();
        let all = operation.told["parameters"].as_array();
        for parameter in all.into_iter().flatten() {
            assert_within(
                parameter,
                &["name", "in", "description", "required", "schema", "example"],
            );
            let place = parameter["in"].as_str().unwrap_or_default();
            assert!(["path", "query", "header"].contains(&place), "{parameter}");
            assert!(parameter["schema"].is_object(), "{parameter}");
            let name = parameter["name"].as_str().expect("a name");
            assert!(seen.insert((place, name)), "{}: {name}", operation.id());
        }
    }
}

#[test]
fn operations_have_an_identifier_and_answers() {
    let known = [
        "tags",
        "summary",
        "description",
        "operationId",
        "parameters",
        "requestBody",
        "responses",
        "security",
    ];
    for operation in operations() {
        assert_within(operation.told, &known);
        let id = operation.id();
        let is_identifier = id.chars().all(|it| it.is_ascii_lowercase() || it == '_');
        assert!(!id.is_empty() && is_identifier, "{id}");
        let has_body = !operation.told["requestBody"].is_null();
        let may_have_body = ["post", "put"].contains(&operation.method);
        assert!(may_have_body || !has_body, "{id}");
        assert!(!operation.answers().is_empty(), "{id}");
    }
}

#[test]
fn answers_have_a_status_a_description_and_typed_content() {
    for operation in operations() {
        for (status, answer) in operation.answers() {
            let number: u16 = status.parse().expect("a status");
            assert!((200..600).contains(&number), "{}: {status}", operation.id());
            assert_within(answer, &["description", "headers", "content"]);
            assert!(answer["description"].is_string(), "{}", operation.id());
            let content = answer["content"].as_object().into_iter().flatten();
            for (media_type, told) in content {
                assert!(media_type.contains('/'), "{media_type}");
                assert!(told["schema"].is_object(), "{}: {told}", operation.id());
            }
        }
        let body = &operation.told["requestBody"];
        if !body.is_null() {
            assert_within(body, &["description", "content", "required"]);
            let content = body["content"].as_object().expect("it is told");
            assert!(!content.is_empty(), "{}: {body}", operation.id());
            for told in content.values() {
                assert!(told["schema"].is_object(), "{}: {body}", operation.id());
            }
        }
    }
}

#[test]
fn the_key_that_operations_need_is_a_security_scheme() {
    let schemes = keys(&DOCUMENT["components"]["securitySchemes"]);
    for operation in operations() {
        for need in operation.told["security"].as_array().into_iter().flatten() {
            assert!(keys(need).is_subset(&schemes), "{}: {need}", operation.id());
        }
    }
    let scheme = &DOCUMENT["components"]["securitySchemes"]["key"];
    assert_eq!(
        (&scheme["type"], &scheme["scheme"]),
        (&"http".into(), &"bearer".into())
    );
}

#[test]
fn names_of_components_can_be_used_in_addresses() {
    for name in schemas().keys() {
        assert!(name.chars().all(|it| it.is_ascii_alphanumeric()), "{name}");
    }
}

#[test]
fn required_properties_are_properties() {
    places(&mut |at, value| {
        let required = value["required"].as_array().into_iter().flatten();
        for name in required.filter_map(Value::as_str) {
            assert!(value["properties"][name].is_object(), "{at}: {name}");
        }
    });
}

#[test]
fn bodies_of_requests_refuse_what_they_do_not_know() {
    for operation in operations() {
        let schema = &operation.told["requestBody"]["content"]["application/json"]["schema"];
        let Some(name) = schema["$ref"].as_str() else {
            continue;
        };
        let schema = DOCUMENT.pointer(&name[1..]).expect("it is there");
        assert_eq!(schema["additionalProperties"], false, "{name}");
    }
}

#[test]
fn every_example_is_one() {
    let mut count = 0;
    for (name, schema) in schemas() {
        let properties = schema["properties"].as_object().into_iter().flatten();
        for (property, told) in properties {
            if let Some(example) = told.get("example") {
                count += 1;
                let found = faults(told, example);
                assert!(found.is_empty(), "{name}.{property}: {found:?}");
            }
        }
    }
    assert!(count > 0, "there are no examples");
}
