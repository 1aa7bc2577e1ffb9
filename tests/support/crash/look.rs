//! What is in the database file, read past the server and past its code: each entry by the note that
//! its teller gave it.

use std::collections::HashMap;
use std::path::Path;

use sea_orm::sqlx::sqlite::SqliteConnectOptions;
use sea_orm::sqlx::{self, ConnectOptions, Connection, SqliteConnection};
use uuid::Uuid;

use super::told::Sent;

/// What was found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Looked {
    /// Entries that were acknowledged.
    pub acknowledged: usize,
    /// Of those, the ones that are not there, or under another id than was answered.
    pub lost: usize,
    /// Entries that are there more than once.
    pub doubled: usize,
}

/// Looks into the whole file.
///
/// # Panics
/// It is damaged, something in it was never told, or is there by half.
pub(super) async fn look(file: &Path, sent: &[Sent]) -> Looked {
    let mut db = open(file).await;
    expect_sound(&mut db).await;
    let rows: Vec<(Uuid, String)> =
        sqlx::query_as("SELECT id, note FROM entries WHERE note IS NOT NULL")
            .fetch_all(&mut db)
            .await
            .expect("the entries");
    expect_whole(&mut db, rows.len()).await;
    db.close().await.expect("it closes");
    compare(&rows, sent)
}

/// Looks for what was told in one round only; for a file that has grown large.
///
/// # Panics
/// Something of that round is there that was never told.
pub(super) async fn look_at(file: &Path, round: u32, sent: &[Sent]) -> Looked {
    let begin = format!("{round}-");
    let mut db = open(file).await;
    let rows: Vec<(Uuid, String)> =
        sqlx::query_as("SELECT id, note FROM entries WHERE note GLOB ?")
            .bind(format!("{begin}*"))
            .fetch_all(&mut db)
            .await
            .expect("the entries");
    db.close().await.expect("it closes");
    let theirs: Vec<Sent> = sent
        .iter()
        .rev()
        .take_while(|sent| sent.key.starts_with(&begin))
        .cloned()
        .collect();
    compare(&rows, &theirs)
}

async fn open(file: &Path) -> SqliteConnection {
    SqliteConnectOptions::new()
        .filename(file)
        .connect()
        .await
        .expect("the file opens")
}

fn compare(rows: &[(Uuid, String)], sent: &[Sent]) -> Looked {
    let told: HashMap<&str, &Sent> = sent.iter().map(|sent| (sent.key.as_str(), sent)).collect();
    let mut there: HashMap<&str, Vec<Uuid>> = HashMap::new();
    for (id, note) in rows {
        assert!(told.contains_key(note.as_str()), "{note} was never told");
        there.entry(note).or_default().push(*id);
    }
    let acknowledged = sent.iter().filter(|sent| sent.entry.is_some());
    let is_lost = |sent: &&Sent| {
        let ids = there.get(sent.key.as_str());
        !ids.is_some_and(|ids| sent.entry.is_some_and(|entry| ids.contains(&entry)))
    };
    Looked {
        acknowledged: acknowledged.clone().count(),
        lost: acknowledged.filter(is_lost).count(),
        doubled: there.values().filter(|ids| ids.len() > 1).count(),
    }
}

async fn expect_sound(db: &mut SqliteConnection) {
    let damage: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check")
        .fetch_all(&mut *db)
        .await
        .expect("a verdict");
    assert_eq!(damage, ["ok"]);
    let dangling: i64 = sqlx::query_scalar("SELECT count(*) FROM pragma_foreign_key_check")
        .fetch_one(db)
        .await
        .expect("a number");
    assert_eq!(dangling, 0);
}

/// Every entry that was told has its one row of movements or counts, and its answer.
async fn expect_whole(db: &mut SqliteConnection, entries: usize) {
    let counts = [
        "SELECT count(*) FROM entries JOIN movements ON movements.entry_id = entries.id \
         WHERE note IS NOT NULL",
        "SELECT count(*) FROM entries JOIN counts ON counts.entry_id = entries.id \
         WHERE note IS NOT NULL",
        "SELECT count(*) FROM replies WHERE key IN (SELECT note FROM entries)",
    ];
    let mut found = Vec::new();
    for sql in counts {
        let count: i64 = sqlx::query_scalar(sql)
            .fetch_one(&mut *db)
            .await
            .expect("a number");
        found.push(usize::try_from(count).expect("a count"));
    }
    assert_eq!(found[0] + found[1], entries, "rows of entries");
    assert_eq!(found[2], entries, "answers of entries");
}
