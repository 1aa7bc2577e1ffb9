//! `tigstock-server serve`: the first start, the second, and the end.

#![cfg(unix)]

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use tigstock_tests::programs::{Home, Serving, ended};

fn mode(file: &Path) -> u32 {
    let metadata = std::fs::metadata(file).expect("it is there");
    metadata.permissions().mode() & 0o777
}

/// The secret in what a first start printed.
fn secret(out: &str) -> Option<&str> {
    out.split_whitespace().find(|word| word.starts_with("tig_"))
}

#[test]
fn a_first_start_shows_the_owners_key_once_and_leaves_it_for_the_command_line() {
    let home = Home::new();
    let serving = home.serve();
    let url = serving.url.clone();
    let mut stock = home.tigstock();
    let (good, told, err) = ended(stock.args(["stock", "--format", "csv"]));
    assert!(good, "{err}");
    assert!(told.starts_with("part,name,site"), "{told}");
    let (good, out) = serving.stop();
    assert!(good, "it ends well");
    let secret = secret(&out).expect("the key is shown");
    let profile = home.path("config/tigstock/client.toml");
    assert_eq!(mode(&profile), 0o600);
    let kept = std::fs::read_to_string(&profile).expect("the profile");
    assert!(kept.contains(secret) && kept.contains(&url), "{kept}");
    assert!(out.contains("client.toml"), "{out}");
}

#[test]
fn a_key_in_an_address_is_never_logged() {
    let home = Home::new();
    let address = ["serve", "--listen", "127.0.0.1:0", "--log", "debug"];
    let serving = Serving::start(home.server().args(address));
    let wrong = format!("tig_{}", "7".repeat(64));
    let host = serving.url.trim_start_matches("http://").to_owned();
    let mut socket = TcpStream::connect(&host).expect("a connection");
    let request = format!(
        "GET /v1/calendar.ics?key={wrong} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"
    );
    socket.write_all(request.as_bytes()).expect("it is sent");
    let mut answer = String::new();
    socket.read_to_string(&mut answer).expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 401"), "{answer}");
    let (_, _, log) = serving.stop_with_log();
    assert!(!log.is_empty(), "it says at least that it stops");
    assert!(!log.iter().any(|line| line.contains(&wrong)), "{log:#?}");
}

#[test]
fn a_machine_without_certificates_starts_and_is_told_what_that_means() {
    let home = Home::new();
    let mut server = home.server();
    server
        .args(["serve", "--listen", "127.0.0.1:0"])
        .env("SSL_CERT_FILE", home.path("none.pem"))
        .env("SSL_CERT_DIR", home.path("none"));
    let serving = Serving::start(&mut server);
    let (good, _, log) = serving.stop_with_log();
    assert!(good, "it ends well");
    // Where the certificates are the system's own, there is nothing to tell.
    if cfg!(target_os = "linux") {
        let told = log
            .iter()
            .any(|line| line.contains("no webhook can be reached"));
        assert!(told, "{log:#?}");
    }
}

#[test]
fn a_second_start_shows_no_key_and_the_first_one_still_works() {
    let home = Home::new();
    let first = home.serve();
    let address = first.url.trim_start_matches("http://").to_owned();
    let (_, out) = first.stop();
    assert!(secret(&out).is_some(), "{out}");
    let mut again = home.server();
    let second = Serving::start(again.args(["serve", "--listen", &address]));
    let mut stock = home.tigstock();
    let (good, _, err) = ended(stock.arg("stock"));
    assert!(good, "{err}");
    let (good, out) = second.stop();
    assert!(good, "it ends well");
    assert_eq!(secret(&out), None, "{out}");
}

#[test]
fn a_profile_that_is_there_is_left_as_it_is() {
    let home = Home::new();
    let folder = home.path("config/tigstock");
    std::fs::create_dir(&folder).expect("a folder");
    let profile = folder.join("client.toml");
    let text = "server = \"http://bench.example:8710\"\nkey = \"tig_other\"\n";
    std::fs::write(&profile, text).expect("it can be written");
    let (_, out) = home.serve().stop();
    assert_eq!(
        std::fs::read_to_string(&profile).expect("the profile"),
        text
    );
    assert!(
        secret(&out).is_some() && out.contains("TIGSTOCK_KEY"),
        "{out}"
    );
}

#[test]
fn the_database_is_where_the_platform_keeps_data_and_for_its_owner_alone() {
    let home = Home::new();
    let serving = home.serve();
    let file = home.path("data/tigstock/tigstock.db");
    assert_eq!(mode(&file), 0o600);
    assert!(serving.stop().0, "it ends well");
    assert_eq!(home.holds("work"), [""; 0]);
    // The write-ahead log is folded into the file at a clean end.
    let mut left: Vec<_> = std::fs::read_dir(home.path("data/tigstock"))
        .expect("the folder")
        .map(|it| it.expect("an entry").file_name())
        .collect();
    left.sort();
    // The lock means nothing by itself; it is not removed, so that two never hold one each.
    assert_eq!(left, ["tigstock.db", "tigstock.db.lock"]);
}

#[test]
fn the_secret_is_in_no_log_line() {
    let home = Home::new();
    let database = home.path("data/shop.db");
    let mut command = home.server();
    command
        .args(["serve", "--listen", "127.0.0.1:0", "--log", "trace"])
        .arg("--database")
        .arg(&database);
    let serving = Serving::start(&mut command);
    let mut stock = home.tigstock();
    assert!(ended(stock.arg("stock")).0);
    let (_, out, log) = serving.stop_with_log();
    let secret = secret(&out).expect("the key is shown");
    assert!(!log.is_empty());
    let told = log.iter().find(|line| line.contains(secret));
    assert_eq!(told, None);
}

#[test]
fn a_port_in_use_is_told_with_what_to_do() {
    let home = Home::new();
    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = taken.local_addr().expect("an address").to_string();
    let mut command = home.server();
    let (good, out, err) = ended(command.args(["serve", "--listen", &address]));
    assert!(!good);
    assert!(
        err.contains(&format!("cannot listen on {address}")),
        "{err}"
    );
    assert!(err.contains("--listen"), "{err}");
    assert_eq!(secret(&out), None, "no key is made where nobody can use it");
}

#[test]
fn settings_of_a_file_are_taken_and_the_command_line_goes_before_them() {
    let home = Home::new();
    let file = home.path("config/server.toml");
    let database = home.path("data/of-the-file.db");
    let text = format!(
        "listen = \"127.0.0.1:1\"\ndatabase = \"{}\"\n",
        database.display()
    );
    std::fs::write(&file, text).expect("it can be written");
    let mut command = home.server();
    command
        .args(["serve", "--listen", "127.0.0.1:0", "--config"])
        .arg(&file);
    let serving = Serving::start(&mut command);
    assert!(database.exists());
    assert!(serving.stop().0, "it ends well");
}
