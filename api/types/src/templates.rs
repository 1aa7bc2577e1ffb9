//! Workbooks that a shop opens and uses: instructions, a sheet to fill in, and cells that ask this service.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::SheetForm;

/// A workbook to use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SheetTemplate {
    /// What there is, what is on order and when to order, before a big job; with counts to fill in.
    BigJob,
    /// Every drawer with its parts, to count.
    CountSheet,
}

impl SheetTemplate {
    /// Its name in an address.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::BigJob => "big-job",
            Self::CountSheet => "count-sheet",
        }
    }
}

/// The form of a workbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum WorkbookForm {
    /// An Office Open XML workbook, ISO/IEC 29500.
    Xlsx,
    /// An `OpenDocument` spreadsheet, ISO/IEC 26300.
    Ods,
}

impl WorkbookForm {
    /// The form among those of sheets.
    pub const fn sheet(self) -> SheetForm {
        match self {
            Self::Xlsx => SheetForm::Xlsx,
            Self::Ods => SheetForm::Ods,
        }
    }
}

/// Which workbook, and in which form.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct TemplatePath {
    /// The workbook.
    #[param(inline)]
    pub template: SheetTemplate,
    /// Its form.
    #[param(inline)]
    pub form: WorkbookForm,
}

/// For which site, job and address a workbook is made.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetTemplate {
    /// The site of the drawers; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
}
