//! Who may name whom. The compiler checks the direction between packages; inside the server, and for
//! what a package takes from outside, these rules do.

use crate::source::{Finding, Source, all, expect_none, names, rust_under};

/// Every line of the files that names something it must not know.
fn forbidden(files: &[Source], unwanted: &[&str], remedy: &str) -> Vec<Finding> {
    let mut found = Vec::new();
    for file in files {
        for (line, code) in file.code() {
            for name in unwanted.iter().filter(|name| names(&code, name)) {
                found.push(Finding::at(
                    &file.path,
                    line,
                    format!("names {name}; {remedy}"),
                ));
            }
        }
    }
    found
}

#[test]
fn the_domain_knows_no_clock_no_file_no_network_and_no_framework() {
    let unwanted = [
        "tokio",
        "serde",
        "serde_json",
        "sea_orm",
        "sqlx",
        "actix_web",
        "utoipa",
        "reqwest",
        "tracing",
        "std::fs",
        "std::net",
        "std::env",
        "std::process",
        "std::thread",
        "SystemTime",
        "Instant::now",
        "Utc::now",
        "Local::now",
        "async",
    ];
    let remedy = "domain computes from values only: pass in what it needs from the service";
    expect_none(&forbidden(&rust_under(&["domain/src/"]), &unwanted, remedy));
}

#[test]
fn the_wire_contract_knows_no_framework_and_no_clock() {
    let unwanted = [
        "tokio",
        "sea_orm",
        "actix_web",
        "reqwest",
        "std::fs",
        "std::net",
        "Utc::now",
    ];
    let remedy = "types holds bodies and their checks; put the rest in server or client";
    expect_none(&forbidden(
        &rust_under(&["api/types/src/"]),
        &unwanted,
        remedy,
    ));
}

#[test]
fn handlers_know_no_database() {
    let files = rust_under(&["api/server/src/http.rs", "api/server/src/http/"]);
    let remedy = "a handler calls a use case of service, which calls store";
    expect_none(&forbidden(
        &files,
        &["sea_orm", "sqlx", "migrations", "crate::store"],
        remedy,
    ));
}

#[test]
fn use_cases_know_no_http() {
    let files = rust_under(&["api/server/src/service.rs", "api/server/src/service/"]);
    let unwanted = [
        "actix_web",
        "utoipa_actix_web",
        "utoipa",
        "crate::http",
        "crate::app",
    ];
    let remedy = "give a service::Error or a value; http turns it into an answer";
    expect_none(&forbidden(&files, &unwanted, remedy));
}

#[test]
fn the_store_knows_neither_http_nor_the_wire_nor_use_cases() {
    let files = rust_under(&["api/server/src/store.rs", "api/server/src/store/"]);
    let unwanted = ["actix_web", "types", "crate::http", "crate::service"];
    let remedy = "store takes and gives rows; service translates";
    expect_none(&forbidden(&files, &unwanted, remedy));
}

#[test]
fn a_migration_names_no_entity() {
    let unwanted = [
        "server",
        "entity",
        "EntityTrait",
        "ActiveModelTrait",
        "DeriveEntityModel",
        "ActiveModel",
        "create_table_from_entity",
        "SchemaBuilder",
    ];
    let remedy = "a step is a frozen past, an entity is the present: spell the columns out";
    expect_none(&forbidden(
        &rust_under(&["migrations/src/"]),
        &unwanted,
        remedy,
    ));
}

#[test]
fn only_the_demo_and_the_start_of_the_server_name_the_client() {
    let may = ["demo", "first_start"].map(|name| format!("api/server/src/{name}"));
    let mut files = rust_under(&["api/server/src/"]);
    files.retain(|file| {
        !may.iter().any(|may| {
            file.path == format!("{may}.rs") || file.path.starts_with(&format!("{may}/"))
        })
    });
    let remedy = "only the demo speaks to the service, and only the start saves a profile";
    expect_none(&forbidden(&files, &["client", "tigstock_client"], remedy));
}

#[test]
fn only_the_channels_speak_to_others() {
    let mut files = rust_under(&["api/server/src/"]);
    files.retain(|file| !file.path.starts_with("api/server/src/channels"));
    let remedy = "record an event, and let a channel send it";
    expect_none(&forbidden(&files, &["reqwest", "lettre"], remedy));
}

/// What each package may use of ours, lowest first.
const BELOW: [(&str, &[&str]); 6] = [
    ("domain", &[]),
    ("migrations", &[]),
    ("api/types", &["domain"]),
    ("api/client", &["types"]),
    ("api/cli", &["client", "domain", "types"]),
    ("api/server", &["client", "domain", "migrations", "types"]),
];

#[test]
fn a_package_uses_only_the_packages_below_it() {
    let ours = ["domain", "migrations", "types", "client", "cli", "server"];
    let files = all();
    let mut found = Vec::new();
    for (package, below) in BELOW {
        let path = format!("{package}/Cargo.toml");
        let file = files
            .iter()
            .find(|file| file.path == path)
            .expect("each package has a manifest");
        let wrong = dependencies(&file.text)
            .filter(|(_, name)| ours.contains(name) && !below.contains(name))
            .map(|(line, name)| {
                Finding::at(&path, line, format!("uses {name}, which is not below it"))
            });
        found.extend(wrong);
    }
    expect_none(&found);
}

#[test]
fn the_domain_uses_only_what_its_values_are_made_of() {
    let may = ["chrono", "iso_currency", "libm", "microlp", "thiserror"];
    let files = all();
    let file = files
        .iter()
        .find(|file| file.path == "domain/Cargo.toml")
        .expect("it is there");
    let wrong = dependencies(&file.text)
        .filter(|(_, name)| !may.contains(name))
        .map(|(line, name)| {
            let remedy =
                format!("uses {name}; domain stays bare, so write it yourself or move it up");
            Finding::at(&file.path, line, remedy)
        });
    expect_none(&wrong.collect::<Vec<_>>());
}

/// The names under `[dependencies]` of a manifest, with their lines.
fn dependencies(manifest: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut inside = false;
    manifest
        .lines()
        .enumerate()
        .filter_map(move |(index, line)| {
            if line.starts_with('[') {
                inside = line.trim() == "[dependencies]";
            }
            let (name, _) = line.split_once([' ', '=', '.']).filter(|_| inside)?;
            (!name.is_empty() && !name.starts_with(['#', '['])).then_some((index + 1, name))
        })
}

#[test]
fn only_the_section_of_dependencies_is_read() {
    let manifest = "[package]\nname = \"a\"\n[dependencies]\n# why\nb = \"1\"\nc.workspace = true\n[dev-dependencies]\nd = \"1\"\n";
    assert_eq!(
        dependencies(manifest).collect::<Vec<_>>(),
        [(5, "b"), (6, "c")]
    );
}

#[test]
fn a_forbidden_name_is_found_in_code_and_not_in_comments() {
    let text = "//! about tokio\nuse tokio::sync; // yes\nlet a = \"tokio\";\n";
    let file = Source {
        path: "made/up.rs".to_owned(),
        text: text.to_owned(),
    };
    let found = forbidden(&[file], &["tokio"], "leave it");
    assert_eq!(
        found,
        [Finding::at("made/up.rs", 2, "names tokio; leave it")]
    );
}
