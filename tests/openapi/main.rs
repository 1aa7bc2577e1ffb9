//! The contract: the committed document, its rules, and that every operation answers as it says.

mod golden;
mod reader;
mod rules;
mod walk;

use serde_json::Value;

/// The contract as the service makes it.
fn document() -> Value {
    serde_json::from_str(&server::http::openapi::text()).expect("the document is JSON")
}

/// An operation of the contract: its id, method, path and object.
struct Operation {
    id: String,
    method: String,
    path: String,
    told: Value,
}

/// Every operation of the document.
fn operations(document: &Value) -> Vec<Operation> {
    let mut operations = Vec::new();
    for (path, item) in document["paths"].as_object().expect("paths") {
        for (method, told) in item.as_object().expect("a path item") {
            let id = told["operationId"]
                .as_str()
                .expect("an operation id")
                .to_owned();
            let (method, path, told) = (method.to_uppercase(), path.clone(), told.clone());
            operations.push(Operation {
                id,
                method,
                path,
                told,
            });
        }
    }
    operations
}
