//! Signing in to the pages: a key in a cookie, which counts for pages only, and forms that count only from
//! pages of the service.

use tigstock_tests::raw::{Ask, Heard};
use tigstock_tests::watched::WATCHED;
use tigstock_tests::{TestServer, config};
use types::{ListCounts, ProblemKind, Role};

const FORM: &str = "application/x-www-form-urlencoded";

/// A form as a browser sends it from a page of the service.
pub(crate) fn form(server: &TestServer, path: &str, body: &str) -> Ask {
    let ask = server.ask_without_key("POST", path);
    ask.header("Origin", &server.url)
        .text(FORM, body.to_owned())
}

/// The cookie of that role, as a browser sends it.
pub(crate) async fn cookie(server: &TestServer, role: Role) -> String {
    let body = format!("key={}&to=%2F", server.key(role));
    let heard = form(server, "/sign-in", &body).send().await;
    assert_eq!(heard.status, 303, "{}", heard.text());
    let told = heard.header("set-cookie");
    told.split(';').next().expect("a pair").to_owned()
}

/// A page as that role reads it.
pub(crate) async fn read(server: &TestServer, role: Role, path: &str) -> Heard {
    let cookie = cookie(server, role).await;
    let ask = server.ask_without_key("GET", path);
    ask.header("Cookie", &cookie).send().await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_page_asks_for_a_key_and_goes_on_where_one_wanted_to() {
    let server = TestServer::start().await;
    for path in ["/", "/next-job", "/warnings"] {
        let heard = server.ask_without_key("GET", path).send().await;
        assert_eq!(heard.status, 303, "{path}");
        assert_eq!(heard.header("location"), format!("/sign-in?to={path}"));
        // A key in a header is for programs, and opens no page.
        assert_eq!(server.ask("GET", path).send().await.status, 303, "{path}");
    }
    let asked = server.ask_without_key("GET", "/sign-in?to=/warnings");
    let asked = asked.send().await;
    assert_eq!(asked.status, 200);
    let text = asked.text();
    for told in [
        "<label for=\"key\">",
        "type=\"password\"",
        "value=\"/warnings\"",
        "method=\"post\"",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    let body = format!("key={}&to=%2Fwarnings", server.key(Role::Read));
    let heard = form(&server, "/sign-in", &body).send().await;
    assert_eq!((heard.status, heard.header("location")), (303, "/warnings"));
    let told = heard.header("set-cookie");
    for flag in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(told.contains(flag), "{flag}: {told}");
    }
    assert!(!told.contains("Secure"), "{told}");
    let heard = read(&server, Role::Read, "/warnings").await;
    assert_eq!(heard.status, 200, "{}", heard.text());
}

#[tokio::test(flavor = "multi_thread")]
async fn over_tls_the_cookie_never_travels_in_the_clear() {
    let server = TestServer::start().await;
    let body = format!("key={}", server.key(Role::Read));
    let ask = server.ask_without_key("POST", "/sign-in");
    let ask = ask.header("Origin", &server.url.replace("http:", "https:"));
    let heard = ask.text(FORM, body.clone()).send().await;
    assert!(heard.header("set-cookie").contains("Secure"), "{heard:?}");
    // Behind a proxy that ends TLS and calls the service by another name.
    let settings = server::config::Config {
        public_url: Some("https://tigstock.example/".to_owned()),
        ..config()
    };
    let clock = server::service::Clock::system();
    let server = TestServer::with_config(clock, settings).await;
    let body = format!("key={}", server.key(Role::Read));
    let ask = server.ask_without_key("POST", "/sign-in");
    let ask = ask.header("Origin", "https://tigstock.example");
    let heard = ask.text(FORM, body).send().await;
    assert_eq!(heard.status, 303, "{}", heard.text());
    assert!(heard.header("set-cookie").contains("Secure"), "{heard:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cookie_opens_pages_and_nothing_else() {
    let server = TestServer::start().await;
    let cookie = cookie(&server, Role::Own).await;
    for path in ["/v1/parts", "/v1/stock", "/v1/warnings", "/v1/calendar.ics"] {
        let ask = server.ask_without_key("GET", path);
        let heard = ask.header("Cookie", &cookie).send().await;
        heard.problem(ProblemKind::Unauthenticated);
    }
    let ask = server.ask_without_key("POST", "/v1/counts");
    let ask = ask.header("Cookie", &cookie).header("Origin", &server.url);
    let ask = ask.once("a-count").json(&serde_json::json!({}));
    ask.send().await.problem(ProblemKind::Unauthenticated);
    let ask = server.ask_without_key("GET", "/");
    assert_eq!(ask.header("Cookie", &cookie).send().await.status, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_that_is_wrong_or_revoked_opens_nothing() {
    let server = TestServer::start().await;
    let heard = form(&server, "/sign-in", "key=tig_wrong&to=/").send().await;
    assert_eq!(heard.status, 401);
    assert_eq!(heard.header("set-cookie"), "");
    assert!(
        heard
            .text()
            .contains("Not signed in: the key is unknown or revoked")
    );
    assert!(!heard.text().contains("tig_wrong"), "it is not shown again");
    let cookie = cookie(&server, Role::Log).await;
    let open = || server.ask_without_key("GET", "/").header("Cookie", &cookie);
    assert_eq!(open().send().await.status, 200);
    let keys = server.owner.list_keys(&types::Page::default()).await;
    let keys = keys.expect("keys").keys;
    let key = keys.iter().find(|key| key.role == Role::Log);
    let key = key.expect("a key that logs").id;
    server.owner.revoke_key(key).await.expect("revoked");
    assert_eq!(open().send().await.status, 303);
}

#[tokio::test(flavor = "multi_thread")]
async fn signing_out_takes_the_cookie_away() {
    let server = TestServer::start().await;
    let cookie = cookie(&server, Role::Read).await;
    let ask = form(&server, "/sign-out", "").header("Cookie", &cookie);
    let heard = ask.send().await;
    assert_eq!((heard.status, heard.header("location")), (303, "/sign-in"));
    let told = heard.header("set-cookie");
    assert!(told.contains("Max-Age=0"), "{told}");
    assert!(told.starts_with("tigstock-key=;"), "{told}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_form_from_elsewhere_changes_nothing() {
    let server = TestServer::watched_shop().await;
    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    server.looks().await;
    let path = format!("/warnings/{}/count", server.warning().await.id);
    let body = "form=01977b6a-0000-7000-8000-000000000001&counted=12";
    let cookie = cookie(&server, Role::Own).await;
    let send = |headers: &[(&str, &str)]| {
        let mut ask = server.ask_without_key("POST", &path);
        for (name, value) in headers {
            ask = ask.header(name, value);
        }
        ask.header("Cookie", &cookie).text(FORM, body).send()
    };
    let ours = server.url.as_str();
    for headers in [
        &[][..],
        &[("Origin", "https://elsewhere.example")],
        &[("Origin", "null")],
        &[("Origin", "http://127.0.0.1")],
        &[("Sec-Fetch-Site", "cross-site")],
        &[("Sec-Fetch-Site", "same-site")],
        &[("Sec-Fetch-Site", "cross-site"), ("Origin", ours)],
    ] {
        let heard = send(headers).await;
        assert_eq!(heard.status, 403, "{headers:?}");
        assert!(heard.text().contains("comes from a page of this service"));
    }
    let counts = server.owner.list_counts(&ListCounts::default()).await;
    assert_eq!(
        counts.expect("counts").counts.len(),
        1,
        "the first one only"
    );
    assert_eq!(server.on_hand(WATCHED).await, 4);
    for headers in [
        &[("Origin", ours)][..],
        &[("Sec-Fetch-Site", "same-origin")],
    ] {
        let heard = send(headers).await;
        assert_eq!(heard.status, 200, "{}", heard.text());
    }
    assert_eq!(
        server.on_hand(WATCHED).await,
        12,
        "sent twice, counted once"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_does_on_pages_what_its_role_may() {
    let server = TestServer::watched_shop().await;
    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    server.looks().await;
    let page = format!("/warnings/{}", server.warning().await.id);
    // What each role is shown, and what becomes of each form: count, quiet, seen.
    for (role, shown, done) in [
        (Role::Read, [false, false], [403, 403, 403]),
        (Role::Log, [true, false], [200, 403, 403]),
        (Role::Keep, [true, true], [200, 303, 303]),
    ] {
        let text = read(&server, role, &page).await.text();
        let has = |what: &str| text.contains(&format!("action=\"{page}/{what}\""));
        assert_eq!([has("count"), has("quiet")], shown, "{role:?}: {text}");
        assert_eq!(has("seen"), shown[1], "{role:?}");
        let cookie = cookie(&server, role).await;
        let id = uuid::Uuid::now_v7();
        for (what, body, status) in [
            ("count", format!("form={id}&counted=4"), done[0]),
            ("quiet", "until=monday&on_hand=".to_owned(), done[1]),
            ("seen", String::new(), done[2]),
        ] {
            let ask = form(&server, &format!("{page}/{what}"), &body);
            let heard = ask.header("Cookie", &cookie).send().await;
            assert_eq!(heard.status, status, "{role:?} {what}: {}", heard.text());
        }
    }
    let warning = server.warning().await;
    assert_eq!(warning.state, "quiet-until");
    assert!(warning.acknowledged_at.is_some());
}
