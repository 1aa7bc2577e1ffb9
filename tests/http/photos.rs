//! Photos of the labels of drawers: which are taken, and as what they are handed out.

use serde_json::json;
use tigstock_tests::TestServer;
use tigstock_tests::raw::Heard;
use types::{AtSite, ListPhotos, PHOTO_BYTES_MAX, Photo, ProblemKind};

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";
const JPEG: &[u8] = b"\xff\xd8\xff";
const WEBP: &[u8] = b"RIFF\0\0\0\0WEBP";

async fn drawer() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let drawer = json!({"code": "14", "parts": []});
    let made = server.ask("POST", "/v1/drawers").json(&drawer).send().await;
    assert_eq!(made.status, 201, "{}", made.text());
    server
}

/// A picture that begins like one of its kind; what follows makes it another one.
fn picture(begins: &[u8], mark: u8) -> Vec<u8> {
    [begins, &[mark]].concat()
}

async fn add(server: &TestServer, media_type: &str, picture: Vec<u8>) -> Heard {
    let ask = server.ask("POST", "/v1/drawers/14/photos");
    ask.text(media_type, picture).send().await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_photo_comes_back_as_it_was_with_its_kind_and_may_be_kept() {
    let server = drawer().await;
    for (media_type, begins) in [
        ("image/png", PNG),
        ("image/jpeg", JPEG),
        ("image/webp", WEBP),
    ] {
        let heard = add(&server, media_type, picture(begins, 1)).await;
        assert_eq!(heard.status, 201, "{}", heard.text());
        let photo: Photo = heard.read();
        assert_eq!((&*photo.drawer, &*photo.site), ("14", "shop"));
        assert_eq!(photo.media_type, media_type);
        assert_eq!(photo.bytes, i64::try_from(begins.len()).unwrap() + 1);
        let shown = server.ask("GET", heard.header("Location")).send().await;
        assert_eq!(shown.body, picture(begins, 1));
        assert_eq!(shown.header("Content-Type"), media_type);
        assert_eq!(shown.header("X-Content-Type-Options"), "nosniff");
        assert!(shown.header("Cache-Control").contains("private"));
        assert!(shown.header("Cache-Control").contains("immutable"));
        assert!(!shown.header("ETag").is_empty());
    }
    let page = server.owner.list_photos("14", &ListPhotos::default()).await;
    let kinds: Vec<String> = page
        .unwrap()
        .photos
        .into_iter()
        .map(|it| it.media_type)
        .collect();
    assert_eq!(kinds, ["image/png", "image/jpeg", "image/webp"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_picture_that_is_sent_again_is_the_photo_that_is_there() {
    let server = drawer().await;
    let first: Photo = add(&server, "image/png", picture(PNG, 1)).await.read();
    let again: Photo = add(&server, "image/png", picture(PNG, 1)).await.read();
    assert_eq!(first, again);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_the_picture_that_it_is_called_is_refused() {
    let server = drawer().await;
    for (media_type, body, words) in [
        ("image/jpeg", picture(PNG, 1), "image/jpeg; image/png"),
        (
            "image/png",
            b"<svg onload=\"x\"/>".to_vec(),
            "image/png; no picture",
        ),
        ("image/png", Vec::new(), "image/png; no picture"),
        (
            "image/svg+xml",
            b"<svg/>".to_vec(),
            "image/svg+xml; image/webp",
        ),
        ("text/html", picture(PNG, 1), "text/html; image/jpeg"),
    ] {
        let heard = add(&server, media_type, body).await;
        let problem = heard.problem(ProblemKind::UnsupportedMediaType);
        for word in words.split("; ") {
            assert!(problem.detail.contains(word), "{word}: {problem:?}");
        }
    }
    let page = server.owner.list_photos("14", &ListPhotos::default()).await;
    assert!(page.unwrap().photos.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_photo_of_the_greatest_size_is_taken_and_one_byte_more_is_not() {
    let server = drawer().await;
    let mut largest = PNG.to_vec();
    largest.resize(PHOTO_BYTES_MAX, 0);
    assert_eq!(add(&server, "image/png", largest.clone()).await.status, 201);
    largest.push(0);
    let heard = add(&server, "image/png", largest).await;
    let problem = heard.problem(ProblemKind::TooLarge);
    assert!(problem.detail.contains("2 MiB"), "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_drawer_has_eight_photos_at_most() {
    let server = drawer().await;
    for mark in 0..8 {
        let heard = add(&server, "image/png", picture(PNG, mark)).await;
        assert_eq!(heard.status, 201, "{}", heard.text());
    }
    let heard = add(&server, "image/png", picture(PNG, 8)).await;
    let problem = heard.problem(ProblemKind::WrongState);
    assert!(problem.detail.contains("8 photos"), "{problem:?}");
    // What is there already takes no room.
    assert_eq!(add(&server, "image/png", picture(PNG, 7)).await.status, 201);
    let page = server.owner.list_photos("14", &ListPhotos::default()).await;
    let first = page.unwrap().photos[0].id;
    let at = AtSite::default();
    server.owner.delete_photo("14", first, &at).await.unwrap();
    assert_eq!(add(&server, "image/png", picture(PNG, 8)).await.status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn photos_go_with_their_drawer() {
    let server = drawer().await;
    let heard = add(&server, "image/png", picture(PNG, 1)).await;
    let place = heard.header("Location").to_owned();
    let gone = server.ask("DELETE", "/v1/drawers/14").if_match(1);
    assert_eq!(gone.send().await.status, 204);
    server
        .ask("GET", &place)
        .send()
        .await
        .problem(ProblemKind::NotFound);
    let again = json!({"code": "14", "parts": []});
    server.ask("POST", "/v1/drawers").json(&again).send().await;
    server
        .ask("GET", &place)
        .send()
        .await
        .problem(ProblemKind::NotFound);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_photo_that_is_not_there_is_not_found() {
    let server = drawer().await;
    for path in [
        "/v1/drawers/14/photos/nothing",
        "/v1/drawers/14/photos/01890a5d-ac96-774b-bcce-b302099a8057",
        "/v1/drawers/15/photos/01890a5d-ac96-774b-bcce-b302099a8057",
    ] {
        for method in ["GET", "DELETE"] {
            let heard = server.ask(method, path).send().await;
            heard.problem(ProblemKind::NotFound);
        }
    }
    let list = server.ask("GET", "/v1/drawers/15/photos").send().await;
    list.problem(ProblemKind::NotFound);
}
