//! What was told of warnings, as other programs read it: the feed by the required elements of RFC 4287 with a
//! parser of XML, and the calendar with the warnings that stand.

use std::collections::BTreeSet;

use chrono::{DateTime, FixedOffset};
use ical::IcalParser;
use roxmltree::{Document, Node};
use tigstock_tests::TestServer;
use tigstock_tests::raw::Heard;
use tigstock_tests::watched::WATCHED;
use types::{GetCalendar, GetWarningFeed, NewWatch, ProblemKind, Role};

/// The namespace of RFC 4287.
const ATOM: &str = "http://www.w3.org/2005/Atom";
const FEED: &str = "/v1/warnings.atom";

async fn feed(server: &TestServer) -> String {
    let query = GetWarningFeed::default();
    let told = server.owner.get_warning_feed(&query).await;
    told.expect("a feed")
}

/// The one child of that name.
fn child<'d, 'i>(node: Node<'d, 'i>, name: &str) -> Node<'d, 'i> {
    let found: Vec<Node<'d, 'i>> = node
        .children()
        .filter(|child| child.has_tag_name((ATOM, name)))
        .collect();
    let [one] = found[..] else {
        panic!("{} of {name} in {node:?}", found.len())
    };
    one
}

fn text<'d>(node: Node<'d, '_>, name: &str) -> &'d str {
    child(node, name).text().expect("it says something")
}

fn at(node: Node<'_, '_>, name: &str) -> DateTime<FixedOffset> {
    let told = text(node, name);
    DateTime::parse_from_rfc3339(told).unwrap_or_else(|_| panic!("{told}"))
}

fn id<'d>(node: Node<'d, '_>) -> &'d str {
    let told = text(node, "id");
    let uuid = told.strip_prefix("urn:uuid:").expect("an id of its own");
    uuid::Uuid::parse_str(uuid).expect("a UUID");
    told
}

fn entries<'d, 'i>(feed: Node<'d, 'i>) -> Vec<Node<'d, 'i>> {
    feed.children()
        .filter(|child| child.has_tag_name((ATOM, "entry")))
        .collect()
}

fn links<'d>(node: Node<'d, '_>, rel: &str) -> Vec<&'d str> {
    node.children()
        .filter(|child| child.has_tag_name((ATOM, "link")))
        .filter(|link| link.attribute("rel").unwrap_or("alternate") == rel)
        .filter_map(|link| link.attribute("href"))
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_feed_has_all_that_the_standard_asks_for_and_says_what_was_told() {
    let server = TestServer::at("2026-06-17T12:00:00-03:00").await;
    let odd =
        "Electrode <WLa20> & \"1.6 mm\": 4 left \u{2013} order point 4. Next: \u{8001}\u{864e}";
    let first = server.tell("WLa20-1.6", odd).await;
    server.set_clock("2026-06-18T12:00:00-03:00");
    let second = server.tell("R-118", "R-118 is short.").await;
    let told = feed(&server).await;
    let read = Document::parse(&told).expect("XML");
    let root = read.root_element();
    assert!(root.has_tag_name((ATOM, "feed")));
    assert_eq!(text(root, "title"), "tigstock: warnings");
    assert_eq!(text(child(root, "author"), "name"), "tigstock");
    assert_eq!(links(root, "self"), ["/v1/warnings.atom"]);
    let own = id(root);
    let entries = entries(root);
    let ids: Vec<&str> = entries.iter().map(|entry| id(*entry)).collect();
    // The newest first, under the ids that they have on every channel.
    assert_eq!(ids, [second.urn().to_string(), first.urn().to_string()]);
    assert!(!ids.contains(&own));
    assert_eq!(at(root, "updated"), at(entries[0], "updated"));
    assert_eq!(
        at(entries[1], "updated").to_rfc3339(),
        "2026-06-17T15:00:00+00:00"
    );
    assert_eq!(text(entries[1], "summary"), odd);
    assert_eq!(text(entries[1], "title"), "WLa20-1.6");
    for entry in entries {
        assert_eq!(links(entry, "alternate").len(), 1);
        let category = child(entry, "category");
        assert_eq!(category.attribute("term"), Some("warning.told"));
    }
    let again = feed(&server).await;
    let again = Document::parse(&again).expect("XML");
    assert_eq!(id(again.root_element()), own, "a feed keeps its id");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_feed_is_a_feed_and_an_unchanged_one_is_not_sent_again() {
    let server = TestServer::at("2026-06-17T12:00:00-03:00").await;
    let ask = async |tag: &str| -> Heard {
        let ask = server.ask("GET", FEED).header("If-None-Match", tag);
        ask.send().await
    };
    let first = ask("\"none\"").await;
    assert_eq!(first.status, 200);
    let media_type = "application/atom+xml; charset=utf-8";
    assert_eq!(first.header("Content-Type"), media_type);
    let told = first.text();
    let read = Document::parse(&told).expect("XML");
    assert!(entries(read.root_element()).is_empty());
    at(read.root_element(), "updated");
    let tag = first.header("ETag").to_owned();
    server.set_clock("2026-06-17T13:00:00-03:00");
    assert_eq!(ask(&tag).await.status, 304);
    server.tell("WLa20-1.6", "4 left.").await;
    let changed = ask(&tag).await;
    assert_eq!(changed.status, 200);
    let tag = changed.header("ETag").to_owned();
    assert_eq!(ask(&tag).await.status, 304);
}

#[tokio::test(flavor = "multi_thread")]
async fn only_a_key_that_reads_is_taken_in_the_address() {
    let server = TestServer::start().await;
    let ask = async |role: Role| {
        let path = format!("{FEED}?key={}", server.key(role));
        server.ask_without_key("GET", &path).send().await
    };
    assert_eq!(ask(Role::Read).await.status, 200);
    ask(Role::Own).await.problem(ProblemKind::Unauthenticated);
    let query = GetWarningFeed {
        site: Some("nowhere".to_owned()),
        ..GetWarningFeed::default()
    };
    let error = server.owner.get_warning_feed(&query).await;
    let error = error.expect_err("there is no such site");
    assert_eq!(
        error.problem().expect("a problem").violations[0].pointer,
        "?site"
    );
}

/// The warnings in the calendar: id, first day, day after the last, words.
async fn in_calendar(server: &TestServer) -> Vec<(String, String, String, String)> {
    let calendar = server.owner.get_calendar(&GetCalendar::default()).await;
    let calendar = calendar.expect("a calendar");
    let read = IcalParser::new(calendar.as_bytes()).next();
    let read = read.expect("a calendar").expect("it can be read");
    let of = |event: &ical::parser::ical::component::IcalEvent, name: &str| {
        let found = event.properties.iter().find(|it| it.name == name);
        found.and_then(|it| it.value.clone()).unwrap_or_default()
    };
    let warnings = read
        .events
        .iter()
        .filter(|it| of(it, "CATEGORIES") == "warning");
    warnings
        .map(|it| {
            let text = of(it, "SUMMARY").replace("\\,", ",").replace("\\;", ";");
            (of(it, "UID"), of(it, "DTSTART"), of(it, "DTEND"), text)
        })
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_warning_that_is_told_to_the_calendar_stands_there_until_it_is_ordered_for() {
    let server = TestServer::watched_shop().await;
    let watch = NewWatch {
        part: Some(WATCHED.to_owned()),
        channels: vec!["mail".to_owned(), "calendar".to_owned()],
        ..NewWatch::default()
    };
    server.owner.create_watch(&watch).await.expect("a watch");
    for day in [15, 16] {
        server.set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        server.works(None).await;
    }
    server.looks().await;
    assert!(in_calendar(&server).await.is_empty());
    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    server.looks().await;
    let [(id, first, after, says)] = &in_calendar(&server).await[..] else {
        panic!("one warning")
    };
    assert_eq!((&**first, &**after), ("20260617", "20260618"));
    assert_eq!(
        says,
        "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; delivery takes 1 week. \
         Next: 1 pack of 10, Quayhead, by Mon 22 Jun."
    );
    let warning = server
        .owner
        .list_warnings(&types::ListWarnings::default())
        .await;
    assert_eq!(*id, warning.expect("warnings").warnings[0].id.to_string());
    // It stands until it is mended, and reaches to today.
    server.set_clock("2026-06-19T12:00:00-03:00");
    let seen = in_calendar(&server).await;
    assert_eq!((&*seen[0].1, &*seen[0].2), ("20260617", "20260620"));
    // The same event is in the feed of warnings.
    let told = feed(&server).await;
    let read = Document::parse(&told).expect("XML");
    let entries = entries(read.root_element());
    let links: BTreeSet<&str> = entries
        .iter()
        .flat_map(|it| links(*it, "alternate"))
        .collect();
    assert!(links.contains(&*format!("/v1/warnings/{id}")), "{links:?}");
    // Once ten are on order it is silent.
    server.orders_ten(WATCHED).await;
    server.looks().await;
    assert!(in_calendar(&server).await.is_empty());
}
