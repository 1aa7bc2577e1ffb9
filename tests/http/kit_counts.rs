//! How many complete kits the stock of a site makes: of one kind, and of several that share parts.

use tigstock_tests::TestServer;
use tigstock_tests::front_ends::{LENS, STANDARD};
use types::{
    GetKitCount, KitGain, KitLine, KitPieces, NewKit, NewKitCounts, ProblemKind, WantedKits,
};

async fn kit(server: &TestServer, code: &str, parts: &[&str]) {
    let line = |part: &&str| KitLine {
        part: (*part).to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let kit = NewKit {
        code: code.to_owned(),
        name: None,
        parts: parts.iter().map(line).collect(),
    };
    server.owner.create_kit(&kit).await.expect("a kit");
}

/// Enough for two standard kits or three with a lens, but only four collets for both; and one insulator
/// for a lens too few for a third.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server
        .shelve(&[
            ("WLa20-2.4", 9),
            ("collet-2.4", 4),
            ("body-2.4", 2),
            ("lens-2.4", 3),
            ("insulator-std", 2),
            ("insulator-lens", 3),
            ("cup-7", 5),
            ("cup-7-lens", 3),
            ("cap-long", 9),
            ("o-ring-large", 9),
        ])
        .await;
    kit(&server, "K-24L", &STANDARD).await;
    kit(&server, "K-24G", &LENS).await;
    server
}

fn wanted(kits: &[(&str, Option<i64>)]) -> NewKitCounts {
    let kits = kits.iter().map(|(kit, wanted)| WantedKits {
        kit: (*kit).to_owned(),
        wanted: *wanted,
    });
    NewKitCounts {
        kits: kits.collect(),
        site: None,
        one_more: true,
    }
}

fn pieces(part: &str, quantity: i64) -> KitPieces {
    KitPieces {
        part: part.to_owned(),
        quantity,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn one_kind_is_counted_with_what_the_next_one_wants() {
    let server = shop().await;
    let told = server
        .owner
        .count_kit("K-24L", &GetKitCount::default())
        .await
        .expect("a count");
    assert_eq!(told.count, 2);
    // Body and insulator set the number together, so no single piece gives another kit.
    assert_eq!(
        told.next_kit_wants,
        [pieces("body-2.4", 1), pieces("insulator-std", 1)]
    );
    assert_eq!(told.one_more, []);
    assert_eq!(
        told.says,
        [
            "2 kits K-24L.",
            "The next one wants 1 body-2.4 and 1 insulator-std.",
            "No single piece gives another kit."
        ]
    );
    server.set_clock("2026-06-15T09:00:00-03:00");
    server
        .owner
        .record_receipt(
            &types::NewReceipt {
                part: "body-2.4".to_owned(),
                quantity: 5,
                ..types::NewReceipt::default()
            },
            "bodies",
        )
        .await
        .expect("it is received");
    let told = server
        .owner
        .count_kit("K-24L", &GetKitCount::default())
        .await
        .expect("a count");
    let gain = KitGain {
        part: "insulator-std".to_owned(),
        count: 3,
    };
    assert_eq!((told.count, &told.one_more[..]), (2, &[gain][..]));
}

#[tokio::test(flavor = "multi_thread")]
async fn kinds_that_share_parts_are_counted_together_and_in_order() {
    let server = shop().await;
    let asked = wanted(&[("K-24G", Some(3)), ("K-24L", Some(2))]);
    let told = server.owner.count_kits(&asked).await.expect("a count");
    // Two and three alone, but four collets.
    let alone: Vec<i64> = told.kits.iter().map(|kit| kit.alone).collect();
    assert_eq!((alone, told.total, told.is_proven), (vec![3, 2], 4, true));
    let in_order: Vec<i64> = told.kits.iter().map(|kit| kit.in_order).collect();
    assert_eq!(in_order, [3, 1]);
    assert_eq!(told.wanted_lacks, [pieces("collet-2.4", 1)]);
    assert_eq!(
        told.says[1],
        "Filled in the order given: 3 kits K-24G, 1 kit K-24L."
    );
    assert_eq!(
        told.says[2],
        "All that are wanted would take 1 collet-2.4 more."
    );
    // Four collets for five kits: one more is the one piece that gives another kit.
    let gain = KitGain {
        part: "collet-2.4".to_owned(),
        count: 5,
    };
    assert_eq!(told.one_more, Some(vec![gain]));
    assert_eq!(
        told.says[3],
        "One more piece gives another kit: collet-2.4."
    );
    // The other way round.
    let asked = wanted(&[("K-24L", None), ("K-24G", None)]);
    let told = server.owner.count_kits(&asked).await.expect("a count");
    let in_order: Vec<i64> = told.kits.iter().map(|kit| kit.in_order).collect();
    assert_eq!((in_order, told.wanted_lacks), (vec![2, 2], Vec::new()));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_counted_is_refused_by_name() {
    let server = shop().await;
    for (asked, pointer) in [
        (wanted(&[]), "/kits"),
        (wanted(&[("K-24L", Some(0))]), "/kits/0/wanted"),
        (wanted(&[("K-24L", None), ("k-24l", None)]), "/kits/1/kit"),
        (wanted(&[("K-9", None)]), "/kits/0/kit"),
    ] {
        let refused = server.owner.count_kits(&asked).await.unwrap_err();
        let problem = refused.problem().expect("a problem");
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
    // A lens with the cup of a body goes together on no torch.
    kit(&server, "K-wrong", &["lens-2.4", "cup-7"]).await;
    let refused = server
        .owner
        .count_kit("K-wrong", &GetKitCount::default())
        .await
        .unwrap_err();
    assert!(refused.is(ProblemKind::WrongState), "{refused:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn checks_and_counts_are_sheets_too() {
    let server = shop().await;
    server.torch("T1", &STANDARD).await;
    let sheet = server
        .owner
        .count_kit_sheet("K-24L", &GetKitCount::default())
        .await;
    assert_eq!(
        sheet.expect("a sheet"),
        "kit,site,count,next_kit_wants,one_more_of,as_of\r\n\
         K-24L,shop,2,1 body-2.4; 1 insulator-std,,2026-06-15T11:00:00Z\r\n"
    );
    let sheet = server
        .owner
        .check_kit_sheet("T1", "K-24L")
        .await
        .expect("a sheet");
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(lines.len(), 8);
    assert_eq!(
        lines[5],
        "T1,K-24L,complete,2,body-2.4,\"Collet body 2.4 mm, large body\",1,2,0,,,,,,,,2026-06-15T11:00:00Z"
    );
}
