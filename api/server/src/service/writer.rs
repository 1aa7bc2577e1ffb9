//! The one writer, and its group commit: writes that wait at the same time share one transaction
//! and one flush to disk. Each is answered only after the commit was checked, and what fails in one
//! harms no other, since each task has a savepoint of its own. Entries of the ledger are written as
//! a set (see `ledger`), and one by one only when the set fails.

use std::fmt;
use std::future::Future;
use std::pin::Pin;

use sea_orm::DatabaseTransaction;
use tokio::sync::{mpsc, oneshot};

use super::Error;
use super::ledger::{self, Answer, Request};
use crate::store::{self, Store};

/// A future that is sent between threads.
pub type Boxed<'t, T> = Pin<Box<dyn Future<Output = T> + Send + 't>>;

/// Tells the caller, once it is known whether the commit was good.
type Settle = Box<dyn FnOnce(Result<(), Error>) + Send>;
type Task = Box<dyn for<'t> FnOnce(&'t DatabaseTransaction) -> Boxed<'t, (bool, Settle)> + Send>;

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

/// Where writes go.
#[derive(Clone)]
pub struct Writer {
    queue: mpsc::Sender<Message>,
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
        tokio::spawn(run(store, waiting));
        Self { queue }
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
        let (reply, answer) = oneshot::channel();
        let task: Task = Box::new(move |tx| {
            Box::pin(async move {
                let outcome = work(tx).await;
                let good = outcome.is_ok();
                let settle: Settle = Box::new(move |committed| {
                    // The caller may have gone away; the write stands all the same.
                    let _ = reply.send(committed.and(outcome));
                });
                (good, settle)
            })
        });
        self.queue
            .send(Message::Task(task))
            .await
            .map_err(|_| Error::Unavailable)?;
        answer.await.map_err(|_| Error::Unavailable)?
    }

    /// Records entries of the ledger and gives an answer for each, in their order.
    ///
    /// # Errors
    /// The service stops.
    pub async fn record(&self, requests: Vec<Request>) -> Result<Answers, Error> {
        let (reply, answer) = oneshot::channel();
        self.queue
            .send(Message::Ledger((requests, reply)))
            .await
            .map_err(|_| Error::Unavailable)?;
        answer.await.map_err(|_| Error::Unavailable)
    }
}

async fn run(store: Store, mut waiting: mpsc::Receiver<Message>) {
    loop {
        let mut group = Vec::new();
        if waiting.recv_many(&mut group, GROUP).await == 0 {
            return;
        }
        // A task of its own: should a fault of ours panic, it takes this group down, whose callers
        // are told, and not the writer.
        if let Err(fault) = tokio::spawn(commit_group(store.clone(), group)).await {
            tracing::error!(error = &fault as &dyn std::error::Error, "a group was lost");
        }
    }
}

async fn commit_group(store: Store, group: Vec<Message>) {
    let mut sets = Vec::new();
    let mut tasks = Vec::new();
    for message in group {
        match message {
            Message::Ledger(set) => sets.push(set),
            Message::Task(task) => tasks.push(task),
        }
    }
    let mut settle: Vec<Settle> = Vec::with_capacity(sets.len() + tasks.len());
    let committed = match store.begin().await {
        Err(error) => Err(error),
        Ok(tx) => {
            record_sets(&tx, sets, &mut settle).await;
            for task in tasks {
                settle.push(do_task(&tx, task).await);
            }
            tx.commit().await.map_err(store::Error::from)
        }
    };
    if let Err(error) = &committed {
        tracing::error!(
            error = error as &dyn std::error::Error,
            "a group could not be committed"
        );
    }
    for settle in settle {
        settle(if committed.is_ok() {
            Ok(())
        } else {
            Err(Error::Unavailable)
        });
    }
    // When the transaction could not even begin, dropping the senders tells the callers.
}

async fn do_task(tx: &DatabaseTransaction, task: Task) -> Settle {
    let refused = |error: Error| -> Settle {
        Box::new(move |_| tracing::error!(error = %error, "a savepoint failed"))
    };
    let savepoint = match store::savepoint(tx).await {
        Ok(savepoint) => savepoint,
        Err(error) => return refused(error.into()),
    };
    let (good, settle) = task(&savepoint).await;
    let ended = if good {
        savepoint.commit().await
    } else {
        savepoint.rollback().await
    };
    match ended {
        Ok(()) => settle,
        Err(error) => {
            settle(Err(Error::Unavailable));
            refused(store::Error::from(error).into())
        }
    }
}

async fn record_sets(tx: &DatabaseTransaction, sets: Vec<Set>, settle: &mut Vec<Settle>) {
    let mut requests = Vec::new();
    let mut waiting = Vec::with_capacity(sets.len());
    for (set, reply) in sets {
        waiting.push((set.len(), reply));
        requests.extend(set);
    }
    let mut answers = ledger::record(tx, requests).await.into_iter();
    for (size, reply) in waiting {
        let answers: Vec<_> = answers.by_ref().take(size).collect();
        settle.push(Box::new(move |committed| {
            let answers = match committed {
                Ok(()) => answers,
                Err(_) => answers.iter().map(|_| Err(Error::Unavailable)).collect(),
            };
            let _ = reply.send(answers);
        }));
    }
}
