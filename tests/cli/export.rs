//! `export`: sheets as files in the form that their name says, or as CSV on the screen; what makes no sense is told
//! before anything is asked. Figures are those of scenario S5.

use calamine::{Data, Reader, open_workbook_auto};
use tigstock_tests::demo::furnished;

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_is_written_in_the_form_that_its_name_says() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    for ending in ["xlsx", "ods"] {
        let path = computer.state().with_file_name(format!("needs.{ending}"));
        let file = path.to_str().expect("a path");
        let words = ["export", "needs", "--job", "R-118", "--to", file];
        let told = computer.run_words(&words).await;
        assert_eq!(told.code, 0, "{}", told.err);
        assert!(told.out.contains("bytes written"), "{}", told.out);
        let mut book = open_workbook_auto(&path).expect("a workbook");
        let range = book.worksheet_range("needs").expect("a sheet");
        let need = range
            .rows()
            .next()
            .expect("a header")
            .iter()
            .position(|it| *it == "need");
        let need = need.expect("the column");
        let needs: Vec<f64> = range
            .rows()
            .skip(1)
            .filter_map(|row| float(&row[need]))
            .collect();
        assert_eq!(needs, [9.0, 2.0, 4.0, 1.0, 1.0], "{ending}");
        // Nothing is written over unless that is said.
        let again = computer.run_words(&words).await;
        assert_eq!(again.code, 64, "{}", again.err);
        assert!(again.err.contains("--replace"), "{}", again.err);
        let words = [
            "export",
            "needs",
            "--job",
            "R-118",
            "--to",
            file,
            "--replace",
        ];
        assert_eq!(computer.run_words(&words).await.code, 0);
    }
}

fn float(cell: &Data) -> Option<f64> {
    cell.to_string().parse().ok()
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_file_the_sheet_is_printed_as_csv() {
    let server = furnished().await;
    let told = Computer::of(&server).run("export stock").await;
    assert_eq!(told.code, 0, "{}", told.err);
    let first = told.out.lines().next().expect("a header");
    assert!(
        first.starts_with("part,name,site,") && first.ends_with(",as_of"),
        "{first}"
    );
    let electrode = told.out.lines().find(|line| line.starts_with("WLa20-2.4,"));
    assert!(
        electrode.expect("its row").contains(",piece,3,0,0,3,0,3,"),
        "{electrode:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_makes_no_sense_says_what_to_write() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    for (line, words) in [
        ("export stock --to stock.pdf", ".csv, .xlsx or .ods"),
        ("export needs", "--job R-118"),
        ("export order", "--order 12"),
        ("export stock --torch T1", "--torch is of another sheet"),
        ("export stock --job R-118", "--job is of another sheet"),
    ] {
        let told = computer.run(line).await;
        assert_eq!(told.code, 64, "{line}: {}", told.err);
        assert!(told.err.contains(words), "{line}: {}", told.err);
    }
}
