//! The entries that are kept on this computer until the server has answered for them, in one file of
//! JSON lines, oldest first. A lock sees to it that two commands at once neither lose an entry nor
//! send it twice. When they are sent, and what an answer means, is decided in `delivery`.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use client::private;
use serde::{Deserialize, Serialize};
use types::Problem;

use crate::entry::Entry;
use crate::failure::Failure;

/// An entry that is kept here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Waiting {
    /// Its idempotency key: however often it is sent, it counts once.
    pub key: String,
    /// The server it is for.
    pub server: String,
    /// When it was entered.
    pub entered_at: DateTime<FixedOffset>,
    /// Whether it may have reached the server already, the answer being lost.
    pub maybe_sent: bool,
    /// The entry itself.
    pub entry: Entry,
}

/// An entry that the server will never take.
#[derive(Serialize)]
struct Refused<'a> {
    at: DateTime<FixedOffset>,
    problem: &'a Problem,
    waiting: &'a Waiting,
}

/// A line that cannot be read, kept as it is.
#[derive(Serialize)]
struct Unreadable<'a> {
    unreadable: &'a str,
}

/// The folder that the entries are kept in.
#[derive(Clone, Debug)]
pub(crate) struct Queue {
    folder: PathBuf,
}

/// The queue, while no other command can touch it.
#[derive(Debug)]
pub(crate) struct LockedQueue {
    folder: PathBuf,
    waiting: Vec<Waiting>,
    /// How many lines could not be read, and were put beside.
    pub unreadable: usize,
    // Closing the file gives the lock back.
    _lock: File,
}

impl Queue {
    pub(crate) fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Whether nothing is kept, as far as can be seen without the lock. An entry that another
    /// command is just adding is that command's to send.
    pub(crate) fn looks_empty(&self) -> bool {
        fs::metadata(self.folder.join("queue.jsonl")).map_or(true, |file| file.len() == 0)
    }

    /// Waits until no other command has the queue, and takes it.
    pub(crate) fn lock(&self) -> Result<LockedQueue, Failure> {
        let path = self.folder.join("lock");
        let lock = private::create_folder(&self.folder)
            .and_then(|()| private::open_to_append(&path))
            .and_then(|file| file.lock().map(|()| file))
            .map_err(|source| Failure::State { path, source })?;
        let folder = self.folder.clone();
        let mut queue = LockedQueue {
            folder,
            waiting: Vec::new(),
            unreadable: 0,
            _lock: lock,
        };
        queue.load()?;
        Ok(queue)
    }
}

impl LockedQueue {
    /// What is kept, oldest first.
    pub(crate) fn waiting(&self) -> &[Waiting] {
        &self.waiting
    }

    /// Where the entries are that the server will never take.
    pub(crate) fn refused_path(&self) -> PathBuf {
        self.folder.join("refused.jsonl")
    }

    /// Keeps an entry. It is on the disk when this returns.
    pub(crate) fn push(&mut self, waiting: Waiting) -> Result<(), Failure> {
        self.waiting.push(waiting);
        self.save()
    }

    /// Forgets an entry: it was answered, or it is taken back.
    pub(crate) fn remove(&mut self, key: &str) -> Result<(), Failure> {
        self.waiting.retain(|waiting| waiting.key != key);
        self.save()
    }

    /// Notes that an entry may have reached the server.
    pub(crate) fn mark_maybe_sent(&mut self, key: &str) -> Result<(), Failure> {
        let found = self.waiting.iter_mut().find(|waiting| waiting.key == key);
        match found {
            Some(waiting) if !waiting.maybe_sent => waiting.maybe_sent = true,
            Some(_) | None => return Ok(()),
        }
        self.save()
    }

    /// Puts an entry that the server will never take beside, with the reason.
    pub(crate) fn refuse(
        &mut self,
        waiting: &Waiting,
        problem: &Problem,
        at: DateTime<FixedOffset>,
    ) -> Result<(), Failure> {
        // First there, then not here: a stop between the two leaves it in both places, not in none.
        self.put_beside(&Refused {
            at,
            problem,
            waiting,
        })?;
        self.remove(&waiting.key)
    }

    fn load(&mut self) -> Result<(), Failure> {
        let path = self.path();
        let text = match fs::read(&path) {
            Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(source) => return Err(Failure::State { path, source }),
        };
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            if let Ok(waiting) = serde_json::from_str(line) {
                self.waiting.push(waiting);
            } else {
                self.put_beside(&Unreadable { unreadable: line })?;
                self.unreadable += 1;
            }
        }
        if self.unreadable > 0 {
            self.save()
        } else {
            Ok(())
        }
    }

    fn save(&self) -> Result<(), Failure> {
        let path = self.path();
        let lines: serde_json::Result<Vec<String>> =
            self.waiting.iter().map(serde_json::to_string).collect();
        let text = lines.map(|lines| {
            lines
                .into_iter()
                .map(|line| line + "\n")
                .collect::<String>()
        });
        text.map_err(io::Error::from)
            .and_then(|text| private::replace(&path, text.as_bytes()))
            .map_err(|source| Failure::State { path, source })
    }

    fn put_beside(&self, line: &impl Serialize) -> Result<(), Failure> {
        let path = self.refused_path();
        append(&path, line).map_err(|source| Failure::State { path, source })
    }

    fn path(&self) -> PathBuf {
        self.folder.join("queue.jsonl")
    }
}

fn append(path: &Path, line: &impl Serialize) -> io::Result<()> {
    let line = serde_json::to_string(line)? + "\n";
    let mut file = private::open_to_append(path)?;
    file.write_all(line.as_bytes())?;
    file.sync_all()
}

#[cfg(test)]
pub(crate) mod tests {
    use types::{NewCount, ProblemKind};

    use super::*;

    pub(crate) fn waiting(key: &str) -> Waiting {
        let count = NewCount {
            part: format!("part-{key}"),
            counted: 3,
            ..NewCount::default()
        };
        Waiting {
            key: key.to_owned(),
            server: "http://bench/".to_owned(),
            entered_at: DateTime::parse_from_rfc3339("2026-05-11T14:02:10-03:00").expect("a time"),
            maybe_sent: false,
            entry: Entry::Count(count),
        }
    }

    pub(crate) fn problem(kind: ProblemKind) -> Problem {
        Problem {
            kind: kind.uri(),
            title: kind.title().to_owned(),
            status: kind.status(),
            detail: "no part of that name".to_owned(),
            instance: "urn:uuid:0".to_owned(),
            violations: Vec::new(),
        }
    }

    pub(crate) fn keys(queue: &LockedQueue) -> Vec<&str> {
        queue
            .waiting()
            .iter()
            .map(|waiting| &*waiting.key)
            .collect()
    }

    #[test]
    fn what_is_kept_is_there_for_the_next_command_in_order() {
        let folder = tempfile::tempdir().expect("a folder");
        let queue = Queue::new(folder.path().join("state"));
        assert!(queue.looks_empty());
        for key in ["a", "b", "c"] {
            queue
                .lock()
                .and_then(|mut queue| queue.push(waiting(key)))
                .expect("it can be kept");
        }
        assert!(!queue.looks_empty());
        let mut locked = queue.lock().expect("it is free");
        assert_eq!(locked.waiting(), [waiting("a"), waiting("b"), waiting("c")]);
        locked.remove("b").expect("it can be written");
        drop(locked);
        assert_eq!(keys(&queue.lock().expect("it is free")), ["a", "c"]);
    }

    #[cfg(unix)]
    #[test]
    fn what_is_kept_is_for_the_owner_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let state = folder.path().join("state");
        let mut locked = Queue::new(state.clone()).lock().expect("it is free");
        locked.push(waiting("a")).expect("it can be kept");
        locked.push(waiting("b")).expect("it can be kept");
        locked
            .refuse(
                &waiting("b"),
                &problem(ProblemKind::NotFound),
                waiting("b").entered_at,
            )
            .expect("it can be written");
        let mode = |path: &Path| {
            fs::metadata(path)
                .expect("it is there")
                .permissions()
                .mode()
                & 0o777
        };
        assert_eq!(mode(&state), 0o700);
        for name in ["queue.jsonl", "refused.jsonl", "lock"] {
            assert_eq!(mode(&state.join(name)), 0o600, "{name}");
        }
    }

    #[test]
    fn a_line_that_cannot_be_read_is_put_beside_and_the_rest_is_kept() {
        let folder = tempfile::tempdir().expect("a folder");
        let queue = Queue::new(folder.path().to_owned());
        queue
            .lock()
            .and_then(|mut queue| queue.push(waiting("a")))
            .expect("it can be kept");
        let path = folder.path().join("queue.jsonl");
        let text = fs::read_to_string(&path).expect("it is there");
        fs::write(&path, format!("{{\"key\": \"torn\n{text}")).expect("it can be written");
        let locked = queue.lock().expect("it is free");
        assert_eq!((keys(&locked), locked.unreadable), (vec!["a"], 1));
        let beside = fs::read_to_string(locked.refused_path()).expect("it is there");
        assert!(beside.contains("torn"), "{beside}");
        drop(locked);
        assert_eq!(
            queue.lock().expect("it is free").unreadable,
            0,
            "it is told once"
        );
    }

    #[test]
    fn commands_at_once_lose_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let queue = Queue::new(folder.path().to_owned());
        std::thread::scope(|scope| {
            for thread in 0..8 {
                let queue = &queue;
                scope.spawn(move || {
                    for turn in 0..5 {
                        let waiting = waiting(&format!("{thread}-{turn}"));
                        queue
                            .lock()
                            .and_then(|mut queue| queue.push(waiting))
                            .expect("it is kept");
                    }
                });
            }
        });
        let locked = queue.lock().expect("it is free");
        let mut kept = keys(&locked);
        kept.sort_unstable();
        kept.dedup();
        assert_eq!(kept.len(), 40);
    }
}
