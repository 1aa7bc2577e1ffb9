//! Every operation is called once with a good request, and what comes back is what the contract
//! says: a status that is listed, and a body of the listed schema. All data are invented.

use std::collections::BTreeSet;

use jsonschema::Validator;
use reqwest::Method;
use serde_json::{Value, json};
use tigstock_tests::TestServer;
use types::Role;

use crate::{Operation, document, operations};

/// Calls operations and keeps account of them.
struct Walker<'s> {
    server: &'s TestServer,
    http: reqwest::Client,
    document: Value,
    operations: Vec<Operation>,
    called: BTreeSet<String>,
}

/// What comes with a request: a body, the version it edits, or an idempotency key.
#[derive(Default)]
struct With {
    body: Option<Value>,
    version: Option<i64>,
    key: Option<&'static str>,
}

fn nothing() -> With {
    With::default()
}

fn body(body: Value) -> With {
    With {
        body: Some(body),
        ..With::default()
    }
}

fn edit(version: i64, body: Value) -> With {
    With {
        body: Some(body),
        version: Some(version),
        key: None,
    }
}

fn once(key: &'static str, body: Value) -> With {
    With {
        body: Some(body),
        version: None,
        key: Some(key),
    }
}

impl Walker<'_> {
    async fn call(&mut self, id: &str, names: &[(&str, &str)], with: With) -> Value {
        let operation = self.operations.iter().find(|operation| operation.id == id);
        let operation = operation.unwrap_or_else(|| panic!("there is no operation {id}"));
        let mut path = operation.path.clone();
        for (name, value) in names {
            if path.contains(&format!("{{{name}}}")) {
                path = path.replace(&format!("{{{name}}}"), value);
            } else {
                let separator = if path.contains('?') { '&' } else { '?' };
                path = format!("{path}{separator}{name}={value}");
            }
        }
        let method = Method::from_bytes(operation.method.as_bytes()).expect("a method");
        let mut request = self
            .http
            .request(method, format!("{}{path}", self.server.url));
        request = request.bearer_auth(self.server.key(Role::Own));
        if let Some(version) = with.version {
            request = request.header("If-Match", format!("\"{version}\""));
        }
        if let Some(key) = with.key {
            request = request.header("Idempotency-Key", key);
        }
        if let Some(body) = &with.body {
            request = request.json(body);
        }
        let answer = request.send().await.expect("an answer");
        let status = answer.status();
        let text = answer.text().await.expect("a body");
        assert!(status.is_success(), "{id}: {status} {text}");
        let told = &operation.told["responses"][status.as_str()];
        assert!(told.is_object(), "{id}: {status} is not in the contract");
        self.called.insert(id.to_owned());
        if status == 204 {
            assert_eq!(text, "", "{id}");
            return Value::Null;
        }
        let value: Value = serde_json::from_str(&text).expect("JSON");
        let schema = told["content"]["application/json"]["schema"].clone();
        self.check(id, &schema, &value);
        value
    }

    /// The body must be of the schema that the contract lists.
    fn check(&self, id: &str, schema: &Value, value: &Value) {
        let mut whole = schema.clone();
        whole["components"] = self.document["components"].clone();
        let validator: Validator = jsonschema::validator_for(&whole).expect("a schema");
        let wrong: Vec<String> = validator
            .iter_errors(value)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert_eq!(wrong, Vec::<String>::new(), "{id}: {value}");
    }

    async fn things(&mut self) {
        self.call("get_health", &[], nothing()).await;
        self.call("get_readiness", &[], nothing()).await;
        let truck = json!({"code": "truck", "name": "The truck", "zone": "Europe/Oslo"});
        self.call("create_site", &[], body(truck.clone())).await;
        self.call("replace_site", &[("site", "truck")], edit(1, truck))
            .await;
        self.call("get_site", &[("site", "truck")], nothing()).await;
        self.call("list_sites", &[("limit", "1")], nothing()).await;
        for (code, more) in [
            (
                "rod",
                json!({"kind": "electrode", "class": "WTh20", "diameter": "3/32 in", "marking": "EWTh-2"}),
            ),
            (
                "cup",
                json!({"kind": "cup", "cup_number": 7, "seat": "standard", "family": "large"}),
            ),
            (
                "gas",
                json!({"kind": "shielding-gas", "composition": "argon"}),
            ),
        ] {
            let mut part = more;
            part["code"] = json!(code);
            self.call("create_part", &[], body(part)).await;
        }
        let cup = json!({"code": "cup", "kind": "cup", "cup_number": 7, "seat": "standard", "family": "large",
            "note": "drawer 4", "starting_assumptions": [{"per": "arc-hour", "shape": 1.0, "rate": 30.0}]});
        self.call("replace_part", &[("part", "cup")], edit(1, cup))
            .await;
        self.call("get_part", &[("part", "cup")], nothing()).await;
        self.call("list_parts", &[], nothing()).await;
        self.call(
            "delete_part",
            &[("part", "gas")],
            With {
                version: Some(1),
                ..nothing()
            },
        )
        .await;
        let torch = json!({"code": "T1", "family": "large"});
        self.call("create_torch", &[], body(torch.clone())).await;
        self.call("replace_torch", &[("torch", "T1")], edit(1, torch))
            .await;
        self.call(
            "replace_set_up",
            &[("torch", "T1")],
            edit(2, json!({"parts": ["cup", "rod"]})),
        )
        .await;
        self.call("get_set_up", &[("torch", "T1")], nothing()).await;
        self.call("get_torch", &[("torch", "T1")], nothing()).await;
        self.call("list_torches", &[], nothing()).await;
        let kit = json!({"code": "K1", "parts": [{"part": "rod", "quantity": 2}, {"part": "cup"}]});
        self.call("create_kit", &[], body(kit.clone())).await;
        self.call("replace_kit", &[("kit", "K1")], edit(1, kit))
            .await;
        self.call("get_kit", &[("kit", "K1")], nothing()).await;
        self.call("list_kits", &[], nothing()).await;
    }

    async fn sellers(&mut self) {
        let supplier = json!({"code": "quayhead", "currency": "CAD", "lead_time_days": 1});
        self.call("create_supplier", &[], body(supplier.clone()))
            .await;
        self.call(
            "replace_supplier",
            &[("supplier", "quayhead")],
            edit(1, supplier),
        )
        .await;
        self.call("get_supplier", &[("supplier", "quayhead")], nothing())
            .await;
        self.call("list_suppliers", &[], nothing()).await;
        let offer =
            json!({"supplier": "quayhead", "part": "rod", "pack_size": 10, "price_minor": 4200});
        self.call("create_offer", &[], body(offer.clone())).await;
        let mut single = offer;
        single["pack_size"] = json!(1);
        let made = self.call("create_offer", &[], body(single.clone())).await;
        let id = made["id"].as_str().expect("an id").to_owned();
        self.call("replace_offer", &[("offer", &id)], edit(1, single))
            .await;
        self.call("get_offer", &[("offer", &id)], nothing()).await;
        self.call("list_offers", &[], nothing()).await;
        self.call(
            "delete_offer",
            &[("offer", &id)],
            With {
                version: Some(2),
                ..nothing()
            },
        )
        .await;
    }

    async fn ledger(&mut self) {
        let receipt = json!({"part": "rod", "quantity": 3, "lot": "L-2231"});
        self.call("record_receipt", &[], once("r1", receipt)).await;
        self.call(
            "record_count",
            &[],
            once("c1", json!({"part": "cup", "counted": 5})),
        )
        .await;
        let used =
            json!({"torch": "T1", "what": "took", "arc_minutes": 75, "grinds": 3, "by": "owner"});
        let entry = self.call("record_usage", &[], once("u1", used)).await;
        let batch = json!({"entries": [{"id": "b1", "torch": "T1", "grinds": 1}, {"id": "b2", "torch": "T9", "grinds": 1}]});
        let batch = self.call("record_usage_batch", &[], body(batch)).await;
        assert_eq!(
            (&batch["recorded"], &batch["refused"]),
            (&json!(1), &json!(1))
        );
        let entry = entry["entry"].clone();
        self.call("record_reversal", &[], once("v1", json!({"entry": entry})))
            .await;
        let held = json!({"part": "rod", "kind": "hold", "quantity": 1, "why": "bent"});
        self.call("record_movement", &[], once("m1", held)).await;
        self.call("list_movements", &[("part", "rod")], nothing())
            .await;
        self.call("list_counts", &[], nothing()).await;
        self.call("list_usage", &[("torch", "T1")], nothing()).await;
        self.call("get_stock", &[("part", "rod")], nothing()).await;
        self.call("list_stock", &[("site", "shop")], nothing())
            .await;
        self.call("explain_stock", &[("part", "rod")], nothing())
            .await;
        let asked = [
            ("part", "rod,cup"),
            ("arc", "34h"),
            ("pace", "6h"),
            ("cover_days", "14"),
            ("explain", "1"),
        ];
        self.call("get_forecasts", &asked, nothing()).await;
    }

    async fn jobs_and_orders(&mut self) {
        let job = json!({"code": "R-1", "torch": "T1", "kit": "K1", "arc_minutes": 2040, "start": "2099-01-05"});
        self.call("create_job", &[], body(job.clone())).await;
        self.call("replace_job", &[("job", "R-1")], edit(1, job.clone()))
            .await;
        self.call("get_job", &[("job", "R-1")], nothing()).await;
        self.call("get_job_needs", &[("job", "R-1")], nothing())
            .await;
        let drafted = self
            .call(
                "draft_job_orders",
                &[("job", "R-1")],
                With {
                    key: Some("d1"),
                    ..nothing()
                },
            )
            .await;
        let number = drafted["orders"][0]["number"]
            .as_i64()
            .expect("a draft")
            .to_string();
        self.call("place_order", &[("order", &number)], nothing())
            .await;
        self.call(
            "receive_order",
            &[("order", &number)],
            once("a1", json!({"by": "helper"})),
        )
        .await;
        self.call("get_order", &[("order", &number)], nothing())
            .await;
        let order = json!({"supplier": "quayhead", "lines": [{"part": "rod", "pack_size": 10, "packs": 1}]});
        let order = self.call("create_order", &[], once("o1", order)).await;
        let number = order["number"].as_i64().expect("a number").to_string();
        self.call("cancel_order", &[("order", &number)], nothing())
            .await;
        self.call("list_orders", &[], nothing()).await;
        let mut spare = job;
        spare["code"] = json!("R-2");
        spare["kit"] = Value::Null;
        self.call("create_job", &[], body(spare)).await;
        self.call(
            "delete_job",
            &[("job", "R-2")],
            With {
                version: Some(1),
                ..nothing()
            },
        )
        .await;
        self.call("list_jobs", &[], nothing()).await;
        let spare = json!({"code": "K2", "parts": [{"part": "cup"}]});
        self.call("create_kit", &[], body(spare)).await;
        self.call(
            "delete_kit",
            &[("kit", "K2")],
            With {
                version: Some(1),
                ..nothing()
            },
        )
        .await;
    }

    async fn keys(&mut self) {
        let made = self
            .call(
                "create_key",
                &[],
                body(json!({"name": "phone", "role": "log"})),
            )
            .await;
        let id = made["id"].as_str().expect("an id").to_owned();
        self.call("list_keys", &[], nothing()).await;
        self.call("revoke_key", &[("key", &id)], nothing()).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_operation_answers_as_the_contract_says() {
    let server = TestServer::start().await;
    let document = document();
    let operations = operations(&document);
    let all: BTreeSet<String> = operations
        .iter()
        .map(|operation| operation.id.clone())
        .collect();
    let http = reqwest::Client::new();
    let mut walker = Walker {
        server: &server,
        http,
        document,
        operations,
        called: BTreeSet::new(),
    };
    walker.things().await;
    walker.sellers().await;
    walker.ledger().await;
    walker.jobs_and_orders().await;
    walker.keys().await;
    assert_eq!(
        walker.called, all,
        "an operation was never called, or is not in the contract"
    );
}
