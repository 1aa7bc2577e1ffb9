//! Sheets as programs write them, and as nobody should.

use super::*;

const CSV: Told<'_> = Told {
    media_type: "text/csv",
    name: None,
};
const MUST: [&str; 2] = ["part", "counted"];

fn read_text(text: &str) -> Result<Table, Unread> {
    read(text.as_bytes(), CSV, &MUST)
}

fn cells(table: &Table) -> Vec<Vec<&str>> {
    let rows = table.rows.iter();
    rows.map(|row| row.cells.iter().map(String::as_str).collect())
        .collect()
}

#[test]
fn text_is_read_whatever_parts_its_values() {
    for text in [
        "part,counted\r\ncollet,3\r\n",
        "\u{feff}Part;COUNTED\n\n;\ncollet;3\n",
        "part\tcounted\ncollet\t'3\n",
        "Count of the week,\n,\npart,counted\ncollet,3\n",
    ] {
        let text = text.replace("'3", "3");
        let table = read_text(&text).expect(&text);
        assert_eq!(cells(&table), [["collet", "3"]], "{text}");
    }
}

#[test]
fn text_of_other_encodings_is_read() {
    let text = "part,counted\ndüse,3\n";
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let marked: Vec<u8> = [0xFF, 0xFE].into_iter().chain(wide.clone()).collect();
    let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    // In the code page of western Europe the letter is one byte.
    let western: Vec<u8> = text
        .chars()
        .map(|it| u8::try_from(u32::from(it)).expect("one byte"))
        .collect();
    for bytes in [wide, marked, big, western] {
        let table = read(&bytes, CSV, &MUST).expect("it is read");
        assert_eq!(cells(&table), [["düse", "3"]]);
    }
}

#[test]
fn the_line_of_a_row_is_that_of_the_file() {
    let table = read_text("part,counted\r\n\r\n\"a\r\nb\",1\r\nc,2\r\n").expect("it is read");
    let lines: Vec<u64> = table.rows.iter().map(|row| row.line).collect();
    assert_eq!(lines, [3, 5]);
}

#[test]
fn what_cannot_be_taken_as_a_whole_says_why() {
    for (text, words) in [
        (
            "part\ncollet\n",
            "\"counted\" is missing; it may be empty, but it must be there. Line 1 of the sheet is: part",
        ),
        ("part,counted\n", "no rows"),
        ("part,counted,Part\n1,2,3\n", "\"Part\" is there twice"),
        (
            "part,counted\na,1,2\n",
            "line 2 has 3 values under 2 columns",
        ),
        ("", "nothing in it"),
        ("part,counted\n\0,1\n", "no text"),
    ] {
        let Err(Unread::Invalid(why)) = read_text(text) else {
            panic!("{text} is refused");
        };
        assert!(why.contains(words), "{text}: {why}");
    }
    let wide = format!("part,counted{}\n", ",x".repeat(1_000_000));
    assert!(matches!(read_text(&wide), Err(Unread::TooLarge(_))));
}

#[test]
fn a_file_that_is_not_what_it_is_called_is_refused() {
    let told = |name| Told {
        media_type: "application/octet-stream",
        name: Some(name),
    };
    assert!(matches!(
        read(b"part,counted", told("a.xlsx"), &MUST),
        Err(Unread::Invalid(_))
    ));
    assert!(matches!(
        read(b"part,counted", told("a.pdf"), &MUST),
        Err(Unread::Form(_))
    ));
    assert!(matches!(
        read(b"PK\x03\x04 cut", told("a.xlsx"), &MUST),
        Err(Unread::Invalid(_))
    ));
    let Err(Unread::Invalid(why)) = read(b"\xD0\xCF\x11\xE0 locked", told("a.xlsx"), &MUST) else {
        panic!("it is refused");
    };
    assert!(why.contains("password"), "{why}");
}
