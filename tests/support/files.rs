//! Workbooks put together by hand, so that a test decides each byte of them: by ISO/IEC 29500 for Office Open XML and
//! by ISO/IEC 26300 for `OpenDocument`.

use std::io::{Cursor, Write};

use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const RELATIONS: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
const OF_OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const OPEN_DOCUMENT: &str = "urn:oasis:names:tc:opendocument:xmlns";
const SPREADSHEET: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// Files packed into one, each deflated.
pub fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        let options = SimpleFileOptions::default();
        archive.start_file(*name, options).expect("a file");
        archive.write_all(bytes).expect("memory takes it");
    }
    archive.finish().expect("an archive").into_inner()
}

/// A workbook of one sheet: its rows, and its shared texts as they stand in the files.
pub fn xlsx(rows: &str, shared: &str) -> Vec<u8> {
    let sheet = format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{rows}</sheetData></worksheet>");
    let shared = format!("<sst xmlns=\"{MAIN}\">{shared}</sst>");
    let book = format!(
        "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OF_OFFICE}\"><sheets><sheet name=\"counts\" sheetId=\"1\" \
         r:id=\"rId1\"/></sheets></workbook>"
    );
    let relations = |of: &[(&str, &str)]| {
        let told = of.iter().enumerate().map(|(place, (kind, target))| {
            let id = place + 1;
            format!(
                "<Relationship Id=\"rId{id}\" Type=\"{OF_OFFICE}/{kind}\" Target=\"{target}\"/>"
            )
        });
        let told: String = told.collect();
        format!("<Relationships xmlns=\"{RELATIONS}\">{told}</Relationships>")
    };
    let of_package = relations(&[("officeDocument", "xl/workbook.xml")]);
    let of_book = relations(&[
        ("worksheet", "worksheets/sheet1.xml"),
        ("sharedStrings", "sharedStrings.xml"),
    ]);
    packed(&[
        ("_rels/.rels", of_package.as_bytes()),
        ("xl/workbook.xml", book.as_bytes()),
        ("xl/_rels/workbook.xml.rels", of_book.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
        ("xl/sharedStrings.xml", shared.as_bytes()),
    ])
}

/// A row of a workbook of Office Open XML, whose cells are texts from the column A on.
pub fn xlsx_row(line: usize, cells: &[&str]) -> String {
    let told = ('A'..).zip(cells).map(|(column, text)| {
        format!("<c r=\"{column}{line}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
    });
    format!("<row r=\"{line}\">{}</row>", told.collect::<String>())
}

/// A spreadsheet of one table: its rows, and what its list of files tells beside the content.
pub fn ods(rows: &str, listed: &str) -> Vec<u8> {
    let names = ["office", "table", "text"];
    let names = names.map(|name| format!(" xmlns:{name}=\"{OPEN_DOCUMENT}:{name}:1.0\""));
    let content = format!(
        "<office:document-content{}><office:body><office:spreadsheet><table:table table:name=\"counts\">{rows}\
         </table:table></office:spreadsheet></office:body></office:document-content>",
        names.concat()
    );
    let manifest = format!(
        "<manifest:manifest xmlns:manifest=\"{OPEN_DOCUMENT}:manifest:1.0\"><manifest:file-entry \
         manifest:full-path=\"content.xml\" manifest:media-type=\"text/xml\">{listed}</manifest:file-entry>\
         </manifest:manifest>"
    );
    packed(&[
        ("mimetype", SPREADSHEET.as_bytes()),
        ("META-INF/manifest.xml", manifest.as_bytes()),
        ("content.xml", content.as_bytes()),
    ])
}

/// A row of a spreadsheet of `OpenDocument`, whose cells are texts.
pub fn ods_row(cells: &[&str]) -> String {
    let told = cells.iter().map(|text| {
        format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>")
    });
    format!(
        "<table:table-row>{}</table:table-row>",
        told.collect::<String>()
    )
}
