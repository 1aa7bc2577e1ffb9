//! Backup and restore by the real program: taken while it serves, whole, never over a file that is
//! there, and put back only if it is sound.

use std::path::{Path, PathBuf};
use std::process::Command;

use sea_orm::sqlx::sqlite::SqliteConnectOptions;
use sea_orm::sqlx::{self, ConnectOptions, Connection};
use tigstock_tests::crash::{Dice, Told, Yard};
use tigstock_tests::programs::{Serving, ended};

/// A command of the server on the database of the yard.
fn on(yard: &Yard, words: &[&str], path: &Path) -> Command {
    let mut command = yard.home.server();
    command
        .args(words)
        .arg(path)
        .arg("--database")
        .arg(yard.database());
    command
}

/// Tells so many entries under keys that begin with a word.
async fn tell(yard: &mut Yard, serving: &Serving, word: &str, entries: usize) {
    let client = yard.client(serving);
    let mut dice = Dice::new(7);
    for number in 0..entries {
        let key = format!("{word}-{number}");
        let told = Told::any(&mut dice, &key);
        let entry = told.tell(&client, &key).await.expect("it is taken");
        yard.sent.push(tigstock_tests::crash::Sent {
            key,
            told,
            entry: Some(entry),
            refusal: None,
        });
    }
}

/// The notes of the entries in a file.
async fn notes(file: &Path) -> Vec<String> {
    let mut db = SqliteConnectOptions::new()
        .filename(file)
        .connect()
        .await
        .expect("it opens");
    let sql = "SELECT note FROM entries WHERE note IS NOT NULL ORDER BY id";
    let notes = sqlx::query_scalar(sql).fetch_all(&mut db).await;
    db.close().await.expect("it closes");
    notes.expect("the entries")
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> = entries
        .map(|it| it.expect("an entry").file_name())
        .map(|it| it.to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// The file that a restore has kept.
fn kept(yard: &Yard) -> PathBuf {
    let folder = yard.home.path("data");
    let name = names_in(&folder)
        .into_iter()
        .find(|name| name.starts_with("shop.db.until-"));
    folder.join(name.expect("the database that was there"))
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_taken_while_it_serves_is_what_a_restore_brings_back() {
    let (mut yard, serving) = Yard::open().await;
    tell(&mut yard, &serving, "before", 9).await;
    let file = yard.home.path("work/backup.db");
    let (good, out, err) = ended(&mut on(&yard, &["backup"], &file));
    assert!(good, "{err}");
    assert!(
        out.contains("backup.db: ") && out.contains(" kB, 9 entries, the newest of 20"),
        "{out}"
    );
    assert_eq!(names_in(&yard.home.path("work")), ["backup.db"]);
    tell(&mut yard, &serving, "after", 3).await;
    assert!(serving.stop().0, "it ends well");
    let (good, out, err) = ended(&mut on(&yard, &["restore"], &file));
    assert!(good, "{err}");
    let kept = kept(&yard);
    assert!(
        out.contains("9 entries") && out.contains(&kept.display().to_string()),
        "{out}"
    );
    let restored = notes(&yard.database()).await;
    assert_eq!(restored.len(), 9);
    assert!(
        restored.iter().all(|note| note.starts_with("before")),
        "{restored:?}"
    );
    assert_eq!(notes(&kept).await.len(), 12);
    yard.rebuild();
    // It is served again, and takes what is told: a repeat of what it has, and what it lost anew.
    let serving = Serving::start(&mut yard.serve());
    let client = yard.client(&serving);
    for sent in &yard.sent {
        let entry = sent
            .told
            .tell(&client, &sent.key)
            .await
            .expect("it is taken");
        let same = Some(entry) == sent.entry;
        assert_eq!(same, sent.key.starts_with("before"), "{}", sent.key);
    }
    assert!(serving.stop().0, "it ends well");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_in_the_middle_of_many_writes_is_sound_and_holds_what_came_before() {
    let (mut yard, serving) = Yard::open().await;
    tell(&mut yard, &serving, "before", 20).await;
    let files: Vec<PathBuf> = (0..4)
        .map(|number| yard.home.path(&format!("work/{number}.db")))
        .collect();
    let mut taking: Vec<Command> = files
        .iter()
        .map(|file| on(&yard, &["backup"], file))
        .collect();
    let mut dice = Dice::new(3);
    let load = yard.load(serving, (1, &mut dice), async |serving: Serving| {
        let taken = tokio::task::spawn_blocking(move || taking.iter_mut().map(ended).collect());
        let taken: Vec<_> = taken.await.expect("it ends");
        for (good, _, err) in taken {
            assert!(good, "{err}");
        }
        serving.kill();
    });
    load.await;
    let mut before = 20;
    for file in &files {
        let notes = notes(file).await;
        assert!(
            notes.len() >= before,
            "{} entries after {before}",
            notes.len()
        );
        before = notes.len();
        let (good, _, err) = ended(&mut on(&yard, &["restore"], file));
        assert!(good, "{err}");
        yard.rebuild();
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_written_over() {
    let (yard, serving) = Yard::open().await;
    let file = yard.home.path("work/backup.db");
    std::fs::write(&file, "something else").expect("a file");
    for path in [file.clone(), yard.database()] {
        let (good, out, err) = ended(&mut on(&yard, &["backup"], &path));
        assert!(!good && out.is_empty(), "{out}");
        assert!(err.contains("never written over"), "{err}");
    }
    assert_eq!(std::fs::read(&file).expect("the file"), b"something else");
    assert!(serving.stop().0, "it ends well");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_that_is_not_sound_is_not_restored_and_the_database_stays() {
    let (mut yard, serving) = Yard::open().await;
    tell(&mut yard, &serving, "before", 5).await;
    let good = yard.home.path("work/good.db");
    assert!(ended(&mut on(&yard, &["backup"], &good)).0);
    assert!(serving.stop().0, "it ends well");
    let sound = std::fs::read(&good).expect("the backup");
    let bad = yard.home.path("work/bad.db");
    let cut = &sound[..sound.len() / 2];
    let mut scrambled = sound.clone();
    // The second page and all after it, up to the last ones.
    for byte in &mut scrambled[4096..sound.len() / 2] {
        *byte = 0xa5;
    }
    for (bytes, words) in [
        (&b""[..], "empty"),
        (
            b"text, and not a database at all",
            "cannot be read as a database",
        ),
        (cut, "cannot be restored"),
        (&scrambled, "cannot be restored"),
    ] {
        std::fs::write(&bad, bytes).expect("a file");
        let (good, out, err) = ended(&mut on(&yard, &["restore"], &bad));
        assert!(!good && out.is_empty(), "{out}");
        assert!(err.contains(words) && err.contains("bad.db"), "{err}");
    }
    for (sql, words) in [
        (
            "UPDATE torches SET site_id = 99",
            "refer to rows that are not there",
        ),
        (
            "INSERT INTO seaql_migrations VALUES ('m99991231_000001_later', 0)",
            "newer version",
        ),
        ("DROP TABLE seaql_migrations", "not one of tigstock"),
    ] {
        std::fs::write(&bad, &sound).expect("a file");
        let options = SqliteConnectOptions::new()
            .filename(&bad)
            .foreign_keys(false);
        let mut db = options.connect().await.expect("it opens");
        sqlx::query(sql)
            .execute(&mut db)
            .await
            .expect("it is harmed");
        db.close().await.expect("it closes");
        let (good, _, err) = ended(&mut on(&yard, &["restore"], &bad));
        assert!(!good && err.contains(words), "{err}");
    }
    assert_eq!(
        names_in(&yard.home.path("data")),
        ["shop.db", "shop.db.lock"]
    );
    assert_eq!(notes(&yard.database()).await.len(), 5);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_copy_of_the_files_brings_the_log_that_lies_beside_it() {
    let (mut yard, serving) = Yard::open().await;
    tell(&mut yard, &serving, "before", 6).await;
    serving.kill();
    let copy = yard.home.path("work/copy.db");
    for ending in ["", "-wal"] {
        let from = format!("{}{ending}", yard.database().display());
        std::fs::copy(from, format!("{}{ending}", copy.display())).expect("a copy");
    }
    let (good, out, err) = ended(&mut on(&yard, &["restore"], &copy));
    assert!(good && out.contains("6 entries"), "{out}{err}");
    assert_eq!(notes(&yard.database()).await.len(), 6);
    // What was set aside is whole as well: its log was folded in.
    assert_eq!(notes(&kept(&yard)).await.len(), 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_is_one_file_and_restored_where_nothing_was() {
    let (mut yard, serving) = Yard::open().await;
    tell(&mut yard, &serving, "before", 2).await;
    let file = yard.home.path("work/backup.db");
    assert!(ended(&mut on(&yard, &["backup"], &file)).0);
    assert!(serving.stop().0, "it ends well");
    let mut restore = yard.home.server();
    let elsewhere = yard.home.path("data/new/shop.db");
    restore
        .arg("restore")
        .arg(&file)
        .arg("--database")
        .arg(&elsewhere);
    let (good, out, err) = ended(&mut restore);
    assert!(
        good && out.contains("There was no database before."),
        "{out}{err}"
    );
    assert_eq!(notes(&elsewhere).await.len(), 2);
    // It does not need a log of its own.
    let options = SqliteConnectOptions::new().filename(&file).read_only(true);
    let mut db = options.connect().await.expect("it opens");
    let mode: String = sqlx::query_scalar("PRAGMA journal_mode")
        .fetch_one(&mut db)
        .await
        .expect("a mode");
    assert_ne!(mode, "wal");
    db.close().await.expect("it closes");
}
