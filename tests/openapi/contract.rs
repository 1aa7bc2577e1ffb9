//! The document as the tests of this suite read it: plain JSON, and a list of its operations.

use std::sync::LazyLock;

use serde_json::{Map, Value};

/// The methods that an operation can have.
pub(crate) const METHODS: [&str; 8] = [
    "get", "put", "post", "delete", "options", "head", "patch", "trace",
];

/// The document.
pub(crate) static DOCUMENT: LazyLock<Value> = LazyLock::new(|| {
    serde_json::from_str(&server::http::openapi::text()).expect("the document is JSON")
});

/// One operation.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Operation {
    /// The method, in small letters.
    pub(crate) method: &'static str,
    /// The path, with its parameters in braces.
    pub(crate) path: &'static str,
    /// What the document says of it.
    pub(crate) told: &'static Value,
}

impl Operation {
    /// The operation id; empty if it has none.
    pub(crate) fn id(&self) -> &'static str {
        self.told["operationId"].as_str().unwrap_or_default()
    }

    /// The parameters in a place: `path`, `query` or `header`.
    pub(crate) fn parameters(&self, place: &'static str) -> impl Iterator<Item = &'static Value> {
        let all = self.told["parameters"].as_array().into_iter().flatten();
        all.filter(move |parameter| parameter["in"] == place)
    }

    /// The answers by status.
    pub(crate) fn answers(&self) -> &'static Map<String, Value> {
        self.told["responses"].as_object().expect("there are some")
    }

    /// The role that it needs; none if it needs no key.
    pub(crate) fn role(&self) -> Option<&'static str> {
        self.told["security"][0]["key"][0].as_str()
    }

    /// Whether a path on the wire is one of this operation.
    pub(crate) fn is_at(&self, path: &str) -> bool {
        let (mine, its) = (self.path.split('/'), path.split('/'));
        mine.clone().count() == its.clone().count()
            && mine.zip(its).all(|(mine, its)| fits(mine, its))
    }
}

/// Whether a part of a path is one that may have names in braces: `needs.csv` of `needs.{form}`.
fn fits(template: &str, part: &str) -> bool {
    let (Some((before, _)), Some((_, after))) =
        (template.split_once('{'), template.rsplit_once('}'))
    else {
        return template == part;
    };
    part.len() > before.len() + after.len() && part.starts_with(before) && part.ends_with(after)
}

/// All operations, in the order of the document.
pub(crate) fn operations() -> Vec<Operation> {
    let paths = DOCUMENT["paths"].as_object().expect("there are paths");
    let mut operations = Vec::new();
    for (path, item) in paths {
        for method in METHODS {
            if let Some(told) = item.get(method) {
                operations.push(Operation { method, path, told });
            }
        }
    }
    assert!(!operations.is_empty(), "the document has no operations");
    operations
}

/// The operation of a request: one without parameters in its path goes before one with.
pub(crate) fn operation_of(method: &str, path: &str) -> Option<Operation> {
    let method = method.to_lowercase();
    let found = operations()
        .into_iter()
        .filter(|it| it.method == method && it.is_at(path));
    found.min_by_key(|it| it.path.matches('{').count())
}

/// The schemas by name.
pub(crate) fn schemas() -> &'static Map<String, Value> {
    DOCUMENT["components"]["schemas"]
        .as_object()
        .expect("there are schemas")
}

/// What `found` gives for every place of the document, with a JSON pointer to it.
pub(crate) fn places(visit: &mut impl FnMut(&str, &'static Value)) {
    walk("", &DOCUMENT, visit);
}

fn walk(at: &str, value: &'static Value, visit: &mut impl FnMut(&str, &'static Value)) {
    visit(at, value);
    if let Some(object) = value.as_object() {
        for (name, value) in object {
            let name = name.replace('~', "~0").replace('/', "~1");
            walk(&format!("{at}/{name}"), value, visit);
        }
    }
    for (index, value) in value.as_array().into_iter().flatten().enumerate() {
        walk(&format!("{at}/{index}"), value, visit);
    }
}
