//! Sending what is kept, oldest first, each under its own key. An entry is forgotten only after an
//! answer. What the answers mean is decided here; how a person hears of it, in `shop`.

use chrono::{DateTime, FixedOffset};
use client::{Error, is_same_server};
use types::{Problem, ProblemKind};

use crate::entry::{Answer, Sender};
use crate::failure::Failure;
use crate::queue::{LockedQueue, Waiting};

/// What became of the entry of this very command.
#[derive(Debug)]
pub(crate) enum Fate {
    /// The service has it.
    Sent(Box<Answer>),
    /// The service will not take it; it is not kept, since the person is there to hear of it.
    Refused(Error),
    /// It is kept here.
    Kept,
}

/// What became of everything that was kept.
#[derive(Debug, Default)]
pub(crate) struct Report {
    /// Of this command's own entry.
    pub own: Option<Fate>,
    /// What is with the service now, besides the own entry.
    pub sent: Vec<(Waiting, Answer)>,
    /// What the service will never take.
    pub refused: Vec<(Waiting, Box<Problem>)>,
    /// What still waits for this server, besides the own entry.
    pub waiting: usize,
    /// What waits for other servers.
    pub elsewhere: usize,
    /// Why something still waits.
    pub hindrance: Option<Error>,
}

/// What an error means for the entry that was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Verdict {
    /// The service will never take it as it is.
    Never,
    /// Not with this key; others may be taken.
    NotWithThisKey,
    /// No entry is taken without a key that works.
    NoKey,
    /// The service is not there; try again another time.
    Later,
}

/// Sends what is kept for `server`. `own` is the key of the entry of this command, if it has one.
pub(crate) async fn deliver(
    queue: &mut LockedQueue,
    server: &str,
    sender: &impl Sender,
    own: Option<&str>,
    now: DateTime<FixedOffset>,
) -> Result<Report, Failure> {
    let mut report = Report::default();
    let mut has_key = true;
    for waiting in queue.waiting().to_vec() {
        let is_own = own == Some(&*waiting.key);
        if !is_same_server(&waiting.server, server) || !(has_key || is_own) {
            continue;
        }
        let error = match sender.send(&waiting.entry, &waiting.key).await {
            Ok(answer) => {
                queue.remove(&waiting.key)?;
                if is_own {
                    report.own = Some(Fate::Sent(Box::new(answer)));
                } else {
                    report.sent.push((waiting, answer));
                }
                continue;
            }
            Err(error) => error,
        };
        match (verdict(&error), error) {
            (Verdict::Later, error) => {
                if !error.is_unsent() {
                    queue.mark_maybe_sent(&waiting.key)?;
                }
                report.hindrance = Some(error);
                break;
            }
            (_, error) if is_own => {
                queue.remove(&waiting.key)?;
                report.own = Some(Fate::Refused(error));
            }
            (Verdict::Never, Error::Problem(problem)) => {
                queue.refuse(&waiting, &problem, now)?;
                report.refused.push((waiting, problem));
            }
            (verdict, error) => {
                has_key = verdict != Verdict::NoKey;
                report.hindrance = Some(error);
            }
        }
    }
    report.count(queue, server, own);
    Ok(report)
}

impl Report {
    fn count(&mut self, queue: &LockedQueue, server: &str, own: Option<&str>) {
        for waiting in queue.waiting() {
            if own == Some(&*waiting.key) {
                self.own = Some(Fate::Kept);
            } else if is_same_server(&waiting.server, server) {
                self.waiting += 1;
            } else {
                self.elsewhere += 1;
            }
        }
    }
}

fn verdict(error: &Error) -> Verdict {
    match error {
        Error::Problem(_) if error.is(ProblemKind::Unauthenticated) => Verdict::NoKey,
        Error::Problem(_) if error.is(ProblemKind::Forbidden) => Verdict::NotWithThisKey,
        Error::Problem(problem) if problem.status < 500 => Verdict::Never,
        // A name that no address can carry never leaves this computer.
        Error::Name(_) | Error::Address { .. } | Error::Key => Verdict::NotWithThisKey,
        Error::Problem(_)
        | Error::Transport(_)
        | Error::KeptAside(_)
        | Error::Unexpected { .. } => Verdict::Later,
    }
}

#[cfg(test)]
mod tests;
