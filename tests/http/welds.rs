//! Jobs that are sized by a weld list: arc time, electrodes and cups as by the hour, and gas and
//! filler beside them in one order. The figures are worked out by hand.

use tigstock_tests::TestServer;
use tigstock_tests::demo::{furnished, needs as needs_of_demo};
use types::{
    GetNeeds, NeedLine, Needs, NewCount, NewJob, NewMovement, NewOffer, NewPart, NewUsage, WeldLine,
};

/// A fillet whose list line adds up to 34 h of arc: 510 m at 250 mm a minute.
fn fillet() -> WeldLine {
    WeldLine {
        joint: "fillet".to_owned(),
        leg_um: Some(3_000),
        length_mm: 510_000,
        speed_mm_per_minute: 250,
        material: "stainless".to_owned(),
        filler: Some("ER308L-1.6".to_owned()),
        starts: Some(900),
        ..WeldLine::default()
    }
}

/// The shop of scenario S5 with argon in cylinders of 8 400 L and filler in tubes of 5 kg.
async fn shop() -> TestServer {
    let server = furnished().await;
    let argon = NewPart {
        code: "argon".to_owned(),
        kind: "shielding-gas".to_owned(),
        composition: Some("argon".to_owned()),
        ..NewPart::default()
    };
    let rod = NewPart {
        code: "ER308L-1.6".to_owned(),
        kind: "filler-rod".to_owned(),
        composition: Some("ER308L".to_owned()),
        diameter: Some("1.6 mm".to_owned()),
        ..NewPart::default()
    };
    for (part, pack_size, price_minor) in [(argon, 8_400_000, 9_500), (rod, 5_000, 18_000)] {
        let code = part.code.clone();
        server.part(part).await;
        let offer = NewOffer {
            supplier: "quayhead".to_owned(),
            part: code,
            pack_size,
            price_minor,
            ..NewOffer::default()
        };
        server.owner.create_offer(&offer).await.expect("an offer");
    }
    server
}

/// The job of scenario S5, with a weld list in the place of hours.
async fn by_welds(server: &TestServer, make: impl FnOnce(&mut NewJob)) -> types::Job {
    let found = server.owner.get_job("R-118").await.expect("the job");
    let version = found.version;
    let mut job = found.into_new();
    job.arc_minutes = None;
    job.welds = vec![fillet()];
    make(&mut job);
    let replaced = server.owner.replace_job("R-118", &job, version).await;
    replaced.expect("it is replaced")
}

fn with_gas(job: &mut NewJob) {
    job.gas = Some("argon".to_owned());
    job.gas_flow = Some("8 L/min".to_owned());
    job.pre_flow_ms = Some(500);
    job.post_flow_ms = Some(8_000);
}

async fn needs(server: &TestServer) -> Needs {
    let query = GetNeeds::default();
    let needs = server.owner.get_job_needs("R-118", &query).await;
    needs.expect("the needs")
}

fn line<'n>(needs: &'n Needs, part: &str) -> &'n NeedLine {
    let found = needs.lines.iter().find(|line| line.part == part);
    found.unwrap_or_else(|| panic!("no line of {part}: {needs:?}"))
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_that_adds_up_to_34_hours_needs_the_parts_of_34_hours() {
    let server = shop().await;
    let by_hours = needs_of_demo(&server).await;
    let job = by_welds(&server, |job| job.welds[0].filler = None).await;
    assert_eq!(job.arc_minutes, None);
    assert!(
        job.says[0].contains("34 h of arc, 900 starts"),
        "{:?}",
        job.says
    );
    let by_list = needs(&server).await;
    assert_eq!(by_list.lines, by_hours.lines);
    assert!((by_list.chance_after - 0.9720).abs() < 5e-5);
    assert_eq!(by_list.cost_minor, Some(5_450));
    assert!(
        by_list
            .assumes
            .iter()
            .any(|line| line == "The weld list adds up to 34 h of arc and 900 starts."),
        "{:?}",
        by_list.assumes
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn arc_time_that_is_given_goes_before_the_list_and_is_said_to() {
    let server = shop().await;
    let job = by_welds(&server, |job| job.arc_minutes = Some(60)).await;
    let told = "The arc time that was given, 1 h, goes before the 34 h of the weld list.";
    assert!(job.says.iter().any(|line| line == told), "{:?}", job.says);
    let needs = needs(&server).await;
    assert!(needs.assumes.iter().any(|line| line == told));
    // 60 electrodes in 430 h, over one.
    let electrode = line(&needs, "WLa20-2.4");
    assert!((electrode.expected - 60.0 / 430.0).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_order_has_electrodes_collets_argon_and_filler() {
    let server = shop().await;
    by_welds(&server, with_gas).await;
    let needs = needs(&server).await;
    // 34 h at 8 L/min and 900 starts of 8.5 s: 16 320 L + 1 020 L.
    let argon = line(&needs, "argon");
    assert_eq!(argon.unit, "ml");
    assert!((argon.expected - 17_340_000.0).abs() < 1.0, "{argon:?}");
    // A gamma of shape 25 has its 95 % point at 1.3501 of its mean: 23 411 L, three cylinders.
    let need = 23_411_000_f64;
    assert!((whole(argon.need) / need - 1.0).abs() < 1e-3, "{argon:?}");
    let order = argon.order.as_ref().expect("an order");
    assert_eq!((order.packs, order.pack_size), (3, 8_400_000));
    assert!(
        argon.why.contains("8 L/min over 34 h of arc"),
        "{}",
        argon.why
    );
    // 4.5 mm2 x 510 m x 7.95 g/cm3 x 1.2 / 0.95 = 23 046.6 g, rounded up.
    let rod = line(&needs, "ER308L-1.6");
    assert_eq!(rod.unit, "g");
    assert!((rod.expected - 23_047.0).abs() < 0.01, "{rod:?}");
    // 31 116 g at 95 %: seven tubes of 5 kg.
    let order = rod.order.as_ref().expect("an order");
    assert_eq!((order.packs, order.pack_size), (7, 5_000));
    // A rod of 1.6 mm and 1 m weighs 15.985 g: 1 442 rods.
    assert!(rod.why.contains("about 1442 rods of 1 m"), "{}", rod.why);
    assert_eq!(needs.orders.len(), 1, "{:?}", needs.orders);
    let parts = &needs.orders[0].parts;
    for part in ["WLa20-2.4", "collet-2.4", "argon", "ER308L-1.6"] {
        assert!(parts.iter().any(|it| it == part), "{part}: {parts:?}");
    }
    let said = needs.says.join("\n");
    assert!(
        said.contains("3 packs of 8400 L argon") && said.contains("7 packs of 5 kg ER308L-1.6"),
        "{said}"
    );
}

fn whole(number: i64) -> f64 {
    number.to_string().parse().expect("a number")
}

#[tokio::test(flavor = "multi_thread")]
async fn purging_adds_its_litres_and_its_caution() {
    let server = shop().await;
    by_welds(&server, |job| {
        with_gas(job);
        job.purge_litres = Some(660);
    })
    .await;
    let needs = needs(&server).await;
    let argon = line(&needs, "argon");
    assert!((argon.expected - 18_000_000.0).abs() < 1.0, "{argon:?}");
    assert!(argon.why.contains("660 L of purging"), "{}", argon.why);
    let all = needs.cautions.join("\n");
    assert!(all.contains("displaces air without warning"), "{all}");
    // Stainless welds call for the caution of fume.
    assert!(all.contains("Ventilate or extract"), "{all}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_shop_drew_weighs_against_the_paper_by_the_cylinder() {
    let server = shop().await;
    by_welds(&server, with_gas).await;
    let count = NewCount {
        part: "argon".to_owned(),
        counted: 84_000_000,
        ..NewCount::default()
    };
    let counted = server.owner.record_count(&count, "cylinders").await;
    counted.expect("a count");
    server.set_clock("2026-06-15T08:10:00-03:00");
    // Ten cylinders drawn, and then 84 arc hours logged: 1 000 L an hour.
    let drawn = NewMovement {
        kind: "issue".to_owned(),
        part: "argon".to_owned(),
        quantity: 84_000_000,
        ..NewMovement::default()
    };
    let drawn = server.owner.record_movement(&drawn, "swaps").await;
    drawn.expect("it is recorded");
    server.set_clock("2026-06-15T08:20:00-03:00");
    let hours = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(84 * 60),
        ..NewUsage::default()
    };
    let hours = server.owner.record_usage(&hours, "hours").await;
    hours.expect("it is recorded");
    server.set_clock("2026-06-15T08:30:00-03:00");
    let needs = needs(&server).await;
    let argon = line(&needs, "argon");
    // (25 + 10) over (25 x 34 / 17 340 + 84 / 8 400) L, times 34 h.
    let rate = 35.0 / (25.0 * 34.0 / 17_340.0 + 84.0 / 8_400.0);
    assert!(
        (argon.expected / (rate * 34.0 * 1_000.0) - 1.0).abs() < 1e-9,
        "{argon:?}"
    );
    let own = 0.01 / (25.0 * 34.0 / 17_340.0 + 0.01);
    assert!((argon.own_share - own).abs() < 1e-9, "{argon:?}");
    assert!(
        argon.why.contains("what you drew over 84 arc hours"),
        "{}",
        argon.why
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn gas_without_a_list_goes_by_the_hours_and_says_what_is_left_out() {
    let server = shop().await;
    by_welds(&server, |job| {
        with_gas(job);
        job.welds = Vec::new();
        job.arc_minutes = Some(34 * 60);
    })
    .await;
    let needs = needs(&server).await;
    let argon = line(&needs, "argon");
    assert!((argon.expected - 16_320_000.0).abs() < 1.0, "{argon:?}");
    assert!(
        argon
            .why
            .contains("without the gas before and after each arc"),
        "{}",
        argon.why
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn gas_and_filler_may_be_left_out_and_come_back_as_they_were_given() {
    let server = shop().await;
    let job = by_welds(&server, |job| {
        with_gas(job);
        job.left_out.push("argon".to_owned());
    })
    .await;
    assert_eq!(job.gas.as_deref(), Some("argon"));
    assert_eq!(job.gas_flow.as_deref(), Some("8 L/min"));
    assert_eq!(
        (job.pre_flow_ms, job.post_flow_ms),
        (Some(500), Some(8_000))
    );
    assert_eq!(job.welds, [fillet()]);
    let needs = needs(&server).await;
    assert!(needs.lines.iter().all(|line| line.part != "argon"));
    assert!(needs.left_out.iter().any(|part| part == "argon"));
    line(&needs, "ER308L-1.6");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_a_list_names_cannot_be_removed() {
    let server = shop().await;
    by_welds(&server, with_gas).await;
    for part in ["argon", "ER308L-1.6"] {
        let version = server.owner.get_part(part).await.expect("it").version;
        let refused = server.owner.delete_part(part, version).await;
        refused.expect_err("a job needs it");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn lines_of_one_filler_add_up() {
    let server = shop().await;
    by_welds(&server, |job| {
        job.welds = vec![
            WeldLine {
                length_mm: 6_000,
                starts: None,
                ..fillet()
            },
            // 6 mm plate, gap 2, 60 degrees: 32.785 mm2; 3 passes of 1 m at 100 mm a minute.
            WeldLine {
                joint: "single-v".to_owned(),
                leg_um: None,
                thickness_um: Some(6_000),
                gap_um: Some(2_000),
                angle_degrees: Some(60),
                length_mm: 1_000,
                passes: Some(3),
                speed_mm_per_minute: 100,
                starts: None,
                ..fillet()
            },
        ];
    })
    .await;
    let needs = needs(&server).await;
    // 271.1 g rounds up to 272; 32.785 x 7.95 x 1.2 / 0.95 = 329.2 g to 330.
    let rod = line(&needs, "ER308L-1.6");
    assert!((rod.expected - 602.0).abs() < 0.01, "{rod:?}");
    // 24 min and 30 min; 40 starts and 3 passes of 7.
    assert!(
        needs
            .assumes
            .iter()
            .any(|line| line == "The weld list adds up to 54 min of arc and 61 starts."),
        "{:?}",
        needs.assumes
    );
}
