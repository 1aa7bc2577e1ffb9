//! `openapi/problems.md` against the kinds of problem that the code has: the same ones, in the same
//! order, with the same status and title.

use types::ProblemKind;

use crate::source::{Finding, Source, all, expect_none};

const PATH: &str = "openapi/problems.md";

fn document() -> Source {
    all()
        .into_iter()
        .find(|file| file.path == PATH)
        .expect("the problems are described")
}

#[test]
fn every_kind_of_problem_has_its_heading_in_order_and_no_heading_has_no_kind() {
    let document = document();
    let told: Vec<&str> = document
        .lines()
        .filter_map(|(_, line)| line.strip_prefix("## "))
        .collect();
    let kinds: Vec<&str> = ProblemKind::ALL.iter().map(|kind| kind.slug()).collect();
    assert_eq!(
        told, kinds,
        "{PATH}: left the headings, right the kinds; make them the same"
    );
}

#[test]
fn every_kind_of_problem_is_described_with_its_status_and_title() {
    let document = document();
    let mut found = Vec::new();
    for kind in ProblemKind::ALL {
        let heading = format!("## {}", kind.slug());
        let Some((line, _)) = document.lines().find(|(_, line)| *line == heading) else {
            continue;
        };
        let section: Vec<&str> = document
            .lines()
            .skip(line)
            .map(|(_, line)| line)
            .take_while(|line| !line.starts_with("## "))
            .collect();
        let first = format!("**{}** {}.", kind.status(), kind.title());
        for part in [first.as_str(), "- When: ", "- What to do: "] {
            if !section.iter().any(|line| line.starts_with(part)) {
                found.push(Finding::at(
                    PATH,
                    line,
                    format!("{heading} has no line \"{part}\""),
                ));
            }
        }
    }
    expect_none(&found);
}
