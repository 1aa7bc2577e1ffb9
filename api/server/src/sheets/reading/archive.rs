//! A workbook is a packed folder. How much it would unpack to is measured before anything of it is kept, since a few
//! kilobytes can be made to unpack to terabytes.

use std::io::{self, Cursor, Read};

use zip::ZipArchive;

use super::{UNPACKED_MAX, Unread, WORKBOOK_MAX};
use types::SheetForm;

/// The most files in a workbook.
const FILES_MAX: usize = 4_096;
/// The file in every workbook of Office Open XML, and that in every spreadsheet of `OpenDocument`.
const WORKBOOK: &str = "xl/workbook.xml";
const CONTENT: &str = "content.xml";
/// The list of its files.
const MANIFEST: &str = "META-INF/manifest.xml";

/// The form of a workbook that is no larger than it may be.
pub(super) fn form_of(bytes: &[u8]) -> Result<SheetForm, Unread> {
    if bytes.len() > WORKBOOK_MAX {
        return Err(Unread::TooLarge(format!(
            "the workbook is over {WORKBOOK_MAX} bytes; save the sheet as CSV, or cut it into several"
        )));
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    if archive.len() > FILES_MAX {
        return Err(bomb());
    }
    let mut left = UNPACKED_MAX;
    for place in 0..archive.len() {
        let file = archive.by_index(place).map_err(|error| damaged(&error))?;
        if file.size() > left {
            return Err(bomb());
        }
        // What the directory says of a size may be wrong: it is unpacked to nowhere, up to the limit.
        let unpacked = io::copy(&mut file.take(left + 1), &mut io::sink());
        let unpacked = unpacked.map_err(|error| damaged(&error))?;
        left = left.checked_sub(unpacked).ok_or_else(bomb)?;
    }
    let has = |name: &str| archive.index_for_name(name).is_some();
    if has(WORKBOOK) {
        Ok(SheetForm::Xlsx)
    } else if has(CONTENT) {
        // A protected one has its list of files in the clear, and says there how each is enciphered.
        if text_of(bytes, MANIFEST).is_ok_and(|list| list.contains("encryption-data")) {
            return Err(locked());
        }
        Ok(SheetForm::Ods)
    } else {
        Err(Unread::Form(
            "the file is packed, but there is no workbook in it; send CSV, XLSX or ODS".to_owned(),
        ))
    }
}

/// The content of a spreadsheet of `OpenDocument`.
pub(super) fn content(bytes: &[u8]) -> Result<String, Unread> {
    text_of(bytes, CONTENT)
}

fn text_of(bytes: &[u8], name: &str) -> Result<String, Unread> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    let file = archive.by_name(name).map_err(|error| damaged(&error))?;
    let mut text = String::new();
    let read = file.take(UNPACKED_MAX).read_to_string(&mut text);
    read.map_err(|error| damaged(&error))?;
    Ok(text)
}

/// What to do about a workbook that cannot be unpacked.
pub(super) fn damaged(why: &(impl std::fmt::Display + ?Sized)) -> Unread {
    let told = why.to_string();
    if told.to_ascii_lowercase().contains("password") {
        return locked();
    }
    Unread::Invalid(format!(
        "the workbook is damaged or cut short ({told}); open it, save it anew and send that"
    ))
}

/// What to do about a workbook that is protected.
pub(super) fn locked() -> Unread {
    let why = "the workbook is protected by a password; save it without one, or as CSV";
    Unread::Invalid(why.to_owned())
}

fn bomb() -> Unread {
    Unread::TooLarge(format!(
        "the workbook would unpack to more than {UNPACKED_MAX} bytes or {FILES_MAX} files; save the sheet as CSV"
    ))
}
