//! `export template`: a workbook to open and use.

use clap::ValueEnum;
use types::{GetTemplate, SheetForm, SheetTemplate, WorkbookForm};

use super::{Export, write};
use crate::failure::{Failure, exit};
use crate::shop::Shop;

/// Which workbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Template {
    /// What there is, what is on order and when to order, before a big job
    BigJob,
    /// Every drawer with its parts, to count
    CountSheet,
}

impl Template {
    const fn sheet(self) -> SheetTemplate {
        match self {
            Self::BigJob => SheetTemplate::BigJob,
            Self::CountSheet => SheetTemplate::CountSheet,
        }
    }
}

pub(super) async fn run(export: &Export, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    let wanted = |why: &str| Failure::CommandLine(why.to_owned());
    let template = export
        .template
        .ok_or_else(|| wanted("say which: export template big-job, or count-sheet"))?;
    let path = export
        .to
        .as_ref()
        .ok_or_else(|| wanted("a template is a workbook: give --to FILE.xlsx, or FILE.ods"))?;
    let form = match export.form()? {
        SheetForm::Xlsx => WorkbookForm::Xlsx,
        SheetForm::Ods => WorkbookForm::Ods,
        SheetForm::Csv => {
            return Err(wanted(
                "a template is a workbook: end its name with .xlsx or .ods",
            ));
        }
    };
    let query = GetTemplate {
        site: shop.site.clone(),
    };
    let bytes = shop
        .client
        .get_template(template.sheet(), form, &query)
        .await?;
    write(path, export.replace, &bytes)?;
    let (path, bytes) = (path.display(), bytes.len());
    shop.output.say(&format!("{path}: {bytes} bytes written."));
    Ok(exit::DONE)
}
