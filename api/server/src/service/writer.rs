//! The one writer, and its group commit: writes that wait at the same time share one transaction
//! and one flush to disk. Each is answered only after the commit was checked, and what fails in one
//! harms no other, since each task has a savepoint of its own. Entries of the ledger are written as
//! a set (see `ledger`), and one by one only when the set fails.

use std::fmt;
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sea_orm::DatabaseTransaction;
use tokio::sync::{Mutex, mpsc, oneshot, watch};

use super::ledger::{self, Answer, Remembered, Request};
use super::{CannotWrite, Error};
use crate::store::{self, Store};

/// A future that is sent between threads.
pub type Boxed<'t, T> = Pin<Box<dyn Future<Output = T> + Send + 't>>;

/// Tells the caller, once the commit was good.
type Settle = Box<dyn FnOnce() + Send>;
type Task = Box<dyn for<'t> FnOnce(&'t DatabaseTransaction) -> Boxed<'t, Done> + Send>;

/// What became of a task: whether what it wrote is to stay, why it could not write, and its caller.
struct Done {
    good: bool,
    why: Option<CannotWrite>,
    settle: Settle,
}

/// Why a group is lost.
struct Lost {
    error: store::Error,
    why: Option<CannotWrite>,
}

impl From<store::Error> for Lost {
    fn from(error: store::Error) -> Self {
        let why = CannotWrite::of(&error);
        Self { error, why }
    }
}

/// How many messages may wait; beyond that, callers wait to be let in.
const QUEUE: usize = 4_096;
/// How many messages share a transaction: enough that the flush costs little for each, few enough
/// that nobody waits long.
const GROUP: usize = 512;

type Answers = Vec<Result<Answer, Error>>;
type Set = (Vec<Request>, oneshot::Sender<Answers>);

enum Message {
    Ledger(Set),
    Task(Task),
}

/// Why the last group could not be written, if the disk or its rights are the reason. It is held while
/// a group is written, so that whoever asks after its failure waits for the answer.
type Trouble = Arc<Mutex<Option<CannotWrite>>>;

/// Where writes go.
#[derive(Clone)]
pub struct Writer {
    queue: mpsc::Sender<Message>,
    trouble: Trouble,
    wrote: watch::Receiver<()>,
    generation: Arc<AtomicU64>,
}

impl fmt::Debug for Writer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Writer")
    }
}

impl Writer {
    /// Starts the writer. It ends when the last handle to it is gone and the queue is empty.
    pub fn start(store: Store) -> Self {
        let (queue, waiting) = mpsc::channel(QUEUE);
        let trouble = Trouble::default();
        let (tells, wrote) = watch::channel(());
        let generation = Arc::default();
        let ends = Ends {
            trouble: Arc::clone(&trouble),
            generation: Arc::clone(&generation),
            remembered: Arc::default(),
        };
        let (others, tells_of_others) = (store.clone(), tells.clone());
        tokio::spawn(async move { others.follow(tells_of_others).await });
        tokio::spawn(run(store, waiting, ends, tells));
        Self {
            queue,
            trouble,
            wrote,
            generation,
        }
    }

    /// How many groups were written so far. It goes up after a commit and before anybody is told of it, so
    /// what was read while it stood still is what an acknowledged write left.
    pub fn generation(&self) -> u64 {
        self.generation.load(Ordering::Acquire)
    }

    /// Changes after every group of writes.
    pub fn wrote(&self) -> watch::Receiver<()> {
        self.wrote.clone()
    }

    /// Why nobody answered.
    async fn unanswered(&self) -> Error {
        let trouble = *self.trouble.lock().await;
        trouble.map_or(Error::Unavailable, Error::from)
    }

    /// Whether writes are taken.
    pub fn is_running(&self) -> bool {
        !self.queue.is_closed()
    }

    /// Does `work` in the write transaction and gives its result after the commit. If it fails,
    /// nothing of it stays.
    ///
    /// # Errors
    /// What `work` failed with, or that the commit failed.
    pub async fn write<T, F>(&self, work: F) -> Result<T, Error>
    where
        T: Send + 'static,
        F: for<'t> FnOnce(&'t DatabaseTransaction) -> Boxed<'t, Result<T, Error>> + Send + 'static,
    {
        self.task(work, true).await
    }

    /// Does `work` and gives its result, but nothing of it stays.
    ///
    /// # Errors
    /// What `work` failed with.
    pub async fn rehearse<T, F>(&self, work: F) -> Result<T, Error>
    where
        T: Send + 'static,
        F: for<'t> FnOnce(&'t DatabaseTransaction) -> Boxed<'t, Result<T, Error>> + Send + 'static,
    {
        self.task(work, false).await
    }

    async fn task<T, F>(&self, work: F, keep: bool) -> Result<T, Error>
    where
        T: Send + 'static,
        F: for<'t> FnOnce(&'t DatabaseTransaction) -> Boxed<'t, Result<T, Error>> + Send + 'static,
    {
        let (reply, answer) = oneshot::channel();
        let task: Task = Box::new(move |tx| {
            Box::pin(async move {
                let outcome = work(tx).await;
                let good = keep && outcome.is_ok();
                let why = match &outcome {
                    Err(Error::CannotWrite { why, .. }) => Some(*why),
                    Ok(_) | Err(_) => None,
                };
                let settle: Settle = Box::new(move || {
                    // The caller may have gone away; the write stands all the same.
                    let _ = reply.send(outcome);
                });
                Done { good, why, settle }
            })
        });
        self.queue
            .send(Message::Task(task))
            .await
            .map_err(|_| Error::Unavailable)?;
        match answer.await {
            Ok(outcome) => outcome,
            Err(_) => Err(self.unanswered().await),
        }
    }

    /// Records entries of the ledger and gives an answer for each, in their order.
    ///
    /// # Errors
    /// The service stops, or nothing can be written.
    pub async fn record(&self, requests: Vec<Request>) -> Result<Answers, Error> {
        let (reply, answer) = oneshot::channel();
        self.queue
            .send(Message::Ledger((requests, reply)))
            .await
            .map_err(|_| Error::Unavailable)?;
        match answer.await {
            Ok(answers) => Ok(answers),
            Err(_) => Err(self.unanswered().await),
        }
    }
}

/// What the end of a group changes.
#[derive(Clone)]
struct Ends {
    trouble: Trouble,
    generation: Arc<AtomicU64>,
    /// What entries of earlier groups named, while nothing else was written.
    remembered: Arc<Mutex<Remembered>>,
}

impl Ends {
    /// What was read before is old, whatever became of the group.
    fn age(&self) {
        self.generation.fetch_add(1, Ordering::AcqRel);
    }
}

async fn run(
    store: Store,
    mut waiting: mpsc::Receiver<Message>,
    ends: Ends,
    tells: watch::Sender<()>,
) {
    loop {
        let mut group = Vec::new();
        if waiting.recv_many(&mut group, GROUP).await == 0 {
            return;
        }
        // A task of its own: should a fault of ours panic, it takes this group down, whose callers
        // are told, and not the writer.
        let written = commit_group(store.clone(), group, ends.clone());
        let outcome = tokio::spawn(written).await;
        if outcome.is_err() {
            ends.age();
            *ends.remembered.lock().await = Remembered::default();
        }
        tells.send_replace(());
        if let Err(fault) = outcome {
            tracing::error!(error = &fault as &dyn std::error::Error, "a group was lost");
            give_up(&store).await;
        }
    }
}

/// Writes a group and tells its callers after the commit. Should it fail, they are told as well:
/// whatever would have told them is dropped.
async fn commit_group(store: Store, group: Vec<Message>, ends: Ends) {
    let mut trouble = ends.trouble.lock().await;
    let mut remembered = ends.remembered.lock().await;
    let is_ledger = group
        .iter()
        .all(|message| matches!(message, Message::Ledger(_)));
    let written = write(&store, group, &mut remembered).await;
    ends.age();
    // A task may have changed anything, a lost group has left nothing, and another process asks nobody.
    if written.is_err() || !is_ledger || !store.is_alone() {
        *remembered = Remembered::default();
    }
    match written {
        Ok(settle) => {
            *trouble = None;
            for settle in settle {
                settle();
            }
        }
        Err(Lost { error, why }) => {
            *trouble = why;
            log(&error);
            give_up(&store).await;
        }
    }
}

async fn write(
    store: &Store,
    group: Vec<Message>,
    remembered: &mut Remembered,
) -> Result<Vec<Settle>, Lost> {
    let tx = store.begin().await?;
    let settle = write_group(&tx, group, remembered).await?;
    tx.commit().await.map_err(store::Error::from)?;
    Ok(settle)
}

fn log(error: &store::Error) {
    tracing::error!(
        error = error as &dyn std::error::Error,
        "a group could not be committed"
    );
}

async fn give_up(store: &Store) {
    if let Err(error) = store.give_up_writing().await {
        log(&error);
    }
}

/// Writes a group; gives what is to be done after the commit.
///
/// # Errors
/// The transaction is lost. What was written in it may be gone, whatever a commit would say.
async fn write_group(
    tx: &DatabaseTransaction,
    group: Vec<Message>,
    remembered: &mut Remembered,
) -> Result<Vec<Settle>, Lost> {
    let (mut sets, mut tasks) = (Vec::new(), Vec::new());
    for message in group {
        match message {
            Message::Ledger(set) => sets.push(set),
            Message::Task(task) => tasks.push(task),
        }
    }
    let mut settle = record_sets(tx, sets, remembered).await?;
    for task in tasks {
        let savepoint = store::savepoint(tx).await?;
        let done = task(&savepoint).await;
        if let Err(error) = store::end(savepoint, done.good).await {
            // A full disk may undo the whole transaction: then that is why there is nothing to end.
            let why = done.why.or_else(|| CannotWrite::of(&error));
            return Err(Lost { error, why });
        }
        settle.push(done.settle);
    }
    Ok(settle)
}

async fn record_sets(
    tx: &DatabaseTransaction,
    sets: Vec<Set>,
    remembered: &mut Remembered,
) -> Result<Vec<Settle>, store::Error> {
    let mut requests = Vec::new();
    let mut waiting = Vec::with_capacity(sets.len());
    for (set, reply) in sets {
        waiting.push((set.len(), reply));
        requests.extend(set);
    }
    let mut answers = ledger::record_with(tx, requests, remembered)
        .await?
        .into_iter();
    let settle = waiting.into_iter().map(|(size, reply)| -> Settle {
        let answers: Answers = answers.by_ref().take(size).collect();
        Box::new(move || {
            // The caller may have gone away; the write stands all the same.
            let _ = reply.send(answers);
        })
    });
    Ok(settle.collect())
}
