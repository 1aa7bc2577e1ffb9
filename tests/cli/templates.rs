//! `export template`: a workbook is written, filled in and imported again.

use calamine::{Reader, open_workbook_auto};
use tigstock_tests::demo::furnished;

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_template_is_written_and_what_is_not_filled_in_changes_nothing_when_it_is_imported() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    for (template, ending) in [("big-job", "xlsx"), ("count-sheet", "ods")] {
        let path = computer
            .state()
            .with_file_name(format!("{template}.{ending}"));
        let file = path.to_str().expect("a path");
        let told = computer
            .run_words(&["export", "template", template, "--to", file])
            .await;
        assert_eq!(told.code, 0, "{}", told.err);
        let book = open_workbook_auto(&path).expect("a workbook");
        assert_eq!(book.sheet_names(), ["start", "fill-in", "live"]);
        let told = computer
            .run_words(&["import", file, "--table", "counts", "--apply"])
            .await;
        assert_eq!(told.code, 0, "{told:?}");
        assert!(
            told.out
                .starts_with("0 rows: 0 in, 0 already in, 0 need you."),
            "{told:?}"
        );
        assert!(told.out.contains("blank"), "{told:?}");
    }
    for words in [
        &["export", "template"][..],
        &["export", "template", "big-job"],
        &["export", "template", "big-job", "--to", "job.csv"],
        &["export", "stock", "big-job"],
        &[
            "export", "template", "big-job", "--to", "job.xlsx", "--torch", "T1",
        ],
    ] {
        assert_eq!(computer.run_words(words).await.code, 64, "{words:?}");
    }
}
