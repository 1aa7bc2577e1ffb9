//! The formulas in their two languages, and what a reader finds in the file.

use super::formula::{self, Language};
use super::*;
use crate::sheets::reading::{Told, read};

#[test]
fn a_live_cell_asks_with_the_address_and_key_that_are_filled_in() {
    let live = Live {
        figure: CellFigure::Available,
        of: "part",
        named: (4, 0),
        on_start: false,
    };
    assert_eq!(
        formula::of(live, Language::OfficeOpenXml),
        "=IF(A5=\"\",\"\",IFERROR(VALUE(_xlfn.WEBSERVICE(start!$B$4&\"/v1/cell/available?part=\"&_xlfn.ENCODEURL(A5)\
         &\"&key=\"&start!$B$5)),\"no answer\"))"
    );
    let job = Live {
        figure: CellFigure::OrderBy,
        of: "job",
        named: (5, 1),
        on_start: true,
    };
    assert_eq!(
        formula::of(job, Language::OpenFormula),
        "=IF([$start.$B$6]=\"\";\"\";IFERROR(COM.MICROSOFT.WEBSERVICE([$start.$B$4]&\"/v1/cell/order-by?job=\"\
         &COM.MICROSOFT.ENCODEURL([$start.$B$6])&\"&key=\"&[$start.$B$5]);\"no answer\"))"
    );
}

#[test]
fn the_sheet_to_fill_in_is_read_although_instructions_stand_first() {
    let stored = [Stored {
        drawer: "2".to_owned(),
        part: "collet-2.4".to_owned(),
        name: "Collet 2.4 mm, large body".to_owned(),
    }];
    for form in [SheetForm::Xlsx, SheetForm::Ods] {
        for template in [SheetTemplate::BigJob, SheetTemplate::CountSheet] {
            let bytes = write(template, form, ("http://shop.example", &stored));
            let told = Told {
                media_type: form.media_type(),
                name: None,
            };
            let must = ["drawer", "part", "counted", "counted_at", "by"];
            let table = read(&bytes.expect("it is written"), told, &must).expect("it is read");
            assert_eq!(table.rows.len(), 1);
            assert_eq!(table.rows[0].cells[..2], ["2", "collet-2.4"]);
        }
    }
}
