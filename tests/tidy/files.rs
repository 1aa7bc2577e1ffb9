//! How files look from outside: what they are called, how long they are, how they begin, and what
//! stands at the top level.

use std::collections::BTreeSet;
use std::fs;

use crate::source::{Finding, Source, expect_none, root, rust};

/// Everything that stands at the top level, beside dot-files.
const TOP_LEVEL: [&str; 12] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "api",
    "deploy",
    "domain",
    "migrations",
    "openapi",
    "tests",
];

/// Lines of a file, tests left out.
const LINES_MAX: usize = 500;

#[test]
fn the_top_level_holds_what_it_should_and_nothing_else() {
    let mut there = BTreeSet::new();
    for entry in fs::read_dir(root()).expect("the top level can be read") {
        let name = entry.expect("the entry can be read").file_name();
        let name = name.to_string_lossy().into_owned();
        // What a build or a run leaves is kept out of git; what configures a tool is a dot-file.
        let left = name == "target" || name.contains(".db");
        if !left && !name.starts_with('.') {
            there.insert(name);
        }
    }
    let should: BTreeSet<String> = TOP_LEVEL.map(str::to_owned).into();
    let mut found = Vec::new();
    for name in there.difference(&should) {
        found.push(Finding::of(
            name,
            "put it in one of the folders, or make it a dot-file",
        ));
    }
    for name in should.difference(&there) {
        found.push(Finding::of(name, "is missing from the top level"));
    }
    expect_none(&found);
}

#[test]
fn a_file_is_named_after_what_is_in_it() {
    let empty_words = ["utils", "util", "helpers", "helper", "common", "misc"];
    let mut found = Vec::new();
    for file in rust() {
        let name = file.path.rsplit('/').next().unwrap_or_default();
        let folders = file.path.split('/').rev().skip(1);
        let stem = name.trim_end_matches(".rs");
        if let Some(word) = folders
            .chain([stem])
            .find(|word| empty_words.contains(word))
        {
            found.push(Finding::of(
                &file.path,
                format!("\"{word}\" says nothing: name what it holds"),
            ));
        }
        if stem == "mod" {
            found.push(Finding::of(
                &file.path,
                "write name.rs beside the folder name/",
            ));
        }
    }
    expect_none(&found);
}

#[test]
fn a_file_stays_short_enough_to_be_read() {
    let long = rust().into_iter().filter(|file| !is_test(file));
    let long = long
        .map(|file| (lines_before_tests(&file), file))
        .filter(|(lines, _)| *lines > LINES_MAX);
    let found: Vec<Finding> = long
        .map(|(lines, file)| {
            let remedy = format!("{lines} lines; cut it by subject to at most {LINES_MAX}");
            Finding::at(&file.path, LINES_MAX + 1, remedy)
        })
        .collect();
    expect_none(&found);
}

/// Whether the whole file is tests.
fn is_test(file: &Source) -> bool {
    file.path.ends_with("tests.rs")
        || file.path.starts_with("tests/")
        || file.path.contains("/tests/")
}

fn lines_before_tests(file: &Source) -> usize {
    let lines = file.lines().find(|(_, line)| *line == "#[cfg(test)]");
    lines.map_or_else(|| file.lines().count(), |(number, _)| number - 1)
}

#[test]
fn a_file_says_first_what_lives_in_it() {
    let silent = rust().into_iter().filter(|file| {
        // A library may let its README speak for it.
        !file.text.starts_with("//! ") && !file.text.starts_with("#![doc = include_str!(")
    });
    let remedy = "begin with one //! paragraph: what lives here, and what does not";
    expect_none(
        &silent
            .map(|file| Finding::at(&file.path, 1, remedy))
            .collect::<Vec<_>>(),
    );
}

#[test]
fn tests_inside_a_file_do_not_count_as_its_length() {
    let text = "//! A.\nfn a() {}\n#[cfg(test)]\nmod tests {\n}\n".to_owned();
    let file = Source {
        path: "made/up.rs".to_owned(),
        text,
    };
    assert_eq!(lines_before_tests(&file), 2);
}
