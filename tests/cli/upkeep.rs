//! The other commands of the service: `migrate`, `rebuild`, `openapi`, `healthcheck`; and how it
//! tells that it cannot start.

use sea_orm::ConnectionTrait;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::door::Door;

use tigstock_tests::programs::{Home, ended};
use types::ListStock;

#[test]
fn migrate_makes_the_database_and_can_be_repeated() {
    let home = Home::new();
    let file = home.path("data/shop/shop.db");
    for _ in 0..2 {
        let mut migrate = home.server();
        let (good, out, err) = ended(migrate.args(["migrate", "--database"]).arg(&file));
        assert!(good, "{err}");
        assert_eq!(
            out,
            format!("{}: the schema is up to date.\n", file.display())
        );
    }
    assert!(file.exists());
}

#[tokio::test(flavor = "multi_thread")]
async fn rebuild_puts_right_what_is_wrong_and_says_so() {
    let server = TestServer::start().await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 9).await;
    server.stocked(electrode("WLa20-1.6", "1.6 mm"), 4).await;
    let tx = server.context.store.begin().await.expect("a transaction");
    let harm = "UPDATE levels SET on_hand = 70 WHERE on_hand = 9";
    tx.execute_unprepared(harm).await.expect("it is harmed");
    tx.commit().await.expect("it is kept");
    assert_eq!(listed(&server, "WLa20-2.4").await, 70);
    let home = Home::new();
    for wrong in [1, 0] {
        let mut rebuild = home.server();
        rebuild
            .args(["rebuild", "--database"])
            .arg(server.address());
        let (good, out, err) = ended(&mut rebuild);
        assert!(good, "{err}");
        assert!(
            out.starts_with(&format!("2 levels, {wrong} of them")),
            "{out}"
        );
        assert_eq!(listed(&server, "WLa20-2.4").await, 9);
    }
    assert_eq!(listed(&server, "WLa20-1.6").await, 4);
}

/// What is on hand by the list of all stock. It is read anew each time; what a server keeps of one part would stand
/// here, since no other program writes its file in earnest: the lock of the file sees to that.
async fn listed(server: &TestServer, part: &str) -> i64 {
    let stock = server.owner.list_stock(&ListStock::default()).await;
    let stock = stock.expect("stock").stock;
    let line = stock.iter().find(|line| line.part == part);
    line.expect("its line").on_hand
}

#[test]
fn openapi_prints_the_contract_that_is_committed() {
    let home = Home::new();
    let (good, out, err) = ended(home.server().arg("openapi"));
    assert!(good, "{err}");
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/tigstock-v1.json");
    let committed = std::fs::read_to_string(file).expect("the contract");
    assert!(out == committed, "it prints another one");
    for folder in ["work", "tmp", "config", "data"] {
        assert_eq!(home.holds(folder), [""; 0], "{folder}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn healthcheck_tells_a_service_that_is_ready_from_one_that_is_not_there() {
    let server = TestServer::start().await;
    let home = Home::new();
    let mut check = home.server();
    let (good, out, _) = ended(check.args(["healthcheck", "--server", &server.url]));
    assert!(good);
    assert_eq!(out, "ok\n");
    let nobody = Door::shut();
    let mut check = home.server();
    let (good, out, err) = ended(check.args(["healthcheck", "--server", &nobody.url]));
    assert!(!good && out.is_empty());
    assert!(err.contains(&nobody.url), "{err}");
}

#[tokio::test(flavor = "multi_thread")]
async fn healthcheck_tells_a_service_whose_database_is_away() {
    let server = TestServer::start().await;
    server
        .context
        .store
        .clone()
        .close()
        .await
        .expect("it closes");
    let home = Home::new();
    let mut check = home.server();
    let (good, out, err) = ended(check.args(["healthcheck", "--server", &server.url]));
    assert!(!good && out.is_empty(), "{out}");
    assert!(!err.is_empty());
}

#[test]
fn a_database_that_cannot_be_opened_is_told_by_its_path() {
    let home = Home::new();
    let file = home.path("data/not-a-folder");
    std::fs::write(&file, "text, not a database, and long enough to tell").expect("a file");
    for database in [file.join("shop.db"), home.path("data"), file] {
        for command in ["serve", "migrate", "rebuild"] {
            let mut start = home.server();
            let (good, out, err) = ended(start.args([command, "--database"]).arg(&database));
            assert!(!good && out.is_empty(), "{command}: {out}");
            let path = home.path("data").display().to_string();
            assert!(err.contains(&path), "{command}: {err}");
            assert!(!err.contains("panicked"), "{command}: {err}");
        }
    }
}

#[test]
fn an_unknown_setting_is_told_by_its_name_and_its_file() {
    let home = Home::new();
    let file = home.path("config/server.toml");
    for text in ["lissten = \"127.0.0.1:0\"\n", "keyless = true\n"] {
        std::fs::write(&file, text).expect("it can be written");
        let mut serve = home.server();
        let (good, out, err) = ended(serve.args(["serve", "--config"]).arg(&file));
        assert!(!good && out.is_empty(), "{out}");
        let name = text.split(' ').next().expect("a name");
        assert!(err.contains(name) && err.contains("server.toml"), "{err}");
    }
    assert_eq!(
        home.holds("data"),
        [""; 0],
        "nothing is made before the settings are read"
    );
}

#[test]
fn a_file_of_settings_that_is_not_there_is_told() {
    let home = Home::new();
    let file = home.path("config/nowhere.toml");
    let mut serve = home.server();
    let (good, _, err) = ended(serve.args(["serve", "--config"]).arg(&file));
    assert!(!good);
    assert!(err.contains("nowhere.toml"), "{err}");
}

#[test]
fn a_bad_log_filter_is_told() {
    let home = Home::new();
    let mut serve = home.server();
    let (good, _, err) = ended(serve.args(["serve", "--listen", "127.0.0.1:0", "--log", "a=b=c"]));
    assert!(!good);
    assert!(err.contains("log:"), "{err}");
}
