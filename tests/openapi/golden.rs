//! The committed document is the one that the routing table gives.

use std::fs;
use std::path::PathBuf;

use server::http::openapi;

const REWRITE: &str = "EXPECTORATE=overwrite cargo test -p tigstock-tests --test openapi";

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../openapi/tigstock-v1.json")
}

#[test]
fn the_committed_document_is_the_one_that_the_routes_give() {
    let text = openapi::text();
    if std::env::var("EXPECTORATE").is_ok_and(|word| word == "overwrite") {
        fs::write(path(), &text).expect("it can be written");
    }
    let committed = fs::read_to_string(path()).unwrap_or_default();
    let mut lines = committed.lines().zip(text.lines()).enumerate();
    if let Some((number, (was, is))) = lines.find(|(_, (was, is))| was != is) {
        panic!(
            "the contract has changed at line {}:\n- {was}\n+ {is}\nIf that is meant, write it \
             down with:\n{REWRITE}",
            number + 1
        );
    }
    assert!(
        committed == text,
        "the contract has changed in length; if that is meant, write it down with:\n{REWRITE}"
    );
}

#[test]
fn the_document_is_the_same_every_time() {
    assert_eq!(openapi::text(), openapi::text());
}
