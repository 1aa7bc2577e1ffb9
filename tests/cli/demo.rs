//! `tigstock-server demo`: the whole job on invented data, and nothing left behind.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use serde_json::Value;

use tigstock_tests::programs::{Home, ended};

fn answered() -> (Value, String) {
    let home = Home::new();
    let mut demo = home.server();
    let (good, out, err) = ended(demo.args(["demo", "--once", "--format", "json"]));
    assert!(good, "{err}");
    (serde_json::from_str(&out).expect("one JSON document"), err)
}

#[test]
fn it_answers_with_the_figures_of_scenario_s5() {
    let (answer, err) = answered();
    assert_eq!(err, "", "progress is for terminals");
    for (name, chance) in [("chance_now", 0.2705), ("chance_after", 0.9720)] {
        let found = answer[name].as_f64().expect("a number");
        assert!((found - chance).abs() < 5e-5, "{name}: {found}");
    }
    assert_eq!(
        (&answer["cost_minor"], &answer["currency"]),
        (&5450.into(), &"CAD".into())
    );
    let columns = [
        "need",
        "available",
        "short",
        "packs",
        "pack_size",
        "order_pieces",
        "after",
    ];
    let lines = answer["lines"].as_array().expect("lines");
    let told: Vec<String> = lines
        .iter()
        .map(|line| {
            let figures = columns.map(|column| line[column].to_string());
            format!(
                "{} {}",
                line["part"].as_str().expect("a part"),
                figures.join(" ")
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            "WLa20-2.4 9 3 6 1 10 10 13",
            "collet-2.4 2 1 1 1 5 5 6",
            "cup-7-gas-lens 4 5 0 0 null 0 5",
            "o-ring-large 1 2 0 0 null 0 2",
            "gas-lens-2.4 1 1 0 0 null 0 1",
        ]
    );
    for (line, expected) in lines.iter().zip([4.744, 0.554, 1.545, 0.259, 0.167]) {
        let found = line["expected"].as_f64().expect("a number");
        assert!((found - expected).abs() < 5e-4, "{line}");
    }
}

#[test]
fn a_line_of_the_answer_has_the_agreed_names_and_no_others() {
    let (answer, _) = answered();
    let names: Vec<&String> = answer["lines"][0]
        .as_object()
        .expect("a line")
        .keys()
        .collect();
    let agreed = [
        "after",
        "available",
        "expected",
        "need",
        "order_pieces",
        "pack_size",
        "packs",
        "part",
        "short",
    ];
    assert_eq!(names, agreed);
}

#[test]
fn its_answer_is_one_line_on_standard_output() {
    let home = Home::new();
    let mut demo = home.server();
    let (good, out, _) = ended(demo.args(["demo", "--once", "--format", "json"]));
    assert!(good && out.ends_with('\n'));
    assert_eq!(out.lines().count(), 1, "{out}");
}

#[test]
fn it_leaves_nothing_behind() {
    let home = Home::new();
    let mut demo = home.server();
    let (good, _, err) = ended(demo.args(["demo", "--once", "--format", "json"]));
    assert!(good, "{err}");
    for folder in ["work", "tmp", "config", "data"] {
        assert_eq!(home.holds(folder), [""; 0], "{folder}");
    }
}

#[test]
fn for_people_it_is_a_table_with_reasons_and_the_chance() {
    let home = Home::new();
    let mut demo = home.server();
    let (good, out, err) = ended(demo.args(["demo", "--once"]));
    assert!(good, "{err}");
    for words in [
        "Will job R-118 run without a stop?",
        "27 % now, 97 % after this order",
        "1 pack of 10",
        "54.50 CAD",
        "gas-lens-2.4 takes 97.2 % to 98.6 %",
        "WLa20-2.4: From your 410 arc hours: 58 used.",
    ] {
        assert!(out.contains(words), "{words}:\n{out}");
    }
}

#[cfg(unix)]
#[test]
fn while_it_serves_on_it_takes_commands_and_it_leaves_nothing_when_it_is_stopped() {
    let home = Home::new();
    let mut demo = home.server();
    let mut demo = demo
        .args(["demo", "--format", "json"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let out = BufReader::new(demo.stdout.take().expect("its answers"));
    let mut lines = out.lines().map_while(Result::ok);
    let told = lines.find_map(|line| {
        let (_, rest) = line.split_once("The demo serves on at ")?;
        rest.split(' ').next().map(str::to_owned)
    });
    let url = told.expect("it says where it serves");
    let caller = Home::new();
    let mut log = caller.tigstock();
    let (good, answer, err) = ended(log.args(["--server", &url, "log", "T1", "75m", "3g"]));
    assert!(good, "{err}");
    assert_eq!(answer, "T1: 75 min, 3 grinds. WLa20-2.4: 3 left.\n");
    let id = demo.id().to_string();
    let asked = Command::new("kill").args(["-INT", &id]).status();
    assert!(asked.expect("kill starts").success());
    assert!(demo.wait().expect("it is ours").success());
    assert_eq!(home.holds("tmp"), [""; 0]);
}
