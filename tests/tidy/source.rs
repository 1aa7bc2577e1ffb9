//! The files of the project as text, and the one way in which a rule reports what breaks it. What is
//! asked of the files is in the other modules.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// The folders with a dot that are ours; the rest belong to git and to editors.
const DOT_FOLDERS: [&str; 3] = [".cargo", ".ci", ".config"];

/// A file of the project.
#[derive(Debug)]
pub(crate) struct Source {
    /// Its path from the top level, with `/` between the parts.
    pub(crate) path: String,
    /// What is in it.
    pub(crate) text: String,
}

/// Something that breaks a rule: where, and what to do about it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Finding {
    /// `file:line`.
    place: String,
    /// What to do.
    remedy: String,
}

impl Finding {
    /// A finding in one line of a file.
    pub(crate) fn at(path: &str, line: usize, remedy: impl Into<String>) -> Self {
        Self {
            place: format!("{path}:{line}"),
            remedy: remedy.into(),
        }
    }

    /// A finding about a whole file or folder.
    pub(crate) fn of(path: &str, remedy: impl Into<String>) -> Self {
        Self {
            place: path.to_owned(),
            remedy: remedy.into(),
        }
    }
}

/// Fails the test with all findings at once.
pub(crate) fn expect_none(findings: &[Finding]) {
    let told = findings.iter().fold(String::new(), |mut told, finding| {
        let _ = write!(told, "\n  {}: {}", finding.place, finding.remedy);
        told
    });
    assert!(
        findings.is_empty(),
        "{} to put right:{told}\n",
        findings.len()
    );
}

/// The top level of the project.
pub(crate) fn root() -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests
        .parent()
        .expect("the tests are one folder below the top level")
        .to_owned()
}

/// Every text file of the project, in the order of their paths.
pub(crate) fn all() -> Vec<Source> {
    let root = root();
    let mut found = Vec::new();
    gather(&root, &root, &mut found);
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(
        !found.is_empty(),
        "no file was found under {}",
        root.display()
    );
    found
}

/// The Rust files under a folder; there must be some, or the rule about them has lost its object.
pub(crate) fn rust_under(folders: &[&str]) -> Vec<Source> {
    let mut found = all();
    found.retain(|source| {
        let inside = |folder: &&str| source.path.starts_with(*folder);
        source.is_rust() && folders.iter().any(inside)
    });
    assert!(
        !found.is_empty(),
        "no Rust file starts with {folders:?}: the rule needs a new place"
    );
    found
}

/// All Rust files.
pub(crate) fn rust() -> Vec<Source> {
    rust_under(&[""])
}

fn gather(root: &Path, folder: &Path, found: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).expect("the folder can be read") {
        let path = entry.expect("the entry can be read").path();
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        // In a second work tree, `.git` is a file that says where the first one is.
        let ours = name != ".git";
        let hidden = name.starts_with('.') && !DOT_FOLDERS.contains(&name.as_str());
        if path.is_dir() {
            if !hidden && name != "target" {
                gather(root, &path, found);
            }
        } else if let Some(text) = fs::read_to_string(&path).ok().filter(|_| ours) {
            let path = path.strip_prefix(root).expect("it is below the top level");
            found.push(Source {
                path: path.to_string_lossy().replace('\\', "/"),
                text,
            });
        }
    }
}

impl Source {
    /// Whether it is Rust.
    pub(crate) fn is_rust(&self) -> bool {
        Path::new(&self.path)
            .extension()
            .is_some_and(|extension| extension == "rs")
    }

    /// The numbered lines, from 1.
    pub(crate) fn lines(&self) -> impl Iterator<Item = (usize, &str)> {
        self.text
            .lines()
            .enumerate()
            .map(|(index, line)| (index + 1, line))
    }

    /// The numbered lines without comments and without what is quoted, as far as one line can tell.
    pub(crate) fn code(&self) -> impl Iterator<Item = (usize, String)> {
        self.lines().map(|(number, line)| (number, code_of(line)))
    }
}

/// A line without its comment and with empty quotation marks.
fn code_of(line: &str) -> String {
    let mut code = String::new();
    let mut letters = line.chars().peekable();
    let mut quoted = false;
    while let Some(letter) = letters.next() {
        match letter {
            '\\' if quoted => drop(letters.next()),
            // A quotation mark that is itself a letter: '"'.
            '\'' if !quoted && letters.peek() == Some(&'"') => drop(letters.next()),
            '"' => {
                quoted = !quoted;
                code.push('"');
            }
            '/' if !quoted && letters.peek() == Some(&'/') => break,
            _ if quoted => {}
            _ => code.push(letter),
        }
    }
    code
}

/// Whether a path such as `std::fs` or a name such as `tokio` stands in a line of code as a whole.
pub(crate) fn names(code: &str, name: &str) -> bool {
    let is_word = |letter: Option<char>| letter.is_some_and(|it| it.is_alphanumeric() || it == '_');
    code.match_indices(name).any(|(at, _)| {
        let before = code[..at].chars().next_back();
        let after = code[at + name.len()..].chars().next();
        !is_word(before) && !is_word(after)
    })
}

#[test]
fn a_comment_and_a_quotation_are_not_code() {
    assert_eq!(code_of("use tokio::sync; // serde"), "use tokio::sync; ");
    assert_eq!(code_of("//! about serde"), "");
    assert_eq!(
        code_of(r#"let a = "serde \" tokio"; b"#),
        r#"let a = ""; b"#
    );
    assert_eq!(
        code_of(r#"let a = "https://x"; serde"#),
        r#"let a = ""; serde"#
    );
    assert_eq!(code_of("trim_matches('\"').serde"), "trim_matches(').serde");
}

#[test]
fn a_name_is_found_as_a_whole_only() {
    assert!(names("use std::fs::File;", "std::fs"));
    assert!(names("serde_json::to_vec", "serde_json"));
    assert!(!names("serde_json::to_vec", "serde"));
    assert!(!names("let subclient = 1;", "client"));
}
