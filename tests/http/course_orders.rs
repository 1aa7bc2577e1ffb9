//! Orders for a course: drafted from what it is short of, at the figures of scenario S11; and orders
//! below the minimum of a supplier.

use tigstock_tests::TestServer;
use tigstock_tests::school::{COURSE, school};
use types::page::Page;
use types::{
    DraftOrders, DraftedOrders, GetNeeds, NewOrder, NewOrderLine, NewUsage, PlaceOrder, ProblemKind,
};

use crate::order_over_suppliers::{offer, sells, shop, supplier};

async fn drafted(server: &TestServer, key: &str) -> DraftedOrders {
    let query = DraftOrders::default();
    let drafted = server.owner.draft_course_orders(COURSE, &query, key).await;
    drafted.expect("a draft")
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_of_the_course_is_drafted_and_placed() {
    let server = school().await;
    let drafts = drafted(&server, "draft").await;
    let [order] = &drafts.orders[..] else {
        panic!("one supplier: {drafts:?}")
    };
    // The proposal of the scenario: 174.10, with two back caps.
    assert_eq!((order.cost_minor, &*order.site), (17_410, "tarnbridge"));
    assert_eq!(
        (order.course.as_deref(), order.job.as_deref()),
        (Some(COURSE), None)
    );
    let caps = order.lines.iter().find(|line| line.part == "back-cap-long");
    assert_eq!(caps.expect("back caps").pieces, 2);
    assert!(
        drafts
            .says
            .starts_with("Chance nobody stops for a part: 5 % now, 95 %")
    );
    server
        .owner
        .place_order(order.number)
        .await
        .expect("placed");
    let query = GetNeeds::default();
    let needs = server.owner.get_course_needs(COURSE, &query).await;
    let needs = needs.expect("needs").needs;
    assert!(
        needs.orders.is_empty() && needs.target_met,
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn drafting_again_takes_the_place_of_the_draft_and_a_repeat_does_nothing() {
    let server = school().await;
    let first = drafted(&server, "draft").await;
    assert_eq!(drafted(&server, "draft").await, first);
    let second = drafted(&server, "again").await;
    assert_ne!(first.orders[0].number, second.orders[0].number);
    let orders = server.owner.list_orders(&Page::default()).await;
    let states: Vec<String> = orders
        .expect("orders")
        .orders
        .into_iter()
        .map(|it| it.state)
        .collect();
    assert_eq!(states, ["draft", "cancelled"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_with_an_order_or_an_entry_stays_on_record() {
    let server = school().await;
    let course = server.owner.get_course(COURSE).await.expect("the course");
    let drafts = drafted(&server, "draft").await;
    let gone = server.owner.delete_course(COURSE, course.version).await;
    assert!(gone.expect_err("an order names it").is(ProblemKind::InUse));
    assert_eq!(drafts.orders.len(), 1);
    let broke = NewUsage {
        part: Some("cup-7".to_owned()),
        what: Some("broke".to_owned()),
        qty: Some(1),
        course: Some("course-2".to_owned()),
        ..NewUsage::default()
    };
    let other = types::NewCourse {
        code: "course-2".to_owned(),
        ..tigstock_tests::school::course()
    };
    let other = server.owner.create_course(&other).await.expect("a course");
    let broke = server.owner.record_usage(&broke, "broke").await;
    broke.expect("it is logged");
    let gone = server.owner.delete_course("course-2", other.version).await;
    assert!(gone.expect_err("an entry names it").is(ProblemKind::InUse));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_is_for_a_job_or_a_course() {
    let server = school().await;
    let order = NewOrder {
        supplier: "quayhead".to_owned(),
        job: Some("R-1".to_owned()),
        course: Some(COURSE.to_owned()),
        lines: vec![NewOrderLine {
            part: "cup-7".to_owned(),
            pack_size: 10,
            packs: 1,
        }],
        ..NewOrder::default()
    };
    let refused = server.owner.create_order(&order, "both").await;
    let refused = refused.expect_err("one of them").to_string();
    assert!(
        refused.contains("leave out R-1 or course-0912"),
        "{refused}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_below_the_minimum_is_placed_only_if_the_supplier_agreed() {
    let server = shop().await;
    let ferrymoor = types::NewSupplier {
        minimum_minor: 4_000,
        ..supplier("ferrymoor", 0)
    };
    sells(&server, ferrymoor, &[offer("ferrymoor", "rod", 8, 1_600)]).await;
    let order = |packs| NewOrder {
        supplier: "ferrymoor".to_owned(),
        lines: vec![NewOrderLine {
            part: "rod".to_owned(),
            pack_size: 8,
            packs,
        }],
        ..NewOrder::default()
    };
    // Two packs are 32.00 of 40.00, three are 48.00.
    let small = server.owner.create_order(&order(2), "small").await;
    let small = small.expect("a draft").number;
    let refused = server.owner.place_order(small).await.expect_err("below");
    assert!(refused.is(ProblemKind::Invalid), "{refused:?}");
    let told = refused.to_string();
    for words in [
        "32.00 CAD",
        "ferrymoor",
        "40.00 CAD",
        "more packs",
        "below_minimum=true",
    ] {
        assert!(told.contains(words), "{told}");
    }
    let agreed = PlaceOrder {
        below_minimum: true,
    };
    let placed = server.owner.place_order_as(small, &agreed).await;
    assert_eq!(placed.expect("it is agreed").state, "placed");
    let large = server.owner.create_order(&order(3), "large").await;
    let large = large.expect("a draft").number;
    let placed = server.owner.place_order(large).await;
    assert_eq!(placed.expect("it is enough").state, "placed");
}
