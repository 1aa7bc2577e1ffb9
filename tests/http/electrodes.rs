//! Advice on electrodes over the API: verdicts with their tables, the shop's own bands before them,
//! what goes with a diameter, bad questions, and the sheet.

use domain::advice::{CUP_RULE, TABLES};
use domain::safety::{CLOSING, Hazard};
use tigstock_tests::TestServer;
use types::{
    ElectrodeAdvice, ElectrodeVerdict, GetElectrodeAdvice, NewCurrentBand, ProblemKind, Role,
    SHEET_MEDIA_TYPE,
};

const NOW: &str = "2026-06-15T08:00:00-03:00";

fn asked(current: &str, polarity: &str) -> GetElectrodeAdvice {
    GetElectrodeAdvice {
        current: Some(current.to_owned()),
        polarity: Some(polarity.to_owned()),
        ..GetElectrodeAdvice::default()
    }
}

fn of_class(class: &str, asked: GetElectrodeAdvice) -> GetElectrodeAdvice {
    GetElectrodeAdvice {
        class: Some(class.to_owned()),
        ..asked
    }
}

fn of_size(diameter: &str, asked: GetElectrodeAdvice) -> GetElectrodeAdvice {
    GetElectrodeAdvice {
        diameter: Some(diameter.to_owned()),
        ..asked
    }
}

async fn advice(server: &TestServer, asked: &GetElectrodeAdvice) -> ElectrodeAdvice {
    let client = server.client(Role::Read);
    client.get_electrode_advice(asked).await.expect("advice")
}

fn only(advice: &ElectrodeAdvice) -> &ElectrodeVerdict {
    assert_eq!(advice.verdicts.len(), 1, "{:?}", advice.verdicts);
    &advice.verdicts[0]
}

fn band(class: Option<&str>, low: i64, high: i64) -> NewCurrentBand {
    NewCurrentBand {
        diameter: "3/32 in".to_owned(),
        class: class.map(str::to_owned),
        polarity: "DCEN".to_owned(),
        amps_min: low,
        amps_max: high,
        source: "own trials, spring 2026".to_owned(),
        ..NewCurrentBand::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_diameter_is_held_against_every_table_with_its_range() {
    let server = TestServer::at(NOW).await;
    let question = of_size("3/32 in", of_class("EWLa-2", asked("200 A", "dcen")));
    let told = advice(&server, &question).await;
    let row = only(&told);
    assert_eq!((&*row.diameter, &*row.column), ("2.4 mm", "oxide"));
    assert_eq!(row.verdict, "inside-some");
    let ranges: Vec<_> = row
        .tables
        .iter()
        .map(|told| (told.amps_low, told.amps_high, &*told.position))
        .collect();
    // The five tables, in the order of their printing (common practice).
    assert_eq!(
        ranges,
        [
            (Some(150), Some(250), "inside"),
            (Some(135), Some(235), "inside"),
            (Some(100), Some(250), "inside"),
            (Some(130), Some(250), "inside"),
            (Some(100), Some(165), "above"),
        ]
    );
    for (told, table) in row.tables.iter().zip(&TABLES) {
        assert_eq!(told.table, table.name);
        assert!(table.name.ends_with("(common practice)"), "{}", table.name);
    }
    assert!(
        row.says.contains("inside the range of 4 of 5 tables"),
        "{}",
        row.says
    );
    assert!(
        row.says
            .contains("the tip overheats, melts or spits tungsten"),
        "{}",
        row.says
    );
    let last = told.says.last().expect("a last word");
    assert!(last.contains("advice and refuses nothing"), "{last}");
    assert_eq!(
        told.cautions.first().map(String::as_str),
        Some(Hazard::ArcRadiation.text())
    );
    assert_eq!(told.cautions.last().map(String::as_str), Some(CLOSING));
    assert!(
        !told
            .cautions
            .iter()
            .any(|text| text == Hazard::Thoriated.text())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn too_little_current_lets_the_arc_wander() {
    let server = TestServer::at(NOW).await;
    let question = of_size("3.2", of_class("WLa20", asked("40", "DCEN")));
    let told = advice(&server, &question).await;
    let row = only(&told);
    assert_eq!(row.verdict, "outside-all");
    assert!(row.says.contains("the arc may wander"), "{}", row.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_diameter_every_named_one_is_told_the_favoured_first() {
    let server = TestServer::at(NOW).await;
    let told = advice(&server, &of_class("WLa20", asked("150", "DCEN"))).await;
    assert_eq!(told.recommended, ["2.4 mm"]);
    let sizes: Vec<&str> = told.verdicts.iter().map(|row| &*row.diameter).collect();
    assert_eq!(sizes.len(), 16);
    assert_eq!(sizes[0], "2.4 mm");
    let rank = |row: &ElectrodeVerdict| match &*row.verdict {
        "inside-all" => 0,
        "inside-some" => 1,
        "outside-all" => 2,
        "not-listed" => 3,
        other => panic!("{other}"),
    };
    assert!(told.verdicts.is_sorted_by_key(rank), "{sizes:?}");
    assert_eq!(told.diameters.len(), 1);
    assert_eq!(told.diameters[0].diameter, "2.4 mm");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_class_gets_both_columns_and_no_guess() {
    let server = TestServer::at(NOW).await;
    for class in [None, Some("unidentified")] {
        let mut question = of_size("2.4", asked("150", "AC"));
        question.class = class.map(str::to_owned);
        let told = advice(&server, &question).await;
        let columns: Vec<_> = told
            .verdicts
            .iter()
            .map(|row| (&*row.column, &*row.verdict))
            .collect();
        // Balanced: oxide 100-180, 100-180, 80-180, 80-150; pure 60-130, 60-130, 60-130, 80-150.
        assert_eq!(columns, [("oxide", "inside-all"), ("pure", "inside-some")]);
        assert!(
            told.says.iter().any(|it| it.contains("class decides")),
            "{:?}",
            told.says
        );
        assert_eq!(told.wave.as_deref(), Some("balanced"));
        let assumed = told.assumes.iter().any(|it| it.contains("balanced wave"));
        assert!(assumed, "{:?}", told.assumes);
        let warned = told
            .cautions
            .contains(&Hazard::Unidentified.text().to_owned());
        assert_eq!(warned, class.is_some());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn pure_tungsten_and_zirconia_have_columns_of_their_own() {
    let server = TestServer::at(NOW).await;
    let mut question = of_size("4.8", of_class("EWZr-8", asked("520", "AC")));
    question.wave = Some("unbalanced".to_owned());
    let told = advice(&server, &question).await;
    // The composite has 400-550 for zirconiated and 400-500 for the rest; the reprint 400-500.
    let ends: Vec<_> = only(&told).tables.iter().map(|it| it.amps_high).collect();
    assert_eq!(ends, [Some(500), Some(550)]);
    question.class = Some("WP".to_owned());
    let told = advice(&server, &question).await;
    assert_eq!(only(&told).column, "pure");
    assert_eq!(only(&told).tables[0].amps_high, Some(350));
    assert!(told.assumes.iter().all(|it| !it.contains("balanced wave")));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_goes_with_a_diameter_is_told_with_its_table_or_rule() {
    let server = TestServer::at(NOW).await;
    let mut question = of_size("1/8 in", of_class("WLa20", asked("120", "DCEN")));
    question.metal = Some("stainless".to_owned());
    let told = advice(&server, &question).await;
    let goes = &told.diameters[0];
    let minimum = goes.minimum_cup.as_ref().expect("a cup");
    assert_eq!(
        (minimum.number, &*minimum.inch, &*minimum.rule),
        (6, "3/8", CUP_RULE)
    );
    let numbers =
        |table: usize| -> Vec<i64> { goes.cups[table].cups.iter().map(|cup| cup.number).collect() };
    assert_eq!((numbers(0), numbers(1)), (vec![6, 7, 8], vec![7, 8, 10]));
    let flow = &goes.cups[0].flows[0];
    assert_eq!(flow.metal.as_deref(), Some("stainless"));
    // 5 and 7 L/min over 0.471947 are 10.59 and 14.83 CFH.
    let figures = [
        (flow.litres_per_minute_low, 5.0),
        (flow.litres_per_minute_high, 7.0),
        (flow.cubic_feet_per_hour_low, 10.6),
        (flow.cubic_feet_per_hour_high, 14.8),
        (goes.stickout.mm, 9.6),
        (goes.stickout.gas_lens_mm, 19.2),
        (told.post_flow.seconds, 12.0),
    ];
    for (found, expected) in figures {
        assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    }
    let usual: Vec<_> = goes.tapers.iter().filter(|taper| taper.usual).collect();
    assert_eq!(usual.len(), 1);
    assert!((usual[0].mm - 8.0).abs() < 1e-9 && (usual[0].angle_degrees - 22.6).abs() < 1e-9);
    let tips: Vec<_> = goes
        .tips
        .iter()
        .map(|tip| (tip.angle_degrees, &*tip.position))
        .collect();
    assert_eq!(tips, [(60, "inside"), (90, "inside")]);
    question.polarity = Some("DCEP".to_owned());
    let told = advice(&server, &question).await;
    assert!(
        told.diameters[0].tips.is_empty(),
        "the table by tip is for DCEN"
    );
    assert!(told.assumes.iter().any(|it| it.contains("a ball, of 1 x")));
    question.metal = Some("steel".to_owned());
    let told = advice(&server, &question).await;
    assert!(told.diameters[0].cups[0].flows.is_empty());
    assert!(
        told.assumes
            .iter()
            .any(|it| it.contains("no column for steel"))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_band_of_the_shop_goes_before_the_tables() {
    let server = TestServer::at(NOW).await;
    let client = &server.owner;
    let question = of_class("WLa20", asked("150", "DCEN"));
    client
        .create_current_band(&band(None, 40, 120))
        .await
        .expect("a band");
    // 2.4 mm is inside all tables, but above the band; 3.2 mm is the next best of the tables.
    let told = advice(&server, &question).await;
    assert!(
        !told.recommended.contains(&"2.4 mm".to_owned()),
        "{:?}",
        told.recommended
    );
    let row = told.verdicts.iter().find(|row| row.diameter == "2.4 mm");
    let row = row.expect("2.4 mm is told");
    let own = row.shop_band.as_ref().expect("the band");
    assert_eq!(
        (own.amps_min, own.amps_max, &*own.position),
        (40, 120, "above")
    );
    assert_eq!(own.source, "own trials, spring 2026");
    assert_eq!((&*row.verdict, row.tables.len()), ("inside-all", 5));
    assert!(
        row.says.contains("above the shop's own band"),
        "{}",
        row.says
    );
    // A band of the very class goes before one of any class.
    let closer = band(Some("WLa20"), 100, 160);
    client.create_current_band(&closer).await.expect("a band");
    let told = advice(&server, &question).await;
    assert_eq!(told.recommended, ["2.4 mm"]);
    let own = told.verdicts[0].shop_band.as_ref().expect("the band");
    assert_eq!(
        (own.class.as_deref(), &*own.position),
        (Some("WLa20"), "inside")
    );
    let told = advice(&server, &of_class("WCe20", asked("150", "DCEN"))).await;
    assert!(
        told.assumes.iter().any(|it| it.contains("bands for WLa20")),
        "{:?}",
        told.assumes
    );
    let told = advice(&server, &of_class("WLa20", asked("150", "DCEP"))).await;
    assert!(told.verdicts.iter().all(|row| row.shop_band.is_none()));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_band_is_kept_replaced_and_removed_like_any_resource() {
    let server = TestServer::at(NOW).await;
    let keep = server.client(Role::Keep);
    let made = keep
        .create_current_band(&band(None, 40, 120))
        .await
        .expect("a band");
    assert_eq!(made.diameter, "2.4 mm");
    let again = keep.create_current_band(&band(None, 50, 130)).await;
    assert!(
        again
            .expect_err("it is taken")
            .is(ProblemKind::AlreadyExists)
    );
    let other = keep
        .create_current_band(&band(Some("WLa20"), 50, 130))
        .await;
    let other = other.expect("a band of a class");
    let moved = keep
        .replace_current_band(other.id, &band(None, 50, 130), other.version)
        .await;
    assert!(
        moved
            .expect_err("it is taken")
            .is(ProblemKind::AlreadyExists)
    );
    let mut new = band(None, 45, 125);
    new.source = "=our sheet".to_owned();
    let replaced = keep
        .replace_current_band(made.id, &new, made.version)
        .await
        .expect("it");
    assert_eq!(
        (replaced.amps_min, replaced.version),
        (45, made.version + 1)
    );
    let stale = keep.replace_current_band(made.id, &new, made.version).await;
    assert!(stale.expect_err("it has changed").is(ProblemKind::Stale));
    let page = keep
        .list_current_bands(&types::Page::default())
        .await
        .expect("a page");
    assert_eq!(page.current_bands.len(), 2);
    keep.delete_current_band(made.id, replaced.version)
        .await
        .expect("it is removed");
    let gone = keep.get_current_band(made.id).await;
    assert!(gone.expect_err("it is gone").is(ProblemKind::NotFound));
    let read = server.client(Role::Log).create_current_band(&new).await;
    assert!(read.expect_err("it needs keep").is(ProblemKind::Forbidden));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bad_question_is_told_with_field_value_and_remedy() {
    let server = TestServer::at(NOW).await;
    for (query, pointer, words) in [
        ("polarity=DCEN", "?current", "missing; amperes"),
        ("current=&polarity=DCEN", "?current", "missing; amperes"),
        ("current=125&polarity=%20", "?polarity", "missing; DCEN"),
        ("current=0&polarity=DCEN", "?current", "0 A; over 0"),
        ("current=-5&polarity=DCEN", "?current", "-5 A; over 0"),
        ("current=2001&polarity=DCEN", "?current", "2001 A; 2000 A"),
        (
            "current=much&polarity=DCEN",
            "?current",
            "much; such as 125",
        ),
        ("current=125", "?polarity", "missing; DCEN"),
        ("current=125&polarity=DC", "?polarity", "DC; DCEN, DCEP, AC"),
        (
            "current=125&polarity=AC&wave=square",
            "?wave",
            "square; balanced",
        ),
        (
            "current=125&polarity=DCEN&wave=balanced",
            "?wave",
            "DCEN; leave it out",
        ),
        (
            "current=125&polarity=DCEN&class=gold",
            "?class",
            "gold; colour; WLa15",
        ),
        (
            "current=125&polarity=DCEN&class=orange",
            "?class",
            "orange; WCe20; thoria",
        ),
        (
            "current=125&polarity=DCEN&diameter=2.45",
            "?diameter",
            "2.45; 2.4 mm; 2.5 mm",
        ),
        (
            "current=125&polarity=DCEN&metal=gold",
            "?metal",
            "gold; aluminium",
        ),
    ] {
        for path in ["/v1/electrodes/advice", "/v1/sheets/electrodes/advice.csv"] {
            let heard = server.ask("GET", &format!("{path}?{query}")).send().await;
            let problem = heard.problem(ProblemKind::Invalid);
            assert_eq!(problem.violations.len(), 1, "{query}: {problem:?}");
            let told = &problem.violations[0];
            assert_eq!(told.pointer, pointer, "{query}");
            for word in words.split("; ") {
                assert!(told.detail.contains(word), "{query}: no {word}: {told:?}");
            }
        }
    }
    // 2.5 mm is a size of its own, which no table has.
    let told = advice(&server, &of_size("2.5", asked("125", "DCEN"))).await;
    assert!(told.verdicts.iter().all(|row| row.verdict == "not-listed"));
    let american = GetElectrodeAdvice {
        metal: Some("aluminum".to_owned()),
        ..of_size("2.4", asked("125", "AC"))
    };
    let told = advice(&server, &american).await;
    assert_eq!(
        told.diameters[0].cups[0].flows[0].metal.as_deref(),
        Some("aluminium")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_says_what_the_answer_says() {
    let server = TestServer::at(NOW).await;
    let mut own = band(None, 40, 260);
    own.source = "=HYPERLINK(\"x\")".to_owned();
    server
        .owner
        .create_current_band(&own)
        .await
        .expect("a band");
    let question = of_size("2.4", of_class("WLa20", asked("200", "DCEN")));
    let told = advice(&server, &question).await;
    let path =
        "/v1/sheets/electrodes/advice.csv?current=200&polarity=DCEN&class=WLa20&diameter=2.4";
    let heard = server.ask("GET", path).send().await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header("Content-Type"), SHEET_MEDIA_TYPE);
    let text = heard.text();
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let at = |name: &str| header.iter().position(|it| it == name).expect("the column");
    assert_eq!(at("as_of"), header.len() - 1);
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let row = only(&told);
    assert_eq!(rows.len(), 1 + row.tables.len());
    assert_eq!(&rows[0][at("note")], "'=HYPERLINK(\"x\")");
    assert_eq!(
        (&rows[0][at("amps_low")], &rows[0][at("amps_high")]),
        ("40", "260")
    );
    for (cells, table) in rows[1..].iter().zip(&row.tables) {
        assert_eq!(cells[at("source")], table.table);
        assert_eq!(
            cells[at("amps_high")],
            table.amps_high.expect("a range").to_string()
        );
        assert_eq!(cells[at("position")], table.position);
    }
    for cells in &rows {
        assert_eq!(&cells[at("as_of")], "2026-06-15T11:00:00Z");
        assert_eq!(
            (&cells[at("amps")], &cells[at("verdict")]),
            ("200", "inside-some")
        );
    }
    let by_client = server
        .client(Role::Read)
        .get_electrode_advice_sheet(&question)
        .await;
    assert_eq!(by_client.expect("the sheet"), text);
}
