//! The shop as one command sees it: the service, the site, the surroundings, the printer, and what
//! is kept on this computer. Here an entry is recorded, and what waits is sent.

use std::path::PathBuf;

use client::profile::Profile;
use client::{Client, Error, SERVER_DEFAULT, is_same_server};
use serde::Serialize;
use types::ProblemKind;
use uuid::Uuid;

use crate::args::Global;
use crate::delivery::{Fate, Report, deliver};
use crate::entry::{Answer, Entry};
use crate::env::Env;
use crate::failure::{Failure, exit};
use crate::last::Last;
use crate::output::Output;
use crate::queue::{Queue, Waiting};
use crate::sheet::{Cell, Sheet};

/// The shop as one command sees it.
pub(crate) struct Shop<'a, 'o> {
    pub client: Client,
    pub site: Option<String>,
    pub env: &'a mut Env,
    pub output: &'a mut Output<'o>,
}

/// The answer to an entry that is kept here.
#[derive(Serialize)]
struct KeptHere<'a> {
    kept: bool,
    waiting: usize,
    idempotency_key: &'a str,
    says: &'a str,
}

impl<'a, 'o> Shop<'a, 'o> {
    /// Finds out which service is meant, and with which key. Nothing is sent yet.
    pub(crate) fn open(
        global: Global,
        output: &'a mut Output<'o>,
        env: &'a mut Env,
    ) -> Result<Self, Failure> {
        let server = global.server.or_else(|| env.server.clone());
        let key = global.key.or_else(|| env.key.clone());
        let profile = match &env.profile {
            Some(path) if server.is_none() || key.is_none() => Profile::load(path)?,
            Some(_) | None => None,
        };
        let at_home = profile
            .as_ref()
            .map_or(SERVER_DEFAULT, |profile| &profile.server);
        let server = server.unwrap_or_else(|| at_home.to_owned());
        // A key is shown to its own server and to no other.
        let own_key = profile.filter(|profile| is_same_server(&profile.server, &server));
        let client = Client::new(&server, key.or_else(|| own_key.map(|profile| profile.key)))?;
        Ok(Self {
            client,
            site: global.site,
            env,
            output,
        })
    }

    /// The folder for what is kept between commands.
    pub(crate) fn folder(&self) -> Result<PathBuf, Failure> {
        self.env.state.clone().ok_or_else(|| {
            Failure::CommandLine(
                "there is no folder for data here; name one in TIGSTOCK_STATE".into(),
            )
        })
    }

    /// Records an entry: keeps it first, then sends it after everything that waits. It is forgotten
    /// here when the service has answered for it.
    pub(crate) async fn record(&mut self, entry: Entry) -> Result<u8, Failure> {
        entry.check()?;
        let folder = self.folder()?;
        let key = Uuid::now_v7().to_string();
        let mut queue = Queue::new(folder.clone()).lock()?;
        queue.push(Waiting {
            key: key.clone(),
            server: self.client.server().to_owned(),
            entered_at: self.env.now,
            maybe_sent: false,
            entry: entry.clone(),
        })?;
        let server = self.client.server();
        let report = deliver(&mut queue, server, &self.client, Some(&key), self.env.now).await?;
        self.remember(&report)?;
        self.tell_beside(queue.unreadable, &report, &queue.refused_path());
        match &report.own {
            Some(Fate::Refused(_)) => {}
            Some(Fate::Sent(answer)) => Last::recorded(&key, &entry, answer).save(&folder)?,
            Some(Fate::Kept) | None => Last::kept(&key, &entry).save(&folder)?,
        }
        drop(queue);
        match report.own {
            Some(Fate::Refused(error)) => return Err(error.into()),
            Some(Fate::Sent(answer)) => answer.show(self.output),
            Some(Fate::Kept) | None => {
                self.tell_kept(&key, report.waiting + 1, report.hindrance.as_ref());
            }
        }
        Ok(exit::DONE)
    }

    /// Sends what waits, and tells what became of it. Every command begins with it.
    ///
    /// # Errors
    /// The service could not be reached, so that this command need not try it again.
    pub(crate) async fn send_waiting(&mut self) -> Result<(), Failure> {
        let Some(folder) = self.env.state.clone() else {
            return Ok(());
        };
        let queue = Queue::new(folder);
        if queue.looks_empty() {
            return Ok(());
        }
        let mut queue = queue.lock()?;
        let server = self.client.server();
        let report = deliver(&mut queue, server, &self.client, None, self.env.now).await?;
        self.remember(&report)?;
        self.tell_beside(queue.unreadable, &report, &queue.refused_path());
        self.tell_waiting(&report);
        match report.hindrance {
            Some(error) if error.is_unreachable() => Err(error.into()),
            Some(_) | None => Ok(()),
        }
    }

    /// If the last entry was among those that waited, its name is known now.
    fn remember(&self, report: &Report) -> Result<(), Failure> {
        let folder = self.folder()?;
        let Some(last) = Last::load(&folder)? else {
            return Ok(());
        };
        let sent = report
            .sent
            .iter()
            .find(|(waiting, _)| waiting.key == last.key());
        sent.map_or(Ok(()), |(waiting, answer)| {
            Last::recorded(&waiting.key, &waiting.entry, answer).save(&folder)
        })
    }

    /// Tells what became of the entries of earlier commands.
    fn tell_beside(&mut self, unreadable: usize, report: &Report, refused_path: &std::path::Path) {
        let path = refused_path.display();
        for (waiting, answer) in &report.sent {
            let cautions = match answer {
                Answer::Recorded(recorded) => &*recorded.cautions,
                Answer::Counted(_) | Answer::Arrived(_) | Answer::KeptAside(_) => &[],
            };
            self.output.note(&format!(
                "Sent, it was kept here: {}.",
                waiting.entry.describe()
            ));
            if let Answer::KeptAside(aside) = answer {
                self.output.note(&format!("  {}", aside.says));
            }
            for caution in cautions {
                self.output.caution(caution);
            }
        }
        for (waiting, problem) in &report.refused {
            self.output.note(&format!(
                "Refused, it was kept here: {} ({}). {}: {}",
                waiting.entry.describe(),
                waiting.entered_at.format("%-d %b %H:%M"),
                problem.title,
                problem.detail,
            ));
            for violation in &problem.violations {
                let field = violation.pointer.trim_start_matches('/');
                self.output
                    .note(&format!("  {field}: {}", violation.detail));
            }
            self.output.note(&format!(
                "  It is in {path}. Put right what is wrong and enter it again."
            ));
        }
        if unreadable > 0 {
            let lines = if unreadable == 1 {
                "1 line"
            } else {
                "Some lines"
            };
            self.output.note(&format!(
                "{lines} of the queue could not be read: see {path}."
            ));
        }
        if report.elsewhere > 0 {
            let entries = entries(report.elsewhere);
            self.output.note(&format!(
                "{entries} for another server: give it with --server to send."
            ));
        }
    }

    /// Tells why entries of earlier commands still wait.
    fn tell_waiting(&mut self, report: &Report) {
        let (Some(error), 1..) = (&report.hindrance, report.waiting) else {
            return;
        };
        let entries = entries(report.waiting);
        // Where nothing answers, the command itself fails for that reason, and says so.
        let why = if error.is_unreachable() {
            String::new()
        } else if error.is(ProblemKind::Unauthenticated) {
            ": a key is needed; give it with --key or TIGSTOCK_KEY".to_owned()
        } else {
            format!(": {error}")
        };
        self.output
            .note(&format!("{entries}{}.", why.trim_end_matches('.')));
    }

    fn tell_kept(&mut self, key: &str, waiting: usize, hindrance: Option<&Error>) {
        let why = match hindrance {
            Some(Error::Unexpected { .. }) if !hindrance.is_some_and(Error::is_unreachable) => {
                "What answers is not the service"
            }
            Some(Error::Problem(_)) => "The service could not do it now",
            Some(_) | None => "Server not reachable",
        };
        let is_sent = if waiting == 1 { "It is" } else { "They are" };
        let entries = entries(waiting);
        let says = format!("{why}: kept here, {entries}. {is_sent} sent with your next command.");
        let mut sheet = Sheet::new([("kept", ""), ("waiting", ""), ("idempotency_key", "")]);
        let count = i64::try_from(waiting).map_or(Cell::Nothing, Cell::Whole);
        sheet.push([Cell::from("true"), count, Cell::from(key)]);
        let kept = KeptHere {
            kept: true,
            waiting,
            idempotency_key: key,
            says: &says,
        };
        self.output.show_said(&kept, &says, &sheet);
    }
}

fn entries(count: usize) -> String {
    if count == 1 {
        "1 entry waiting".to_owned()
    } else {
        format!("{count} entries waiting")
    }
}
