//! What we ask of the document beyond its format, so that a reader finds the same things everywhere.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::contract::{DOCUMENT, operations, places, schemas};

const ROLES: [&str; 4] = ["read", "log", "keep", "own"];
const PROBLEM: &str = "application/problem+json";
/// Who asks whether the service works needs no key.
const WITHOUT_KEY: [&str; 2] = ["get_health", "get_readiness"];

fn source(folder: &str) -> Vec<PathBuf> {
    fn add(folder: &Path, files: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).expect("a folder of sources") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                add(&path, files);
            } else if path.extension().is_some_and(|it| it == "rs") {
                files.push(path);
            }
        }
    }
    let mut files = Vec::new();
    add(
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(folder),
        &mut files,
    );
    files
}

#[test]
fn no_reference_dangles() {
    let mut count = 0;
    places(&mut |at, value| {
        if let Some(target) = value.get("$ref").and_then(Value::as_str) {
            count += 1;
            let pointer = target.strip_prefix('#').expect("a place in this document");
            assert!(DOCUMENT.pointer(pointer).is_some(), "{at}: {target}");
        }
    });
    assert!(count > 0, "nothing refers to a schema");
}

#[test]
fn every_schema_is_referred_to() {
    let mut wanted = BTreeSet::new();
    places(&mut |_, value| {
        wanted.extend(value.get("$ref").and_then(Value::as_str));
    });
    for name in schemas().keys() {
        let reference = format!("#/components/schemas/{name}");
        assert!(wanted.contains(&*reference), "nothing refers to {name}");
    }
}

#[test]
fn no_operation_id_is_given_twice() {
    let mut seen = BTreeMap::new();
    for operation in operations() {
        let place = (operation.method, operation.path);
        let before = seen.insert(operation.id(), place);
        assert_eq!(before, None, "{} is also {place:?}", operation.id());
    }
}

/// Two types of one name would be one schema in the document, and one of the two wrong.
#[test]
fn every_schema_is_one_type_of_the_source() {
    let mut defined: BTreeMap<String, u32> = BTreeMap::new();
    for file in source("api/types/src") {
        let text = fs::read_to_string(&file).expect("a source");
        for line in text.lines().map(str::trim) {
            let starts = ["pub struct ", "pub enum ", "new ", "view "];
            let named = starts.iter().find_map(|start| line.strip_prefix(start));
            // An entry of the ledger is its bare name before a brace.
            let named = named.or_else(|| line.strip_suffix(" {"));
            // A type around one other has its fields in brackets.
            let name = named.and_then(|named| named.split([' ', '(']).next());
            let Some(name) = name else {
                continue;
            };
            *defined.entry(name.to_owned()).or_default() += 1;
        }
    }
    for name in schemas().keys() {
        assert_eq!(defined.get(name), Some(&1), "definitions of {name}");
    }
}

#[test]
fn every_operation_has_a_summary_and_one_tag_that_is_described() {
    let tags = DOCUMENT["tags"].as_array().expect("there are tags");
    let described: BTreeSet<&str> = tags
        .iter()
        .filter(|tag| tag["description"].is_string())
        .filter_map(|tag| tag["name"].as_str())
        .collect();
    let mut used = BTreeSet::new();
    for operation in operations() {
        let id = operation.id();
        let summary = operation.told["summary"].as_str().unwrap_or_default();
        assert!(!summary.trim().is_empty(), "{id} has no summary");
        let tags = operation.told["tags"].as_array().expect("there are tags");
        let tags: Vec<&str> = tags.iter().filter_map(Value::as_str).collect();
        assert_eq!(tags.len(), 1, "tags of {id}");
        used.extend(tags);
    }
    assert_eq!(used, described);
}

#[test]
fn every_operation_but_those_of_health_needs_a_key_of_exactly_one_role() {
    for operation in operations() {
        let (id, security) = (operation.id(), &operation.told["security"]);
        if WITHOUT_KEY.contains(&id) {
            assert!(security.is_null(), "{id}");
            continue;
        }
        let needs = security.as_array().expect("a list of needs");
        assert_eq!(needs.len(), 1, "{id}: {security}");
        assert_eq!(
            needs[0].as_object().map(serde_json::Map::len),
            Some(1),
            "{id}"
        );
        let roles = needs[0]["key"].as_array().expect("the roles of a key");
        assert_eq!(roles.len(), 1, "{id}: {security}");
        assert!(
            ROLES.iter().any(|role| roles[0] == **role),
            "{id}: {security}"
        );
    }
}

#[test]
fn every_operation_tells_what_success_looks_like() {
    for operation in operations() {
        let successes: Vec<_> = operation
            .answers()
            .iter()
            .filter(|(status, _)| status.starts_with('2'))
            .collect();
        // What is recorded may be kept aside instead; all others succeed in one way.
        let kept_aside = successes.iter().any(|(status, _)| *status == "202");
        let ways = 1 + usize::from(kept_aside);
        assert_eq!(successes.len(), ways, "{}", operation.id());
        for (status, answer) in successes {
            let content = answer["content"].as_object().into_iter().flatten();
            let schemas: Vec<_> = content.map(|(_, told)| &told["schema"]["$ref"]).collect();
            let id = operation.id();
            assert!(schemas.iter().all(|it| it.is_string()), "{id}: {answer}");
            assert_eq!(!schemas.is_empty(), status != "204", "{id}: {answer}");
        }
    }
}

#[test]
fn every_operation_that_needs_a_key_tells_the_common_problems() {
    for operation in operations().into_iter().filter(|it| it.role().is_some()) {
        for status in ["400", "401", "403", "500", "503"] {
            let told = operation.answers().contains_key(status);
            assert!(told, "{} does not tell {status}", operation.id());
        }
    }
}

#[test]
fn every_failure_is_a_problem() {
    let problem = "#/components/schemas/Problem";
    for operation in operations() {
        for (status, answer) in operation.answers() {
            if status.starts_with('2') {
                continue;
            }
            // That nothing has changed is no failure, and has no body.
            if status == "304" {
                assert!(answer["content"].is_null(), "{} {status}", operation.id());
                continue;
            }
            let content = answer["content"].as_object().expect("it has a body");
            let types: Vec<&String> = content.keys().collect();
            assert_eq!(types, [PROBLEM], "{} {status}", operation.id());
            let schema = &content[PROBLEM]["schema"]["$ref"];
            assert_eq!(schema, problem, "{} {status}", operation.id());
        }
    }
}

#[test]
fn a_body_can_be_too_large_of_another_media_type_or_against_a_rule() {
    for operation in operations() {
        let has_body = !operation.told["requestBody"].is_null();
        let told = operation.answers().contains_key("415");
        assert_eq!(told, has_body, "{}", operation.id());
        if !has_body {
            continue;
        }
        for status in ["413", "415", "422"] {
            let told = operation.answers().contains_key(status);
            assert!(told, "{} does not tell {status}", operation.id());
        }
    }
}

#[test]
fn an_operation_leads_nowhere_if_and_only_if_its_path_has_a_name() {
    for operation in operations() {
        let has_name = operation.parameters("path").next().is_some();
        let told = operation.answers().contains_key("404");
        assert_eq!(told, has_name, "{}", operation.id());
    }
}

#[test]
fn a_header_that_a_write_must_carry_comes_with_what_happens_without_it() {
    for operation in operations() {
        let headers: Vec<&str> = operation
            .parameters("header")
            .filter_map(|header| header["name"].as_str())
            .collect();
        for status in match &headers[..] {
            [] => &[][..],
            ["Idempotency-Key"] => &["422", "428"],
            ["If-Match"] => &["412", "428"],
            other => panic!("{} takes {other:?}", operation.id()),
        } {
            let told = operation.answers().contains_key(*status);
            assert!(told, "{} does not tell {status}", operation.id());
        }
        let has_428 = operation.answers().contains_key("428");
        assert_eq!(has_428, !headers.is_empty(), "{}", operation.id());
    }
}

#[test]
fn every_parameter_is_described() {
    for operation in operations() {
        for place in ["path", "query", "header"] {
            for parameter in operation.parameters(place) {
                assert!(is_described(parameter), "{}: {parameter}", operation.id());
            }
        }
    }
}

#[test]
fn every_schema_and_every_property_is_described() {
    for (name, schema) in schemas() {
        assert!(is_described(schema), "{name}");
        let branches = schema["allOf"].as_array().into_iter().flatten();
        for object in branches.chain([schema]) {
            let properties = object["properties"].as_object().into_iter().flatten();
            for (property, told) in properties {
                // A property that may be null is described within the choice.
                let choices = told["oneOf"].as_array().into_iter().flatten();
                let described = is_described(told) || choices.into_iter().any(is_described);
                assert!(described, "{name}.{property}");
            }
        }
    }
}

fn is_described(value: &Value) -> bool {
    let description = value["description"].as_str();
    description.is_some_and(|text| !text.trim().is_empty())
}

#[test]
fn every_operation_is_a_method_of_the_client_with_its_own_name() {
    let files = source("api/client/src");
    let text: String = files
        .iter()
        .map(|file| fs::read_to_string(file).expect("a source"))
        .collect();
    for operation in operations() {
        let method = format!("pub async fn {}(", operation.id());
        assert!(
            text.contains(&method),
            "the client has no {}",
            operation.id()
        );
    }
}
