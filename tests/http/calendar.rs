//! The calendar feed, read by a parser of others (RFC 5545): the hours by which to order and the rest of
//! what is due, on either side of a change of clocks, and who may read it.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use client::Client;
use ical::IcalParser;
use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::raw::Heard;
use tigstock_tests::school::{COURSE, school};
use types::{
    Closure, GetCalendar, NewJob, NewKey, NewOffer, NewOrder, NewOrderLine, NewSupplier,
    ProblemKind, Role,
};

const PART: &str = "WLa20-2.4";

/// An event as the parser gives it: each property with its value, texts without their escapes.
type Event = BTreeMap<String, String>;

fn events(calendar: &str) -> Vec<Event> {
    let mut read = IcalParser::new(calendar.as_bytes());
    let calendar = read.next().expect("a calendar").expect("it can be read");
    assert!(read.next().is_none(), "one calendar");
    let event = |event: ical::parser::ical::component::IcalEvent| {
        let properties = event.properties.into_iter();
        properties
            .map(|it| (it.name, plain(&it.value.unwrap_or_default())))
            .collect()
    };
    calendar.events.into_iter().map(event).collect()
}

/// Text as it was before it was escaped (RFC 5545, 3.3.11).
fn plain(text: &str) -> String {
    let mut plain = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match (letter, letter == '\\') {
            (_, true) => match letters.next() {
                Some('n' | 'N') => plain.push('\n'),
                Some(other) => plain.push(other),
                None => {}
            },
            (letter, false) => plain.push(letter),
        }
    }
    plain
}

async fn read(server: &TestServer) -> Vec<Event> {
    let query = GetCalendar::default();
    events(&server.owner.get_calendar(&query).await.expect("a calendar"))
}

/// When the event of that summary begins and ends.
fn when<'e>(events: &'e [Event], summary: &str) -> (&'e str, Option<&'e str>) {
    let found = events.iter().find(|event| event["SUMMARY"] == summary);
    let found = found.unwrap_or_else(|| panic!("no {summary} in {events:#?}"));
    (&found["DTSTART"], found.get("DTEND").map(String::as_str))
}

fn summaries(events: &[Event]) -> Vec<&str> {
    events.iter().map(|event| &*event["SUMMARY"]).collect()
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

async fn sells(server: &TestServer, code: &str, lead_time_days: i64, closures: &[(&str, &str)]) {
    let closures = closures.iter().map(|(first, last)| Closure {
        first: day(first),
        last: Some(day(last)),
        note: None,
    });
    let seller = NewSupplier {
        code: code.to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days,
        cut_off: Some("12:00".to_owned()),
        closures: closures.collect(),
        ..NewSupplier::default()
    };
    server.owner.create_supplier(&seller).await.expect("one");
    let offer = NewOffer {
        supplier: code.to_owned(),
        part: PART.to_owned(),
        pack_size: 10,
        price_minor: 4200,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
}

async fn job(server: &TestServer, code: &str, start: &str, arc_hours: i64) {
    let job = NewJob {
        code: code.to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(arc_hours * 60),
        start: day(start),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
}

/// A shop in Halifax with two electrodes in a torch's drawer; over 20 arc hours it needs 6 of them.
async fn shop(now: &str) -> TestServer {
    let server = TestServer::at(now).await;
    server.zone("America/Halifax").await;
    let part = assuming(electrode(PART, "2.4 mm"), "arc-hour", 60.0, 430.0);
    server.stocked(part, 2).await;
    server.torch("T1", &[PART]).await;
    server
}

/// Scenario S6 a week before its story begins: who delivers, and when they are shut.
async fn winter() -> TestServer {
    let server = shop("2026-12-14T08:00:00-04:00").await;
    sells(&server, "Millrace", 5, &[("2026-12-25", "2027-01-01")]).await;
    let two_days = [("2026-12-25", "2026-12-25"), ("2027-01-01", "2027-01-01")];
    sells(&server, "Farhaven", 12, &two_days).await;
    job(&server, "R-131", "2027-01-04", 20).await;
    server
}

const DEADLINE: &str = "Order by Thu 17 Dec 12:00 for R-131: WLa20-2.4";

#[tokio::test(flavor = "multi_thread")]
async fn the_feed_carries_the_hour_by_which_a_short_job_is_to_be_ordered_for() {
    let server = winter().await;
    let seen = read(&server).await;
    // Noon in Halifax in winter is 16:00 UTC.
    assert_eq!(when(&seen, DEADLINE), ("20261217T160000Z", None));
    assert_eq!(when(&seen, "R-131 starts"), ("20270104T110000Z", None));
    // The last day of a closure is in it; its end is the day after.
    let shut: Vec<_> = seen
        .iter()
        .filter(|event| event["CATEGORIES"] == "closure")
        .map(|event| (&*event["SUMMARY"], &*event["DTSTART"], &*event["DTEND"]))
        .collect();
    assert_eq!(shut.len(), 3, "{shut:?}");
    assert!(shut.contains(&("Millrace is shut", "20261225", "20270102")));
    assert!(shut.contains(&("Farhaven is shut", "20261225", "20261226")));
    // A week later the hour has passed, and it is still told.
    server.set_clock("2026-12-22T14:20:00-04:00");
    let late = read(&server).await;
    assert_eq!(when(&late, DEADLINE), ("20261217T160000Z", None));
    // 30 days after it the job has begun, and neither is shown any more.
    server.set_clock("2027-02-04T08:00:00-04:00");
    let seen = read(&server).await;
    assert!(summaries(&seen).is_empty(), "{seen:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_ordered_in_time_is_due_on_a_day_and_no_longer_to_be_ordered() {
    let server = winter().await;
    let new = NewOrder {
        supplier: "Millrace".to_owned(),
        lines: vec![NewOrderLine {
            part: PART.to_owned(),
            pack_size: 10,
            packs: 1,
        }],
        ..NewOrder::default()
    };
    let order = server.owner.create_order(&new, "order").await.expect("one");
    server.owner.place_order(order.number).await.expect("it is");
    let seen = read(&server).await;
    let delivery = "Delivery from Millrace: 10 WLa20-2.4";
    // Before the cut-off of Monday 14 December, and five open days on: Monday 21 December.
    assert_eq!(when(&seen, delivery), ("20261221", Some("20261222")));
    assert!(!summaries(&seen).contains(&DEADLINE), "{seen:#?}");
    server.set_clock("2026-12-22T08:00:00-04:00");
    let seen = read(&server).await;
    assert_eq!(when(&seen, delivery), ("20261221", Some("20261222")));
    let late = seen.iter().find(|it| it["SUMMARY"] == delivery);
    let told = &late.expect("it is late")["DESCRIPTION"];
    assert!(
        told.contains("It is late. Next: ask the supplier"),
        "{told}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_that_has_enough_is_not_to_be_ordered_for() {
    let server = winter().await;
    job(&server, "R-9", "2027-01-05", 1).await;
    let seen = read(&server).await;
    let of_job: Vec<&str> = summaries(&seen)
        .into_iter()
        .filter(|it| it.contains("R-9"))
        .collect();
    assert_eq!(of_job, ["R-9 starts"]);
}

/// Clocks in Halifax go back on Sunday 1 November 2026, from UTC-3 to UTC-4, and forward on Sunday 14
/// March 2027 (the time zone database of IANA).
#[tokio::test(flavor = "multi_thread")]
async fn hours_are_right_on_either_side_of_a_change_of_clocks() {
    let server = shop("2026-10-26T08:00:00-03:00").await;
    sells(&server, "Quayhead", 0, &[]).await;
    for (code, start) in [
        ("R-1", "2026-10-30"),
        ("R-2", "2026-11-02"),
        ("R-3", "2026-11-03"),
        ("R-4", "2027-03-15"),
        ("R-5", "2027-03-16"),
    ] {
        job(&server, code, start, 20).await;
    }
    let seen = read(&server).await;
    for (summary, at) in [
        ("R-1 starts", "20261030T100000Z"),
        ("R-2 starts", "20261102T110000Z"),
        ("R-4 starts", "20270315T100000Z"),
        (
            "Order by Thu 29 Oct 12:00 for R-1: WLa20-2.4",
            "20261029T150000Z",
        ),
        (
            "Order by Fri 30 Oct 12:00 for R-2: WLa20-2.4",
            "20261030T150000Z",
        ),
        (
            "Order by Mon 2 Nov 12:00 for R-3: WLa20-2.4",
            "20261102T160000Z",
        ),
        (
            "Order by Fri 12 Mar 12:00 for R-4: WLa20-2.4",
            "20270312T160000Z",
        ),
        (
            "Order by Mon 15 Mar 12:00 for R-5: WLa20-2.4",
            "20270315T150000Z",
        ),
    ] {
        assert_eq!(when(&seen, summary), (at, None));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_has_its_days_its_preparation_and_its_hour_to_order() {
    let server = school().await;
    let seen = read(&server).await;
    let of_course = |category: &str| {
        let found = seen.iter().find(|it| it["CATEGORIES"] == category);
        let found = found.unwrap_or_else(|| panic!("no {category} in {seen:#?}"));
        (found["DTSTART"].clone(), found.get("DTEND").cloned())
    };
    // Saturday 12 and Sunday 13 September 2026; three weeks before is 22 August.
    let days = ("20260912".to_owned(), Some("20260914".to_owned()));
    assert_eq!(of_course("course"), days);
    let prepare = ("20260822".to_owned(), Some("20260823".to_owned()));
    assert_eq!(of_course("preparation"), prepare);
    let order = seen.iter().find(|it| it["CATEGORIES"] == "order by");
    let order = &order.expect("parts are short")["SUMMARY"];
    assert!(order.contains(COURSE) && order.contains(PART), "{order}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_event_keeps_its_id_and_counts_the_edits_of_what_it_stands_on() {
    let server = winter().await;
    let before = read(&server).await;
    let found = server.owner.get_job("R-131").await.expect("the job");
    let version = found.version;
    let moved = NewJob {
        start: day("2027-01-06"),
        ..found.into_new()
    };
    let replaced = server.owner.replace_job("R-131", &moved, version).await;
    replaced.expect("it is moved");
    let after = read(&server).await;
    let of = |events: &[Event], category: &str| {
        let found = events.iter().find(|it| it["CATEGORIES"] == category);
        found.expect("it is there").clone()
    };
    for category in ["job", "order by"] {
        let (before, after) = (of(&before, category), of(&after, category));
        assert_eq!(before["UID"], after["UID"]);
        assert_ne!(before["DTSTART"], after["DTSTART"]);
    }
    assert_eq!(of(&before, "job")["SEQUENCE"], "0");
    assert_eq!(of(&after, "job")["SEQUENCE"], "1");
    assert_eq!(of(&after, "job")["DTSTAMP"], "20261214T120000Z");
    let mut ids: Vec<&String> = after.iter().map(|event| &event["UID"]).collect();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), after.len(), "no id comes twice");
    // The same job of another shop is another event.
    let other = read(&winter().await).await;
    assert_ne!(of(&other, "job")["UID"], of(&before, "job")["UID"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn any_name_comes_back_whole_and_no_line_is_too_long() {
    let server = shop("2026-06-15T08:00:00-03:00").await;
    let name = "Rail; \"harbour\", part 2\\3 \u{2013} fa\u{e7}ade after the tide, n\\n and \u{8001}\u{864e} lamps, 3/32 in";
    let new = NewJob {
        code: "R-7".to_owned(),
        name: Some(name.to_owned()),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(60),
        start: day("2026-06-26"),
        ..NewJob::default()
    };
    server.owner.create_job(&new).await.expect("a job");
    let calendar = server.owner.get_calendar(&GetCalendar::default()).await;
    let calendar = calendar.expect("a calendar");
    let seen = events(&calendar);
    assert_eq!(summaries(&seen), [format!("R-7 starts: {name}")]);
    assert!(calendar.ends_with("END:VCALENDAR\r\n"));
    let lines: Vec<&str> = calendar.split("\r\n").collect();
    let too_long = lines.iter().find(|line| line.len() > 75);
    assert_eq!(too_long, None, "octets of a line without its end");
    assert!(!lines.iter().any(|line| line.contains('\n')));
    // Some readers would cut it off, and two words become one.
    assert!(!lines.iter().any(|line| line.ends_with(' ')));
    for told in [
        "VERSION:2.0",
        "REFRESH-INTERVAL;VALUE=DURATION:PT3600S",
        "X-PUBLISHED-TTL:PT3600S",
    ] {
        assert!(lines.contains(&told), "{told} in {calendar}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unchanged_calendar_is_not_sent_again() {
    let server = winter().await;
    let ask = async |tag: &str| -> Heard {
        let ask = server.ask("GET", "/v1/calendar.ics");
        ask.header("If-None-Match", tag).send().await
    };
    let first = ask("\"none\"").await;
    assert_eq!(first.status, 200);
    let media_type = "text/calendar; charset=utf-8";
    assert_eq!(first.header("Content-Type"), media_type);
    assert_eq!(first.header("Cache-Control"), "private, no-cache");
    let tag = first.header("ETag").to_owned();
    server.set_clock("2026-12-14T09:00:00-04:00");
    let again = ask(&format!("\"other\", {tag}")).await;
    assert_eq!((again.status, again.body.len()), (304, 0));
    assert_eq!(again.header("ETag"), tag);
    job(&server, "R-132", "2027-01-04", 20).await;
    let changed = ask(&tag).await;
    assert_eq!(changed.status, 200);
    assert_ne!(changed.header("ETag"), tag);
}

async fn with_key(server: &TestServer, path: &str, key: &str) -> Heard {
    let path = format!("{path}?key={key}");
    server.ask_without_key("GET", &path).send().await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_in_the_address_must_only_read_and_stops_when_it_is_revoked() {
    let server = winter().await;
    let feed = "/v1/calendar.ics";
    let new = NewKey {
        name: "phone calendar".to_owned(),
        role: Role::Read,
        expires_at: None,
    };
    let made = server.owner.create_key(&new).await.expect("a key");
    let heard = with_key(&server, feed, &made.secret).await;
    assert_eq!(heard.status, 200);
    assert!(!heard.text().contains(&made.secret));
    assert!(summaries(&events(&heard.text())).contains(&DEADLINE));
    for role in [Role::Log, Role::Keep, Role::Own] {
        let heard = with_key(&server, feed, server.key(role)).await;
        let problem = heard.problem(ProblemKind::Unauthenticated);
        assert!(problem.detail.contains("role read; revoke"), "{problem:?}");
        assert!(!heard.text().contains(server.key(role)));
    }
    // Nothing else takes a key that way.
    let heard = with_key(&server, "/v1/parts", &made.secret).await;
    heard.problem(ProblemKind::Unauthenticated);
    server.owner.revoke_key(made.key.id).await.expect("it is");
    for key in [&*made.secret, "", "tig_0"] {
        let heard = with_key(&server, feed, key).await;
        heard.problem(ProblemKind::Unauthenticated);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_site_or_an_instant_that_cannot_be_read_is_named() {
    let server = school().await;
    let read = async |query: GetCalendar| {
        let client: &Client = &server.owner;
        client.get_calendar(&query).await
    };
    let text = |text: &str| Some(text.to_owned());
    for (query, pointer) in [
        (
            GetCalendar {
                site: text("nowhere"),
                ..GetCalendar::default()
            },
            "?site",
        ),
        (
            GetCalendar {
                now: text("tomorrow"),
                ..GetCalendar::default()
            },
            "?now",
        ),
    ] {
        let error = read(query).await.expect_err("it is refused");
        let problem = error.problem().expect("a problem");
        assert!(error.is(ProblemKind::Invalid), "{problem:?}");
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
    let shop = GetCalendar {
        site: text("shop"),
        ..GetCalendar::default()
    };
    let seen = events(&read(shop).await.expect("a calendar"));
    let courses = seen.iter().filter(|it| it["CATEGORIES"] == "course");
    assert_eq!(courses.count(), 0, "the course is at the school");
}
