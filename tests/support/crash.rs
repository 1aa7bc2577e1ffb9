//! The crash test: the real server under load from many clients, killed at random moments. Whatever
//! was acknowledged must be there exactly once, and what was not can be told again. Which moments,
//! and what is told, follows from a seed.

use std::fmt;
use std::path::PathBuf;
use std::time::Duration;

use client::Client;
use tokio::task::JoinSet;

use crate::programs::{Home, Serving, ended};

pub mod dice;
pub mod disk;
mod look;
mod shop;
mod told;

pub use dice::Dice;
pub use look::Looked;
pub use told::{Sent, Told};

/// Clients that tell at once.
const CLIENTS: u64 = 12;
/// A kill comes at most so late after the load begins.
const LATEST_MILLIS: u64 = 80;
/// One in so many kills comes while the server starts.
const WHILE_STARTING: u64 = 8;
/// After so many kills everything is looked at and computed anew, and a line says how far it is.
const STEP: u32 = 10;
/// So many kills are each followed by a look at everything; later that would take too long.
const CLOSELY: u32 = 60;
/// Acknowledged entries that are told again after each kill.
const REPEATS: usize = 5;

/// What came of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// How often the server was killed.
    pub kills: u32,
    /// Entries that were acknowledged.
    pub acknowledged: usize,
    /// Of those, the ones that are not there.
    pub lost: usize,
    /// Entries that are there more than once.
    pub doubled: usize,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "kills {} acknowledged {} lost {} doubled {}",
            self.kills, self.acknowledged, self.lost, self.doubled
        )
    }
}

impl Outcome {
    /// Takes in what was found; whether it was found by a look at everything.
    fn add(&mut self, looked: Looked, everything: bool) {
        self.lost = self.lost.max(looked.lost);
        self.doubled = self.doubled.max(looked.doubled);
        if everything {
            self.acknowledged = looked.acknowledged;
        }
    }
}

/// A server that can be killed and started again over the same database.
#[derive(Debug)]
pub struct Yard {
    /// Where everything is.
    pub home: Home,
    /// The owner's key.
    pub key: String,
    /// Everything that was told.
    pub sent: Vec<Sent>,
}

impl Yard {
    /// A shop that is set up, served by the real program; and the running server.
    pub async fn open() -> (Self, Serving) {
        let home = Home::new();
        let serving = Serving::start(&mut serve(&home));
        let key = home.owners_key();
        let yard = Self {
            home,
            key,
            sent: Vec::new(),
        };
        shop::set_up(&yard.client(&serving)).await;
        (yard, serving)
    }

    /// The database file.
    pub fn database(&self) -> PathBuf {
        self.home.path("data/shop.db")
    }

    /// The command that serves it.
    pub fn serve(&self) -> std::process::Command {
        serve(&self.home)
    }

    /// A client with the owner's key.
    pub fn client(&self, serving: &Serving) -> Client {
        Client::new(&serving.url, Some(self.key.clone())).expect("a client")
    }

    /// Lets many clients tell the server until each of them has met a failure, while `meanwhile` runs.
    ///
    /// # Panics
    /// A client was refused for another reason than that the service is away or cannot write.
    pub async fn load(
        &mut self,
        serving: Serving,
        (round, dice): (u32, &mut Dice),
        meanwhile: impl AsyncFnOnce(Serving),
    ) {
        let mut clients = JoinSet::new();
        for number in 0..CLIENTS {
            let client = self.client(&serving);
            let dice = dice.another();
            clients.spawn(told::tell_on(client, dice, format!("{round}-{number}")));
        }
        meanwhile(serving).await;
        while let Some(sent) = clients.join_next().await {
            self.sent.extend(sent.expect("a client ends well"));
        }
    }

    /// Tells everything again that was not acknowledged, and some of what was: each is taken, and a
    /// repeat gets the answer of the first time.
    pub async fn tell_again(&mut self, serving: &Serving, dice: &mut Dice) {
        let client = self.client(serving);
        for sent in self.sent.iter_mut().filter(|sent| sent.entry.is_none()) {
            let entry = sent.told.tell(&client, &sent.key).await;
            sent.entry = Some(entry.expect("it is taken now"));
        }
        for _ in 0..REPEATS.min(self.sent.len()) {
            let sent = &self.sent[dice.below(self.sent.len())];
            let entry = sent.told.tell(&client, &sent.key).await;
            assert_eq!(entry.ok(), sent.entry, "a repeat of {sent:?}");
        }
    }

    /// Looks into the database file, past the server, and compares with all that was told, or with
    /// what was told in the last round.
    pub async fn look(&self, round: u32, closely: bool) -> Looked {
        if closely {
            self.look_at_all().await
        } else {
            look::look_at(&self.database(), round, &self.sent).await
        }
    }

    /// Looks into the database file, past the server, and compares with all that was told.
    pub async fn look_at_all(&self) -> Looked {
        look::look(&self.database(), &self.sent).await
    }

    /// Has all levels computed anew by the program, with the server stopped.
    ///
    /// # Panics
    /// One of them was wrong.
    pub fn rebuild(&self) {
        let mut rebuild = self.home.server();
        let (good, out, err) = ended(rebuild.args(["rebuild", "--database"]).arg(self.database()));
        assert!(good, "{err}");
        assert_eq!(out.matches(" 0 of them were wrong").count(), 2, "{out}");
    }
}

fn serve(home: &Home) -> std::process::Command {
    let mut command = home.server();
    command
        .args(["serve", "--listen", "127.0.0.1:0", "--database"])
        .arg(home.path("data/shop.db"));
    command
}

/// Kills the server so many times. `say` is told how far it is.
///
/// # Panics
/// Something is there that nobody told, half of an entry is, a level is wrong, or the file is damaged.
pub async fn run(kills: u32, seed: u64, mut say: impl FnMut(&str)) -> Outcome {
    let mut dice = Dice::new(seed);
    let (mut yard, mut serving) = Yard::open().await;
    let mut outcome = Outcome::default();
    for kill in 1..=kills {
        let late = Duration::from_millis(dice.up_to(LATEST_MILLIS));
        let load = yard.load(serving, (kill, &mut dice), async |serving: Serving| {
            tokio::time::sleep(late).await;
            serving.kill();
        });
        load.await;
        if dice.up_to(WHILE_STARTING - 1) == 0 {
            kill_while_starting(&yard, &mut dice).await;
        }
        let step = kill % STEP == 0 || kill == kills;
        let closely = step || kill <= CLOSELY;
        // What was acknowledged before the kill must be there now, before anything is told again.
        outcome.add(yard.look(kill, closely).await, false);
        if step {
            yard.rebuild();
        }
        serving = Serving::start(&mut yard.serve());
        yard.tell_again(&serving, &mut dice).await;
        outcome.add(yard.look(kill, closely).await, closely);
        outcome.kills = kill;
        if step {
            say(&outcome.to_string());
        }
    }
    assert!(serving.stop().0, "it ends well");
    yard.rebuild();
    outcome
}

/// Kills a server before it serves.
async fn kill_while_starting(yard: &Yard, dice: &mut Dice) {
    let mut starting = yard
        .serve()
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("it starts");
    tokio::time::sleep(Duration::from_millis(dice.up_to(LATEST_MILLIS))).await;
    starting.kill().expect("it is ours");
    starting.wait().expect("it is ours");
}
