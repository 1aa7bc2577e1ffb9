//! The pages: what is next, everything for the next job, the warnings. Figures and words are those of the
//! scenarios, worked out outside this project.

use data_encoding::BASE64;
use sha2::{Digest, Sha256};
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::demo::furnished;
use tigstock_tests::watched::WATCHED;
use types::{GetChanges, NewArrival, Role};

use crate::sign_in::{cookie, form, read};

/// The shop of the low-stock example on Wednesday, with its warning told.
async fn on_wednesday() -> TestServer {
    let server = TestServer::watched_shop().await;
    for day in [15, 16] {
        server.set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        server.works(None).await;
    }
    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    server.looks().await;
    server
}

/// What stands between the first two such marks, with its tags.
fn between<'t>(text: &'t str, from: &str, to: &str) -> Vec<&'t str> {
    let each = text.split(from).skip(1);
    each.map(|rest| rest.split(to).next().unwrap_or_default())
        .collect()
}

/// Text without its tags.
fn plain(markup: &str) -> String {
    let mut plain = String::new();
    let mut is_tag = false;
    for c in markup.chars() {
        match c {
            '<' => is_tag = true,
            '>' => is_tag = false,
            _ if !is_tag => plain.push(c),
            _ => {}
        }
    }
    plain
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_next_comes_in_the_order_of_time_with_its_reason() {
    let server = on_wednesday().await;
    let heard = read(&server, Role::Read, "/").await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    let text = heard.text();
    let lines = between(&text, "<summary>", "</summary>");
    let lines: Vec<String> = lines.into_iter().map(plain).collect();
    let order = lines.iter().find(|line| line.contains("Order"));
    let order = order.unwrap_or_else(|| panic!("{lines:?}"));
    // The parcel takes five open days, and the stock lasts with a chance of 95 % until Monday 29 June; the
    // supplier takes orders until noon.
    assert_eq!(order, "Mon 22 Jun 12:00 \u{25b2} Order: WLa20-1.6");
    assert!(text.contains("<strong>Next: </strong>1 pack of 10, Quayhead, by Mon 22 Jun."));
    assert_eq!(
        between(&text, "Everything for the next job", "</a>").len(),
        1
    );
    assert!(text.contains("1 warning stands"), "{text}");
    // What is due now comes before what is due on Monday.
    let due: Vec<bool> = lines.iter().map(|line| line.starts_with("Now")).collect();
    assert!(due.is_sorted_by(|a, b| a >= b), "{lines:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn there_are_never_more_than_seven_lines() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let parts: Vec<String> = (1..=9).map(|at| format!("rod-{at}")).collect();
    for (part, size) in parts.iter().zip([
        "1.0", "1.6", "2.0", "2.4", "3.2", "4.0", "4.8", "5.0", "6.4",
    ]) {
        server
            .stocked(electrode(part, &format!("{size} mm")), 0)
            .await;
    }
    for (at, part) in parts.iter().enumerate() {
        server.torch(&format!("T{at}"), &[part]).await;
    }
    let told = server.owner.get_changes(&GetChanges::default()).await;
    let told = told.expect("changes");
    assert_eq!((told.next.len(), told.more), (7, 2));
    let text = read(&server, Role::Read, "/").await.text();
    assert_eq!(text.matches("<summary>").count(), 7, "{text}");
    assert!(text.contains("more, later than these."), "{text}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_next_job_says_what_is_missing_the_chance_and_the_order() {
    let server = furnished().await;
    let heard = read(&server, Role::Read, "/next-job?work=R-118").await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    let text = plain(&heard.text());
    for told in [
        "R-118, starts Fri 26 June 2026",
        "WLa20-2.4: 6 more. Needs 9, 3 available.",
        "collet-2.4: 1 more. Needs 2, 1 available.",
        "Chance that it runs without a stop: 27 % now, 97 % after the order below.",
        "1 \u{d7} 10 WLa20-2.4",
        "1 \u{d7} 5 collet-2.4",
        "54.50 CAD",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    assert!(
        !text.contains("cup-7-gas-lens: "),
        "of cups there are enough"
    );
    let heard = read(&server, Role::Read, "/next-job?work=R-999").await;
    assert_eq!(heard.status, 404);
    assert!(heard.text().contains("R-999"), "{}", heard.text());
}

#[tokio::test(flavor = "multi_thread")]
async fn without_work_the_next_job_says_so() {
    let server = TestServer::start().await;
    let text = read(&server, Role::Read, "/next-job").await.text();
    assert!(
        text.contains("No job and no course is booked here."),
        "{text}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_warning_is_shown_where_it_stands_until_it_is_closed() {
    let server = on_wednesday().await;
    let shown = async || {
        let text = read(&server, Role::Keep, "/warnings").await.text();
        between(&text, "<h2>", "</h2>").join(", ")
    };
    assert_eq!(shown().await, "Told (1)");
    let id = server.warning().await.id;
    let cookie = cookie(&server, Role::Keep).await;
    let quiet = form(
        &server,
        &format!("/warnings/{id}/quiet"),
        "until=tomorrow&on_hand=2",
    );
    let heard = quiet.header("Cookie", &cookie).send().await;
    assert_eq!(heard.status, 303, "{}", heard.text());
    assert_eq!(shown().await, "Quiet until (1)");
    let text = read(&server, Role::Keep, &format!("/warnings/{id}"))
        .await
        .text();
    assert!(
        text.contains("quiet until Thu 18 Jun 00:00, or until 2 or fewer are on hand"),
        "{text}"
    );
    server.set_clock("2026-06-22T09:00:00-03:00");
    let order = server.orders_ten(WATCHED).await;
    server.set_clock("2026-06-29T10:00:00-03:00");
    let came = NewArrival::default();
    let received = server.owner.receive_order(order, &came, "parcel").await;
    received.expect("received");
    server.looks().await;
    assert_eq!(shown().await, "Closed (1)");
    let text = read(&server, Role::Keep, &format!("/warnings/{id}"))
        .await
        .text();
    assert!(!text.contains("/count\""), "what is closed is not answered");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_to_a_wrong_warning_is_a_count_on_its_page() {
    let server = on_wednesday().await;
    let id = server.warning().await.id;
    let page = format!("/warnings/{id}");
    let text = read(&server, Role::Log, &page).await.text();
    assert!(text.contains("Counted of WLa20-1.6, in drawers, not in torches"));
    let cookie = cookie(&server, Role::Log).await;
    let fill = |counted: &str| {
        let body = format!("form={}&counted={counted}", uuid::Uuid::now_v7());
        let ask = form(&server, &format!("{page}/count"), &body);
        ask.header("Cookie", &cookie).send()
    };
    for wrong in ["twelve", "-1", "1.5", ""] {
        let heard = fill(wrong).await;
        assert_eq!(heard.status, 422, "{wrong}: {}", heard.text());
        assert!(heard.text().contains("Not recorded: "), "{wrong}");
    }
    assert_eq!(server.on_hand(WATCHED).await, 4);
    let heard = fill("12").await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    assert!(
        heard
            .text()
            .contains("Counted 12. It is recorded; the warning is closed.")
    );
    assert_eq!(server.on_hand(WATCHED).await, 12);
    let heard = read(&server, Role::Log, "/warnings/nothing").await;
    assert_eq!(heard.status, 404);
    assert_eq!(heard.header("content-type"), "text/html; charset=utf-8");
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_run_nothing_load_nothing_and_are_kept_by_nobody() {
    let server = on_wednesday().await;
    let warning = format!("/warnings/{}", server.warning().await.id);
    for path in [
        "/",
        "/next-job",
        "/warnings",
        &warning,
        "/sign-in",
        "/warnings/no",
    ] {
        let heard = read(&server, Role::Own, path).await;
        let text = heard.text();
        assert!(!text.contains("<script"), "{path}: {text}");
        let handlers = between(&text, " on", "=\"");
        let is_name = |name: &&&str| name.chars().all(|c| c.is_ascii_lowercase());
        assert_eq!(handlers.iter().find(is_name), None, "{path}");
        for told in [
            "<!DOCTYPE html>",
            "<html lang=\"en\">",
            "width=device-width",
            "<main id=\"main\"><h1>",
        ] {
            assert!(text.contains(told), "{path}, {told}: {text}");
        }
        assert_eq!(text.matches("<h1>").count(), 1, "{path}");
        assert_eq!(heard.header("cache-control"), "no-store", "{path}");
        let policy = heard.header("content-security-policy");
        assert!(
            policy.starts_with("default-src 'none'; style-src 'sha256-"),
            "{policy}"
        );
        assert!(!policy.contains("unsafe"), "{policy}");
        // The one style that the policy lets through is the one that is there.
        let style = between(&text, "<style>", "</style>")[0];
        let hash = BASE64.encode(&Sha256::digest(style.as_bytes()));
        assert!(policy.contains(&format!("'sha256-{hash}'")), "{policy}");
        for id in between(&text, "<label for=\"", "\"") {
            assert!(text.contains(&format!(" id=\"{id}\"")), "{path}: {id}");
        }
    }
    let contract = server.ask_without_key("GET", "/openapi.json").send().await;
    let contract: serde_json::Value = contract.read();
    let paths = contract["paths"].as_object().expect("paths");
    let pages = paths.keys().filter(|path| !path.starts_with("/v1/"));
    let pages: Vec<&str> = pages.map(String::as_str).collect();
    assert_eq!(
        pages,
        ["/healthz", "/readyz"],
        "pages are not in the contract"
    );
}
