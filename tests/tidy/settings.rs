//! `deploy/tigstock.example.toml` against the settings that the service has: every one of them is
//! shown, with the value that holds without it.

use server::config::Config;

use crate::source::{Source, all};

const EXAMPLE: &str = "deploy/tigstock.example.toml";
const SETTINGS: &str = "api/server/src/config.rs";

fn file(path: &str) -> Source {
    let found = all().into_iter().find(|file| file.path == path);
    found.unwrap_or_else(|| panic!("{path} is not there"))
}

#[test]
fn the_example_holds_the_defaults() {
    let example: Config = toml::from_str(&file(EXAMPLE).text).expect("the example can be read");
    assert_eq!(
        example,
        Config::default(),
        "{EXAMPLE}: left the example, right the defaults"
    );
}

#[test]
fn the_example_shows_every_setting_and_no_other() {
    let settings = file(SETTINGS);
    let fields = settings
        .text
        .split("pub struct Config {")
        .nth(1)
        .and_then(|it| it.split("\n}").next());
    let mut fields: Vec<&str> = fields
        .expect("the settings are one struct")
        .lines()
        .filter_map(|line| line.trim().strip_prefix("pub ")?.split_once(':'))
        .map(|(name, _)| name)
        // No file can set it: only the demo goes without keys.
        .filter(|name| *name != "keyless")
        .collect();
    let example = file(EXAMPLE);
    let mut shown: Vec<&str> = example
        .lines()
        .filter_map(|(_, line)| line.trim_start_matches('#').split_once(" = "))
        .map(|(name, _)| name)
        .filter(|name| {
            name.chars()
                .all(|letter| letter.is_ascii_lowercase() || letter == '_')
        })
        .collect();
    fields.sort_unstable();
    shown.sort_unstable();
    assert_eq!(
        shown, fields,
        "left what {EXAMPLE} shows, right what {SETTINGS} has"
    );
}
