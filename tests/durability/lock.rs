//! One server a file: whoever would change a database that is served is told who serves it.

use std::net::TcpListener;

use tigstock_tests::programs::{Home, Serving, ended};

#[test]
fn a_database_that_is_served_is_changed_by_nobody_else() {
    let home = Home::new();
    let serving = home.serve();
    let file = home.path("data/tigstock/tigstock.db");
    let holder = format!("tigstock-server serve, process {}", serving.id());
    let backup = home.path("work/backup.db").display().to_string();
    for command in [
        &["serve", "--listen", "127.0.0.1:0"][..],
        &["migrate"],
        &["rebuild"],
        &["restore", &backup],
        &["import", "export"],
    ] {
        let (good, out, err) = ended(home.server().args(command));
        assert!(!good && out.is_empty(), "{command:?}: {out}");
        assert!(err.contains(&holder), "{command:?}: {err}");
        assert!(err.contains(&file.display().to_string()), "{err}");
        assert!(
            err.contains("stop that first") && err.contains("--database"),
            "{err}"
        );
    }
    assert!(serving.stop().0, "it ends well");
    let (good, _, err) = ended(home.server().arg("migrate"));
    assert!(good, "{err}");
}

#[test]
fn the_lock_goes_with_its_holder_however_it_ends() {
    let home = Home::new();
    home.serve().kill();
    let serving = home.serve();
    assert!(serving.stop().0, "it ends well");
}

#[cfg(unix)]
#[test]
fn another_name_for_the_same_file_is_the_same_database() {
    let home = Home::new();
    let serving = home.serve();
    let link = home.path("work/link.db");
    std::os::unix::fs::symlink(home.path("data/tigstock/tigstock.db"), &link).expect("a link");
    let mut second = home.server();
    let (good, _, err) = ended(second.args(["migrate", "--database"]).arg(&link));
    assert!(!good && err.contains(&serving.id()), "{err}");
    let mut around = home.server();
    let around = around
        .args(["migrate", "--database"])
        .arg(home.path("work/../data/tigstock/tigstock.db"));
    let (good, _, err) = ended(around);
    assert!(!good && err.contains(&serving.id()), "{err}");
}

#[test]
fn two_databases_are_served_at_once() {
    let home = Home::new();
    let serve = |name: &str| {
        let mut command = home.server();
        command
            .args(["serve", "--listen", "127.0.0.1:0", "--database"])
            .arg(home.path(name));
        Serving::start(&mut command)
    };
    let (first, second) = (serve("data/one.db"), serve("data/two.db"));
    assert!(first.stop().0 && second.stop().0, "they end well");
}

#[test]
fn a_start_that_cannot_be_reached_makes_no_database() {
    let home = Home::new();
    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = taken.local_addr().expect("an address").to_string();
    let (good, ..) = ended(home.server().args(["serve", "--listen", &address]));
    assert!(!good);
    assert_eq!(home.holds("data"), [""; 0]);
}
