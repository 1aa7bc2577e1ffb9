//! The cards of stations as a page to print: what stands on them, that nothing in it can run, and that the
//! QR code says what stands under it. The symbol is read here by the standard (ISO/IEC 18004), with nothing
//! of what draws it.

use std::fmt::Write;

use tigstock_tests::TestServer;
use tigstock_tests::school::{COURSE, school};
use types::NewCourse;

async fn page(server: &TestServer) -> String {
    let page = server.owner.get_course_station_cards(COURSE).await;
    page.expect("a page")
}

/// The dark modules of the symbols of a page, row by row, without their quiet zone.
fn symbols(page: &str) -> Vec<Vec<Vec<bool>>> {
    let mut symbols = Vec::new();
    for part in page.split("viewBox=\"0 0 ").skip(1) {
        let side: usize = part
            .split(' ')
            .next()
            .expect("a side")
            .parse()
            .expect("a number");
        let mut modules = vec![vec![false; side]; side];
        let path = part.split(" d=\"").nth(1).expect("a path");
        let path = path.split('"').next().expect("its end");
        for square in path.split('M').skip(1) {
            let (at, shape) = square.split_once('h').expect("a square");
            assert_eq!(shape, "1v1h-1z");
            let (across, down) = at.split_once(' ').expect("a place");
            let place = |text: &str| text.parse::<usize>().expect("a number");
            modules[place(down)][place(across)] = true;
        }
        // Four modules of white on each side.
        let inner = modules[4..side - 4]
            .iter()
            .map(|row| row[4..side - 4].to_vec());
        symbols.push(inner.collect());
    }
    symbols
}

/// Whether a module belongs to the patterns and not to the data, in versions 2 to 6.
fn is_pattern(side: usize, (down, across): (usize, usize)) -> bool {
    let near = |it: usize| it < 9;
    let far = |it: usize| it >= side - 8;
    let is_finder =
        (near(down) && near(across)) || (near(down) && far(across)) || (far(down) && near(across));
    let is_timing = down == 6 || across == 6;
    // The one alignment pattern has its middle at side - 7.
    let aligned = |it: usize| (side - 9..=side - 5).contains(&it);
    is_finder || is_timing || (aligned(down) && aligned(across))
}

/// Whether a mask turns a module over.
fn is_masked(mask: usize, down: usize, across: usize) -> bool {
    let (i, j) = (down, across);
    match mask {
        0 => (i + j).is_multiple_of(2),
        1 => i.is_multiple_of(2),
        2 => j.is_multiple_of(3),
        3 => (i + j).is_multiple_of(3),
        4 => (i / 2 + j / 3).is_multiple_of(2),
        5 => (i * j) % 2 + (i * j) % 3 == 0,
        6 => ((i * j) % 2 + (i * j) % 3).is_multiple_of(2),
        _ => ((i + j) % 2 + (i * j) % 3).is_multiple_of(2),
    }
}

/// The text of a symbol of one block in bytes, which ours are at level M up to version 3.
fn read(symbol: &[Vec<bool>]) -> String {
    let side = symbol.len();
    assert!((25..=29).contains(&side), "version 2 or 3: {side}");
    // The format beside the upper left finder, most significant first: two bits of level, three of
    // mask, turned over by 101010000010010.
    let format = |bit: usize| symbol[8][bit] ^ [true, false, true, false, true][bit];
    let level = (format(0), format(1));
    assert_eq!(level, (false, false), "level M");
    let mask = (2..5).fold(0, |mask, bit| mask * 2 + usize::from(format(bit)));
    let mut bits = Vec::new();
    let mut right = side - 1;
    let mut is_up = true;
    loop {
        for step in 0..side {
            let down = if is_up { side - 1 - step } else { step };
            for across in [right, right - 1] {
                if !is_pattern(side, (down, across)) {
                    bits.push(symbol[down][across] ^ is_masked(mask, down, across));
                }
            }
        }
        is_up = !is_up;
        if right <= 2 {
            break;
        }
        // The timing pattern takes a column for itself.
        right -= if right == 8 { 3 } else { 2 };
    }
    segments(&bits)
}

/// The text of the bits of a symbol up to version 9: segments of digits and of bytes.
fn segments(bits: &[bool]) -> String {
    let mut text = String::new();
    let mut at = 0;
    let mut number = |length: usize| {
        let own = &bits[at..at + length];
        at += length;
        own.iter()
            .fold(0_usize, |sum, bit| sum * 2 + usize::from(*bit))
    };
    loop {
        match number(4) {
            0b0000 => return text,
            0b0001 => {
                let mut digits = number(10);
                while digits > 0 {
                    // Three digits in ten bits, two in seven, one in four.
                    let group = digits.min(3);
                    let value = number([4, 7, 10][group - 1]);
                    write!(text, "{value:0group$}").expect("text takes digits");
                    digits -= group;
                }
            }
            0b0100 => {
                let length = number(8);
                let bytes = (0..length).map(|_| u8::try_from(number(8)).expect("a byte"));
                text.push_str(&String::from_utf8(bytes.collect()).expect("text"));
            }
            other => panic!("mode {other:04b} is not read here"),
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn each_station_has_a_card_whose_code_says_what_stands_under_it() {
    let server = school().await;
    let page = page(&server).await;
    let symbols = symbols(&page);
    assert_eq!(symbols.len(), 6);
    for (index, symbol) in symbols.iter().enumerate() {
        let told = format!("tigstock:course-0912/station-{}", index + 1);
        assert_eq!(read(symbol), told);
        assert!(page.contains(&format!("<p>{told}</p>")), "{told}");
    }
    for words in [
        "<!DOCTYPE html>",
        "lang=\"en\"",
        "@page { size: A4",
        "Station 3 of 6",
        "TIG for beginners, Sat 12 Sep to Sun 13 Sep 2026. Students: 2.",
        "Kit K-24",
        "Cup no. 7, standard seat",
        "Rack: 4 ground electrodes",
        "Exercises: beads on steel; fillet on stainless.",
        "course-0912 station 3",
        "UV burns eyes and skin",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_people_write_cannot_run_in_the_page() {
    let server = school().await;
    let found = server.owner.get_course(COURSE).await.expect("the course");
    let version = found.version;
    let odd = NewCourse {
        name: Some("<script>alert(1)</script>".to_owned()),
        exercises: vec!["\"><img src=x onerror=alert(1)>".to_owned()],
        ..found.into_new()
    };
    let replaced = server.owner.replace_course(COURSE, &odd, version).await;
    replaced.expect("it is replaced");
    let place = format!("/v1/courses/{COURSE}/stations.html");
    let heard = server.ask("GET", &place).send().await;
    assert_eq!(heard.header("Content-Type"), "text/html; charset=utf-8");
    let policy = heard.header("Content-Security-Policy").to_owned();
    assert!(policy.contains("default-src 'none'"), "{policy}");
    let page = heard.text();
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(
        !page.contains("<script") && !page.contains("<img"),
        "{page}"
    );
}
