//! The school of scenario S11 in a test server: two past courses of 36 student-days, the drawers
//! three weeks before the next one, and the shop's own record beside it.

use types::{
    KitLine, NewCount, NewCourse, NewKit, NewOffer, NewPart, NewSite, NewSupplier, NewUsage,
    NewUsageBatch,
};

use crate::{TestServer, builders, instant};

/// Three weeks before the course.
pub const BEFORE: &str = "2026-08-24T08:00:00-03:00";

/// The code of the course.
pub const COURSE: &str = "course-0912";

/// A part of the kit of a station: code, pieces used in the past courses, pieces in the drawer, pack
/// size and price of a pack.
type Row = (NewPart, i64, i64, i64, i64);

fn part(code: &str, kind: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

fn rows() -> Vec<Row> {
    let cup = NewPart {
        cup_number: Some(7),
        seat: Some("standard".to_owned()),
        ..part("cup-7", "cup")
    };
    let body = NewPart {
        diameter: Some("2.4 mm".to_owned()),
        arrangement: Some("standard".to_owned()),
        ..part("body-2.4", "collet-body")
    };
    let cap = NewPart {
        length: Some("long".to_owned()),
        ..part("back-cap-long", "back-cap")
    };
    vec![
        (
            builders::electrode("WLa20-2.4", "2.4 mm"),
            31,
            14,
            10,
            4_200,
        ),
        (cup, 14, 9, 10, 3_800),
        (builders::collet("collet-2.4"), 5, 6, 5, 1_250),
        (body, 2, 4, 5, 2_400),
        (part("o-ring-large", "o-ring"), 4, 3, 10, 600),
        (cap, 1, 2, 1, 480),
    ]
}

/// The course of the scenario.
pub fn course() -> NewCourse {
    NewCourse {
        code: COURSE.to_owned(),
        name: Some("TIG for beginners".to_owned()),
        site: Some("tarnbridge".to_owned()),
        kit: "K-24".to_owned(),
        starts: "2026-09-12".parse().expect("a day"),
        ends: Some("2026-09-13".parse().expect("a day")),
        heads: 12,
        stations: 6,
        exercises: vec![
            "beads on steel".to_owned(),
            "fillet on stainless".to_owned(),
        ],
        ..NewCourse::default()
    }
}

/// A server with the school, its record and its course.
pub async fn school() -> TestServer {
    let server = TestServer::at("2026-08-24T07:59:00-03:00").await;
    set_up(&server).await;
    taught(&server).await;
    for (part, _, counted, _, _) in rows() {
        let count = NewCount {
            part: part.code.clone(),
            counted,
            site: Some("tarnbridge".to_owned()),
            ..NewCount::default()
        };
        let key = format!("count-{}", part.code);
        server
            .owner
            .record_count(&count, &key)
            .await
            .expect("a count");
    }
    server.set_clock(BEFORE);
    server
        .owner
        .create_course(&course())
        .await
        .expect("a course");
    server
}

async fn set_up(server: &TestServer) {
    let site = NewSite {
        code: "tarnbridge".to_owned(),
        name: Some("Tarnbridge Community Welding School".to_owned()),
        zone: "America/Halifax".to_owned(),
        barred: vec!["thoriated".to_owned()],
        responsible: Some("instructor".to_owned()),
        ..NewSite::default()
    };
    server.owner.create_site(&site).await.expect("a site");
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    let supplier = server.owner.create_supplier(&supplier).await;
    supplier.expect("a supplier");
    let mut lines = Vec::new();
    for (part, _, _, pack_size, price_minor) in rows() {
        let code = part.code.clone();
        server.part(part).await;
        let offer = NewOffer {
            supplier: "quayhead".to_owned(),
            part: code.clone(),
            pack_size,
            price_minor,
            ..NewOffer::default()
        };
        server.owner.create_offer(&offer).await.expect("an offer");
        lines.push(KitLine {
            part: code,
            quantity: 1,
            ..KitLine::default()
        });
    }
    let kit = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: lines,
    };
    server.owner.create_kit(&kit).await.expect("a kit");
}

/// Two past courses, and 410 arc hours of the shop's own with 58 electrodes.
async fn taught(server: &TestServer) {
    let mut entries = Vec::new();
    for (part, used, _, _, _) in rows() {
        for (course, (at, share)) in [
            ("2026-05-10T16:00:00-03:00", 0),
            ("2026-06-21T16:00:00-03:00", 1),
        ]
        .into_iter()
        .enumerate()
        {
            // Three heads on six days and nine on two: 18 student-days each.
            let used = used / 2 + share * (used % 2);
            entries.push(NewUsage {
                id: Some(format!("taught-{course}-{}", part.code)),
                part: Some(part.code.clone()),
                what: (used > 0).then(|| "took".to_owned()),
                qty: (used > 0).then_some(used),
                student_days: Some(18),
                group: Some("beginner".to_owned()),
                site: Some("tarnbridge".to_owned()),
                at: Some(instant(at).fixed_offset()),
                ..NewUsage::default()
            });
        }
    }
    server.torch("T1", &["WLa20-2.4"]).await;
    entries.push(NewUsage {
        id: Some("own-hours".to_owned()),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(410 * 60),
        at: Some(instant("2026-06-01T12:00:00-03:00").fixed_offset()),
        ..NewUsage::default()
    });
    entries.push(NewUsage {
        id: Some("own-electrodes".to_owned()),
        part: Some("WLa20-2.4".to_owned()),
        what: Some("took".to_owned()),
        qty: Some(58),
        at: Some(instant("2026-06-01T12:01:00-03:00").fixed_offset()),
        ..NewUsage::default()
    });
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    let told = told.expect("a batch");
    assert_eq!(told.refused, 0, "{told:?}");
}
