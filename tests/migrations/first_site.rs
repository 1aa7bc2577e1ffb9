//! What is there before anybody set anything up: one site, the usual seats, and nothing else.

use migrations::{Migrator, MigratorTrait};
use tigstock_tests::database::Scratch;

use crate::schema::{connect, rows, tables};

#[tokio::test(flavor = "multi_thread")]
async fn a_fresh_database_has_one_site_the_usual_seats_and_no_other_row() {
    let scratch = Scratch::empty().await;
    let db = connect(&scratch).await;
    Migrator::up(&db, None).await.expect("it goes up");
    for table in tables(&db).await {
        let count = rows(&db, format!("SELECT count(*) AS n FROM {table}")).await;
        let count: i64 = count[0].try_get("", "n").expect("a number");
        let expected = match table.as_str() {
            "sites" => 1,
            "seats" => 36,
            _ => 0,
        };
        assert_eq!(count, expected, "{table}");
    }
    let site = rows(
        &db,
        "SELECT code, code_key, zone, version FROM sites".to_owned(),
    )
    .await;
    let text = |column: &str| -> String { site[0].try_get("", column).expect("a text") };
    assert_eq!(text("code"), types::DEFAULT_SITE);
    assert_eq!(text("code_key"), types::DEFAULT_SITE);
    assert_eq!(text("zone"), "Etc/UTC");
    let version: i64 = site[0].try_get("", "version").expect("a number");
    assert_eq!(version, 1);
}
