//! The rules that the document keeps, whatever is in it.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::{document, operations};

/// Everything in a document, with where it is.
fn walk<'d>(value: &'d Value, at: &str, see: &mut impl FnMut(&str, &'d Value)) {
    see(at, value);
    if let Some(members) = value.as_object() {
        for (name, member) in members {
            walk(member, &format!("{at}/{name}"), see);
        }
    } else if let Some(members) = value.as_array() {
        for (index, member) in members.iter().enumerate() {
            walk(member, &format!("{at}/{index}"), see);
        }
    }
}

#[test]
fn it_is_openapi_3_1() {
    assert_eq!(document()["openapi"], "3.1.0");
}

#[test]
fn no_reference_dangles() {
    let document = document();
    let mut dangling = Vec::new();
    walk(&document, "", &mut |at, value| {
        let Some(target) = value.get("$ref").and_then(Value::as_str) else {
            return;
        };
        if document.pointer(target.trim_start_matches('#')).is_none() {
            dangling.push(format!("{at}: {target}"));
        }
    });
    assert_eq!(dangling, Vec::<String>::new());
}

#[test]
fn no_component_is_left_over() {
    let document = document();
    let mut used = BTreeSet::new();
    walk(&document, "", &mut |_, value| {
        if let Some(target) = value.get("$ref").and_then(Value::as_str) {
            used.insert(target.rsplit('/').next().unwrap_or_default().to_owned());
        }
    });
    let schemas = document["components"]["schemas"]
        .as_object()
        .expect("schemas");
    let unused: Vec<&String> = schemas
        .keys()
        .filter(|name| !used.contains(*name))
        .collect();
    assert_eq!(unused, Vec::<&String>::new());
}

#[test]
fn operation_ids_are_unique() {
    let operations = operations(&document());
    let ids: BTreeSet<&str> = operations
        .iter()
        .map(|operation| operation.id.as_str())
        .collect();
    assert_eq!(ids.len(), operations.len());
}

#[test]
fn every_operation_has_a_summary_one_tag_and_one_role() {
    for operation in operations(&document()) {
        let told = &operation.told;
        assert!(
            told["summary"]
                .as_str()
                .is_some_and(|text| text.ends_with(['.', '?'])),
            "{}",
            operation.id
        );
        assert_eq!(
            told["tags"].as_array().map(Vec::len),
            Some(1),
            "{}",
            operation.id
        );
        if told["tags"][0] == "health" {
            assert!(told["security"].is_null(), "{}", operation.id);
            continue;
        }
        let roles = told["security"][0]["key"]
            .as_array()
            .expect("roles of the key");
        let known = ["read", "log", "keep", "own"];
        assert!(
            roles.len() == 1 && known.iter().any(|role| roles[0] == *role),
            "{}",
            operation.id
        );
    }
}

#[test]
fn every_operation_tells_a_good_answer_and_the_common_problems() {
    for operation in operations(&document()) {
        let responses = operation.told["responses"].as_object().expect("responses");
        let good = responses.iter().find(|(status, _)| status.starts_with('2'));
        let (status, good) = good.unwrap_or_else(|| panic!("{} has no good answer", operation.id));
        let body = &good["content"]["application/json"]["schema"];
        assert!(
            status == "204" || body.is_object(),
            "{} has no body",
            operation.id
        );
        if operation.told["tags"][0] == "health" {
            continue;
        }
        for status in ["400", "401", "403", "500", "503"] {
            let problem =
                &responses[status]["content"]["application/problem+json"]["schema"]["$ref"];
            assert_eq!(
                problem, "#/components/schemas/Problem",
                "{} {status}",
                operation.id
            );
        }
        let has_body = operation.told["requestBody"].is_object();
        assert_eq!(
            responses.contains_key("415"),
            has_body,
            "{} 415",
            operation.id
        );
        let is_named = operation.path.contains('{');
        assert_eq!(
            responses.contains_key("404"),
            is_named,
            "{} 404",
            operation.id
        );
    }
}

#[test]
fn every_field_and_parameter_is_described() {
    let document = document();
    let mut bare = Vec::new();
    for (name, schema) in document["components"]["schemas"]
        .as_object()
        .expect("schemas")
    {
        if schema["description"].as_str().is_none() {
            bare.push(name.clone());
        }
        walk(schema, name, &mut |at, value| {
            let Some(properties) = value.get("properties").and_then(Value::as_object) else {
                return;
            };
            for (property, told) in properties {
                // An object that may be absent carries its description in the branch that is there.
                let branches = told["oneOf"].as_array().into_iter().flatten();
                let mut told = std::iter::once(told).chain(branches);
                if !told.any(|told| told["description"].is_string()) {
                    bare.push(format!("{at}/{property}"));
                }
            }
        });
    }
    for operation in operations(&document) {
        for parameter in operation.told["parameters"]
            .as_array()
            .into_iter()
            .flatten()
        {
            if parameter["description"].as_str().is_none() {
                bare.push(format!("{} {}", operation.id, parameter["name"]));
            }
        }
    }
    assert_eq!(bare, Vec::<String>::new());
}

#[test]
fn bodies_refuse_unknown_fields() {
    let document = document();
    for operation in operations(&document) {
        let body = &operation.told["requestBody"]["content"]["application/json"]["schema"]["$ref"];
        let Some(target) = body.as_str() else {
            continue;
        };
        let schema = document
            .pointer(target.trim_start_matches('#'))
            .expect("a component");
        assert_eq!(schema["additionalProperties"], false, "{}", operation.id);
    }
}
