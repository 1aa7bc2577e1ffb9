//! The first set-up from the shop's own drawer list.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::JudgedRow;

/// How a drawer list is pushed.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct PushDrawerList {
    /// Whether to say only what would become of each row, and change nothing.
    #[serde(default, rename = "try", skip_serializing_if = "std::ops::Not::not")]
    pub only_try: bool,
    /// The torch body family of the parts that do not say: `small` or `large`. A shop whose torches are all of one
    /// family is asked less.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "large")]
    pub family: Option<String>,
    /// The site of the drawers; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// By whom it was counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "helper")]
    pub by: Option<String>,
    /// The name of the file, where the `Content-Type` does not tell its form.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "drawers.xlsx")]
    pub name: Option<String>,
}

/// A drawer list with what was understood of each row, to fill in and push again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DrawerList {
    /// The sum in one line, and which columns were taken for what.
    #[schema(example = "41 rows: 38 in, 1 already in, 2 need you.")]
    pub says: String,
    /// Whether nothing has changed.
    #[serde(rename = "try")]
    pub only_tried: bool,
    /// The line on which the names of its columns stand.
    pub header: u64,
    /// The names of its columns: its own, and those of the part that is proposed: `code`, `kind`, `class`,
    /// `diameter`, `length`, `family`, `arrangement`, `cup_number`, `seat`, `composition`, `question`.
    pub columns: Vec<String>,
    /// Its rows, without those that are empty. Of a row that is asked about `question` tells what to fill in.
    pub rows: Vec<JudgedRow>,
}
