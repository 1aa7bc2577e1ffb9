//! A disk that is full, and a file that may only be read: nothing is acknowledged that is not there,
//! the service says what to do, and goes on when it can.

use std::path::Path;
use std::process::Command;

use types::ListStock;

use super::{Dice, Yard};
use crate::programs::{Home, Serving, ended};

/// How large a file may grow, in blocks of 512 bytes (POSIX); some shells take blocks of 1024. It is
/// more than the database of the shop has, and less than its log grows to.
const BLOCKS: u32 = 2_048;
/// An account that is nobody's, for a test that runs as root, whom no file right stops.
const NOBODY: u32 = 65_534;

/// Tells a server until its files may not grow any more, makes room, and tells the rest.
///
/// # Panics
/// Something acknowledged is lost, doubled, or the service does not say what to do.
pub async fn without_room(seed: u64, say: impl Fn(&str)) {
    if !cfg!(target_os = "linux") || Command::new("prlimit").arg("--version").output().is_err() {
        say("SKIPPED the full disk: it needs prlimit (util-linux) on Linux");
        return;
    }
    let (mut yard, serving) = Yard::open().await;
    assert!(serving.stop().0, "it ends well");
    let mut dice = Dice::new(seed);
    let mut limited = yard.home.command(Path::new("sh"));
    let script = "trap '' XFSZ; ulimit -S -f \"$0\"; exec \"$@\"";
    let serve = yard.serve();
    limited
        .args(["-c", script, &BLOCKS.to_string()])
        .arg(serve.get_program())
        .args(serve.get_args())
        .env("PATH", "/usr/bin:/bin");
    let mut kept = None;
    let load = yard.load(Serving::start(&mut limited), (0, &mut dice), async |it| {
        kept = Some(it);
    });
    load.await;
    let serving = kept.expect("it serves");
    let refused = yard.sent.iter().filter_map(|sent| sent.refusal.as_ref());
    let refused: Vec<&String> = refused.collect();
    assert!(!refused.is_empty(), "the disk never was full");
    for refusal in &refused {
        assert!(refusal.contains("Make room"), "{refusal}");
    }
    let looked = yard.look_at_all().await;
    assert!(looked.acknowledged > 0, "nothing was taken before");
    assert_eq!((looked.lost, looked.doubled), (0, 0));
    let reading = yard
        .client(&serving)
        .list_stock(&ListStock::default())
        .await;
    assert!(!reading.expect("it is still read").stock.is_empty());
    let limit = Command::new("prlimit")
        .args(["--pid", &serving.id(), "--fsize=unlimited"])
        .status();
    assert!(limit.expect("prlimit starts").success());
    say(&format!(
        "full disk: {} acknowledged, {} refused, and room again",
        looked.acknowledged,
        refused.len()
    ));
    // The same server, without a new start.
    yard.tell_again(&serving, &mut dice).await;
    assert!(serving.stop().0, "it ends well");
    let looked = yard.look_at_all().await;
    assert_eq!((looked.lost, looked.doubled), (0, 0));
    assert_eq!(looked.acknowledged, yard.sent.len());
    yard.rebuild();
}

/// Starts a server over a file that may only be read, and again when it may be written.
///
/// # Panics
/// It starts all the same, does not say what to do, or changes the file.
#[cfg(unix)]
pub async fn read_only(say: impl Fn(&str)) {
    let (yard, serving) = Yard::open().await;
    assert!(serving.stop().0, "it ends well");
    let database = yard.database();
    let Some(account) = Account::of(&yard.home) else {
        say("SKIPPED the file that may only be read: no account can be stopped by its rights");
        return;
    };
    let before = std::fs::read(&database).expect("the file");
    set_mode(&database, 0o444);
    let (good, _, err) = ended(&mut account.as_it(&yard.serve(), &yard.home));
    assert!(!good, "it serves");
    assert!(
        err.contains("shop.db") && err.contains("let the account"),
        "{err}"
    );
    assert!(
        std::fs::read(&database).expect("the file") == before,
        "it was changed"
    );
    set_mode(&database, 0o644);
    let serving = Serving::start(&mut account.as_it(&yard.serve(), &yard.home));
    let mut dice = Dice::new(1);
    let mut yard = yard;
    let load = yard.load(serving, (0, &mut dice), async |serving: Serving| {
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        serving.kill();
    });
    load.await;
    let looked = yard.look_at_all().await;
    assert_eq!((looked.lost, looked.doubled), (0, 0));
    say("read-only file: refused with the reason, unchanged, and served again afterwards");
}

#[cfg(unix)]
fn set_mode(file: &Path, mode: u32) {
    let mode = std::os::unix::fs::PermissionsExt::from_mode(mode);
    std::fs::set_permissions(file, mode).expect("the rights are set");
}

/// Who runs the server.
#[cfg(unix)]
enum Account {
    /// Whoever runs the test.
    Own,
    /// Nobody, since the test runs as root; with a copy of the program that nobody may read.
    Nobody,
}

#[cfg(unix)]
impl Account {
    /// An account that file rights stop, if there is one; the home is given to it.
    fn of(home: &Home) -> Option<Self> {
        use std::os::unix::fs::{MetadataExt, chown};
        let root = std::fs::metadata(home.path("data")).ok()?.uid() == 0;
        if !root {
            return Some(Self::Own);
        }
        std::fs::copy(Home::file_of("tigstock-server"), home.path("work/served")).ok()?;
        let folder = home.path("data").parent()?.to_owned();
        let given = |path: &Path| chown(path, Some(NOBODY), Some(NOBODY)).ok();
        given(&folder)?;
        for name in ["work", "tmp", "config", "data"] {
            given(&home.path(name))?;
            for file in std::fs::read_dir(home.path(name)).ok()? {
                given(&file.ok()?.path())?;
            }
        }
        Some(Self::Nobody)
    }

    /// The same command, run by that account.
    fn as_it(&self, command: &Command, home: &Home) -> Command {
        use std::os::unix::process::CommandExt;
        let program = match self {
            Self::Own => Path::new(command.get_program()).to_owned(),
            Self::Nobody => home.path("work/served"),
        };
        let mut again = home.command(&program);
        again.args(command.get_args());
        if matches!(self, Self::Nobody) {
            again.uid(NOBODY).gid(NOBODY);
        }
        again
    }
}
