//! Words that stay out: marks of unfinished work, places on somebody's machine, and a prefix that
//! says twice that a test is a test.

use crate::source::{Finding, Source, all, expect_none, rust};

/// Every line of the files that holds one of the words.
fn lines_with(files: &[Source], words: &[&str], remedy: &str) -> Vec<Finding> {
    let mut found = Vec::new();
    for file in files {
        for (line, text) in file.lines() {
            for word in words.iter().filter(|word| text.contains(**word)) {
                found.push(Finding::at(
                    &file.path,
                    line,
                    format!("\"{word}\": {remedy}"),
                ));
            }
        }
    }
    found
}

// The words are put together here, so that this file does not hold them itself.

#[test]
fn nothing_is_left_for_later() {
    let words = [
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("XX", "X:"),
        concat!("to", "do!("),
        concat!("unimpl", "emented!("),
        concat!("#[ig", "nore"),
    ];
    expect_none(&lines_with(
        &rust(),
        &words,
        "finish it, or leave it out and say so in the README",
    ));
}

#[test]
fn no_place_on_a_machine_is_named() {
    let words = [
        concat!("/wo", "rk/"),
        concat!("/tm", "p/w-"),
        concat!("/ho", "me/"),
    ];
    let remedy = "it exists on one machine only: name it from the top level of the project";
    expect_none(&lines_with(&all(), &words, remedy));
}

#[test]
fn a_lint_is_expected_with_a_reason_rather_than_allowed() {
    let words = [concat!("#[al", "low("), concat!("#![al", "low(")];
    let remedy =
        "write #[expect(lint, reason = \"...\")], which tells when it is not needed any more";
    expect_none(&lines_with(&rust(), &words, remedy));
}

#[test]
fn a_test_is_named_as_a_sentence() {
    let words = [concat!("fn te", "st_")];
    expect_none(&lines_with(
        &rust(),
        &words,
        "name what it shows, without a prefix",
    ));
}

#[test]
fn a_word_is_found_with_its_line() {
    let file = Source {
        path: "made/up.rs".to_owned(),
        text: "a\nb stop c\n".to_owned(),
    };
    let found = lines_with(&[file], &["stop"], "go on");
    assert_eq!(found, [Finding::at("made/up.rs", 2, "\"stop\": go on")]);
}
