//! `plan`: scenario S5 by command line. The figures are those of the scenario.

use serde_json::Value;
use tigstock_tests::TestServer;
use tigstock_tests::builders::{electrode, torch};
use tigstock_tests::demo::{MONDAY, furnished};
use types::{GetNeeds, NewOffer, NewSetUp, Role};

use crate::computer::Computer;

const S5: &str = "plan R-118 --arc 34h --torch T1 --kit K-24G --start 2026-06-26";

#[tokio::test(flavor = "multi_thread")]
async fn scenario_s5_is_told_as_a_table_with_its_reasons() {
    let server = furnished().await;
    let told = Computer::of(&server).run(S5).await;
    assert_eq!(told.code, 1, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    Part                                 Expected use  Need at 95 %  Available  Short  Order         After
    -------------------------------------------------------------------------------------------------------
    Electrode WLa20 2.4 mm, 175 mm long           4.7             9          3      6  1 pack of 10     13
    Collet 2.4 mm, large body                    0.55             2          1      1  1 pack of 5       6
    Cup no. 7, gas-lens seat                      1.5             4          5      0  -                 5
    O-ring, back cap, large body                 0.26             1          2      0  -                 2
    Gas lens 2.4 mm, large body                  0.17             1          1      0  -                 1

    Chance this job runs without a stop: 27 % now, 97 % after this order.
    Next: order 1 pack of 10 WLa20-2.4, 1 pack of 5 collet-2.4 from quayhead, 54.50 CAD, by Wed 24 Jun 12:00. Ordered now it comes Tue 16 Jun.
    Expect 8 WLa20-2.4 left (4 to 12).
    Expect 5 collet-2.4 left (4 to 6).
    Largest gain from one more piece: gas-lens-2.4 takes 97.2 % to 98.6 %.
    Next best purchase: 1 pack of 10 o-ring-large from quayhead, 6.00 CAD more, freight counted; ordered now it comes Tue 16 Jun. It takes 97.2 % to 97.6 %.

    Parts are taken to wear independently; one clumsy day wrecks several together, so 97 % is a little hopeful (a spread of 0.3 makes it 96 %), and 27 % now is too low (a spread of 0.3 makes it 32 %).
    Suppliers are taken to be open Monday to Friday, but for the closures entered with them.
    Left out of the chance by the job: insulator-gas-lens, back-cap-long.
    ");
    insta::assert_snapshot!(told.err, @r"
    Power source off and output dead before changing parts; do not run without insulator or back cap.
    Follow your site rules, the safety data sheet and the law where you work; ask a qualified person.
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn scenario_s5_has_its_exact_chances_and_cost_in_json() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run(&format!("{S5} --format json"))
        .await;
    assert_eq!((told.code, &*told.err), (1, ""));
    let needs: Value = serde_json::from_str(&told.out).expect("it is JSON");
    for (name, chance) in [("chance_now", 0.2705), ("chance_after", 0.9720)] {
        let found = needs[name].as_f64().expect("a number");
        assert!((found - chance).abs() < 5e-5, "{name}: {found}");
    }
    assert_eq!(needs["cost_minor"], 5450);
    assert_eq!(needs["orders"][0]["order_by"], "2026-06-24T12:00:00");
    let electrodes = &needs["lines"][0];
    assert_eq!(
        (&electrodes["left_low"], &electrodes["left_high"]),
        (&4.into(), &12.into())
    );
    let why = electrodes["why"].as_str().expect("a reason");
    assert!(
        why.contains("42.00 CAD") && why.contains("42.60 CAD"),
        "{why}"
    );
    let best = needs["next_best"]["chance"].as_f64().expect("a number");
    assert!((best - 0.986).abs() < 5e-4, "{best}");
}

#[tokio::test(flavor = "multi_thread")]
async fn json_is_what_the_service_answers() {
    let server = furnished().await;
    let told = Computer::of(&server).run("plan R-118 --format json").await;
    let needs = server
        .owner
        .get_job_needs("R-118", &GetNeeds::default())
        .await;
    let needs = serde_json::to_value(needs.expect("needs")).expect("it is JSON");
    let told: Value = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(told, needs);
}

#[tokio::test(flavor = "multi_thread")]
async fn scenario_s5_has_one_row_a_part_in_csv() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run(&format!("{S5} --format csv"))
        .await;
    assert_eq!(told.code, 1, "{told:?}");
    assert!(told.out.lines().count() == 6 && told.out.ends_with("\r\n"));
    let mut reader = csv::Reader::from_reader(told.out.as_bytes());
    let headers = reader.headers().expect("a header row").clone();
    let wanted = [
        "part",
        "need",
        "available",
        "short",
        "packs",
        "pack_size",
        "after",
    ];
    let places: Vec<usize> = wanted
        .iter()
        .map(|name| headers.iter().position(|it| it == *name).expect(name))
        .collect();
    let rows: Vec<String> = reader
        .records()
        .map(|row| {
            let row = row.expect("a row");
            let cells: Vec<&str> = places.iter().map(|place| &row[*place]).collect();
            cells.join(" ")
        })
        .collect();
    assert_eq!(
        rows,
        [
            "WLa20-2.4 9 3 6 1 10 13",
            "collet-2.4 2 1 1 1 5 6",
            "cup-7-gas-lens 4 5 0   5",
            "o-ring-large 1 2 0   2",
            "gas-lens-2.4 1 1 0   1",
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_with_enough_of_everything_ends_with_0() {
    let server = furnished().await;
    let line = "plan small --arc 1h --torch T1 --start 2026-06-26";
    let told = Computer::of(&server).run(line).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("no order is needed"), "{told:?}");
    assert_eq!(told.out.matches("Chance this job").count(), 1, "{told:?}");
    assert!(told.err.starts_with("Job small is set up.\n"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_that_comes_too_late_blocks_the_job_and_ends_with_2() {
    let server = furnished().await;
    // Quayhead takes one open day: ordered on Monday morning it comes on the day of the start.
    let told = Computer::of(&server)
        .run("plan R-118 --start 2026-06-16")
        .await;
    assert_eq!(told.code, 2, "{told:?}");
    assert!(told.out.contains("Cannot arrive in time"), "{told:?}");
    assert!(
        told.out
            .contains("Earliest: quayhead Tue 16 Jun (on the day of the start)"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_nobody_offers_blocks_the_job_and_ends_with_2() {
    let server = furnished().await;
    // A gas lens is not on offer, and 340 arc hours want more than the one there is.
    let told = Computer::of(&server).run("plan R-118 --arc 340h").await;
    assert_eq!(told.code, 2, "{told:?}");
    assert!(
        told.out.contains("gas-lens-2.4 short and nobody offers it"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_of_which_nothing_can_be_said_ends_with_3() {
    let server = TestServer::at(MONDAY).await;
    let owner = &server.owner;
    owner
        .create_part(&electrode("WLa20-2.4", "2.4 mm"))
        .await
        .expect("a part");
    let made = owner.create_torch(&torch("T1")).await.expect("a torch");
    let parts = vec!["WLa20-2.4".to_owned()];
    let fitted = NewSetUp { parts };
    owner
        .replace_set_up("T1", &fitted, made.version)
        .await
        .expect("a set-up");
    let computer = Computer::of(&server);
    // Used, and no arc time logged: so many arc hours to come mean nothing.
    computer.run("take T1 electrode").await;
    let told = computer
        .run("plan R-118 --arc 34h --torch T1 --start 2026-06-26")
        .await;
    assert_eq!(told.code, 3, "{told:?}");
    assert!(
        told.out.contains("Cannot tell for WLa20-2.4: 1 used, but"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_new_job_without_its_first_day_is_asked_for_it() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run("plan R-119 --arc 34h --torch T1")
        .await;
    assert_eq!((told.code, &*told.out), (64, ""));
    assert!(told.err.contains("--start"), "{told:?}");
    let job = server.owner.get_job("R-119").await;
    assert!(job.is_err(), "it was set up all the same");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_command_line_leaves_unsaid_of_a_job_stays_as_it_is() {
    let server = furnished().await;
    let before = server.owner.get_job("R-118").await.expect("the job");
    let told = Computer::of(&server).run("plan R-118 --arc 40h").await;
    assert!(told.err.starts_with("Job R-118 is changed.\n"), "{told:?}");
    let after = server.owner.get_job("R-118").await.expect("the job");
    assert_eq!(
        (before.arc_minutes, after.arc_minutes),
        (Some(2040), Some(2400))
    );
    let mut expected = before.into_new();
    expected.arc_minutes = Some(2400);
    assert_eq!(after.into_new(), expected);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_can_be_made_from_another_instant() {
    let server = furnished().await;
    // The afternoon before the start: one open day is too long now.
    let line = "plan R-118 --now 2026-06-25T14:00:00-03:00";
    let told = Computer::of(&server).run(line).await;
    assert_eq!(told.code, 2, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_that_reads_can_ask_for_a_plan_and_not_set_one_up() {
    let server = furnished().await;
    let reader = Computer::calling(&server.url, server.key(Role::Read));
    assert_eq!(reader.run("plan R-118").await.code, 1);
    let told = reader.run("plan R-118 --arc 1h").await;
    assert_eq!(told.code, 65, "{told:?}");
    let job = server.owner.get_job("R-118").await.expect("the job");
    assert_eq!(job.arc_minutes, Some(2040));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cheaper_offer_changes_the_order() {
    let server = furnished().await;
    let offer = NewOffer {
        supplier: "millrace".to_owned(),
        part: "WLa20-2.4".to_owned(),
        pack_size: 3,
        price_minor: 1_000,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let told = Computer::of(&server).run("plan R-118").await;
    // Two packs of 3 with freight are 29.00, the pack of 10 is 42.00; but 6 more make 94.5 % for all parts
    // together. With a seventh at 5.60 it is 34.60.
    assert!(
        told.out
            .contains("1 WLa20-2.4, 2 packs of 3 WLa20-2.4 from millrace, 34.60 CAD"),
        "{told:?}"
    );
    assert!(told.out.contains("1 + 2 packs of 3"), "{told:?}");
}
