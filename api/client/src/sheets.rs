//! Sheets: answers as CSV or as workbooks for a spreadsheet, and figures for single cells.

use reqwest::Method;
use serde::Serialize;
use types::{
    CellFigure, DrawerList, GetBuyList, GetCell, GetElectrodeAdvice, GetForecasts, GetKitCount,
    GetMatch, GetNeeds, GetStock, GetTemplate, GetTrackRecord, ListWarnings, PushDrawerList,
    PushSheet, PushedSheet, SheetForm, SheetOfPart, SheetOfTorch, SheetTable, SheetTemplate,
    TryFit, WorkbookForm,
};

use crate::request::{answer, bytes, text};
use crate::{Client, Error};

/// A sheet that can be had as a file in every form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetName<'a> {
    /// The stock of a site.
    Stock,
    /// What to buy for a site.
    BuyList,
    /// The rows of the ledger.
    Movements,
    /// Arc time, grinds, cut-backs and starts.
    Usage,
    /// The counts.
    Counts,
    /// The goods that came in.
    Receipts,
    /// The parts.
    Parts,
    /// The kits.
    Kits,
    /// The offers.
    Offers,
    /// Forecasts of use over a size of work.
    Wear,
    /// The warnings.
    Warnings,
    /// What a job needs.
    JobNeeds(&'a str),
    /// What a course needs.
    CourseNeeds(&'a str),
    /// An order, for its supplier.
    Order(&'a str),
}

impl SheetName<'_> {
    /// Its address under the sheets, without its form.
    fn segments(&self) -> Vec<&str> {
        match self {
            Self::Stock => vec!["stock"],
            Self::BuyList => vec!["buy-list"],
            Self::Movements => vec!["movements"],
            Self::Usage => vec!["usage"],
            Self::Counts => vec!["counts"],
            Self::Receipts => vec!["receipts"],
            Self::Parts => vec!["parts"],
            Self::Kits => vec!["kits"],
            Self::Offers => vec!["offers"],
            Self::Wear => vec!["wear"],
            Self::Warnings => vec!["warnings"],
            Self::JobNeeds(job) => vec!["jobs", job, "needs"],
            Self::CourseNeeds(course) => vec!["courses", course, "needs"],
            Self::Order(order) => vec!["orders", order],
        }
    }
}

impl Client {
    /// Pushes a file into a table, and tells what became of each row. The form of the file is told by its media type,
    /// or by `name` in `how`.
    pub async fn push_sheet(
        &self,
        table: SheetTable,
        file: (Vec<u8>, &str),
        how: &PushSheet,
    ) -> Result<PushedSheet, Error> {
        let segments = ["v1", "sheets", table.as_str()];
        answer(
            self.pushed(&segments, file, how)?
                .header("Accept", "application/json"),
        )
        .await
    }

    /// Pushes a file into the table that its columns tell; see [`Client::push_sheet`].
    pub async fn push_sheet_by_its_columns(
        &self,
        file: (Vec<u8>, &str),
        how: &PushSheet,
    ) -> Result<PushedSheet, Error> {
        let request = self.pushed(&["v1", "sheets"], file, how)?;
        answer(request.header("Accept", "application/json")).await
    }

    /// The same sheet back as a file in the form in which it is pushed; see [`Client::push_sheet`].
    pub async fn push_sheet_for_file(
        &self,
        table: SheetTable,
        file: (Vec<u8>, &str),
        how: &PushSheet,
    ) -> Result<Vec<u8>, Error> {
        bytes(self.pushed(&["v1", "sheets", table.as_str()], file, how)?).await
    }

    /// Sets up a shop from its own drawer list, and tells what became of each row.
    pub async fn push_drawer_list(
        &self,
        file: (Vec<u8>, &str),
        how: &PushDrawerList,
    ) -> Result<DrawerList, Error> {
        let request = self.pushed(&["v1", "sheets", "set-up"], file, how)?;
        answer(request.header("Accept", "application/json")).await
    }

    /// The same list back as a file in the form in which it is pushed; see [`Client::push_drawer_list`].
    pub async fn push_drawer_list_for_file(
        &self,
        file: (Vec<u8>, &str),
        how: &PushDrawerList,
    ) -> Result<Vec<u8>, Error> {
        bytes(self.pushed(&["v1", "sheets", "set-up"], file, how)?).await
    }

    fn pushed(
        &self,
        segments: &[&str],
        (file, media_type): (Vec<u8>, &str),
        how: &impl Serialize,
    ) -> Result<reqwest::RequestBuilder, Error> {
        let request = self.request(Method::POST, segments)?;
        let request = request.query(how).header("Content-Type", media_type);
        Ok(request.body(file))
    }

    /// The advice on electrodes as a sheet: a row a diameter, column and table.
    pub async fn get_electrode_advice_sheet(
        &self,
        query: &GetElectrodeAdvice,
    ) -> Result<String, Error> {
        let segments = ["v1", "sheets", "electrodes", "advice.csv"];
        self.sheet(&segments, query).await
    }

    /// The check of a kit for a torch as a sheet: a row a slot.
    pub async fn check_kit_sheet(&self, torch: &str, kit: &str) -> Result<String, Error> {
        let segments = ["v1", "sheets", "torches", torch, "kits", kit, "check.csv"];
        self.sheet(&segments, &()).await
    }

    /// The count of complete kits of one kind as a sheet.
    pub async fn count_kit_sheet(&self, kit: &str, query: &GetKitCount) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "kits", kit, "count.csv"], query)
            .await
    }

    /// Parts tried on a torch as a sheet: the faults, and the parts of each way out.
    pub async fn try_fit_sheet(&self, torch: &str, query: &TryFit) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "torches", torch, "fit.csv"], query)
            .await
    }

    /// What of the stock of a site is what a procedure asks for, as a sheet: a row a candidate.
    pub async fn get_procedure_match_sheet(
        &self,
        procedure: &str,
        query: &GetMatch,
    ) -> Result<String, Error> {
        let segments = ["v1", "sheets", "procedures", procedure, "match.csv"];
        self.sheet(&segments, query).await
    }

    /// The warnings as a sheet: a row a warning.
    pub async fn get_warnings_sheet(&self, query: &ListWarnings) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "warnings.csv"], query).await
    }

    /// What a job needs as a sheet: a row a part.
    pub async fn get_job_needs_sheet(&self, job: &str, query: &GetNeeds) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "jobs", job, "needs.csv"], query)
            .await
    }

    /// What a course needs as a sheet: a row a part.
    pub async fn get_course_needs_sheet(
        &self,
        course: &str,
        query: &GetNeeds,
    ) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "courses", course, "needs.csv"], query)
            .await
    }

    /// How forecasts did as a sheet: a row a part and method.
    pub async fn get_track_record_sheet(&self, query: &GetTrackRecord) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "track-record.csv"], query)
            .await
    }

    /// The stock of a site as a sheet: a row a part.
    pub async fn get_stock_sheet(&self, query: &GetStock) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "stock.csv"], query).await
    }

    /// The buy list of a site as a sheet.
    pub async fn get_buy_list_sheet(&self, query: &GetBuyList) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "buy-list.csv"], query).await
    }

    /// The rows of the ledger as a sheet.
    pub async fn get_movements_sheet(&self, query: &SheetOfPart) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "movements.csv"], query).await
    }

    /// Arc time, grinds, cut-backs and starts as a sheet.
    pub async fn get_usage_sheet(&self, query: &SheetOfTorch) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "usage.csv"], query).await
    }

    /// The counts as a sheet.
    pub async fn get_counts_sheet(&self, query: &SheetOfPart) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "counts.csv"], query).await
    }

    /// The goods that came in as a sheet.
    pub async fn get_receipts_sheet(&self, query: &SheetOfPart) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "receipts.csv"], query).await
    }

    /// The parts as a sheet.
    pub async fn get_parts_sheet(&self) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "parts.csv"], &()).await
    }

    /// The kits as a sheet: a row a slot.
    pub async fn get_kits_sheet(&self) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "kits.csv"], &()).await
    }

    /// The offers as a sheet.
    pub async fn get_offers_sheet(&self) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "offers.csv"], &()).await
    }

    /// Forecasts of use over a size of work as a sheet: a row a part.
    pub async fn get_wear_sheet(&self, query: &GetForecasts) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "wear.csv"], query).await
    }

    /// An order as a sheet for its supplier: a row a line.
    pub async fn get_order_sheet(&self, order: i64) -> Result<String, Error> {
        let last = format!("{order}.csv");
        self.sheet(&["v1", "sheets", "orders", &last], &()).await
    }

    /// A sheet as a file in a form; the query is that of the resource.
    pub async fn sheet_file(
        &self,
        sheet: SheetName<'_>,
        form: SheetForm,
        query: &impl Serialize,
    ) -> Result<Vec<u8>, Error> {
        let mut segments = vec!["v1", "sheets"];
        segments.extend(sheet.segments());
        let last = segments.pop().unwrap_or_default();
        let last = format!("{last}.{}", form.extension());
        segments.push(&last);
        bytes(self.request(Method::GET, &segments)?.query(query)).await
    }

    /// A workbook to open and use.
    pub async fn get_template(
        &self,
        template: SheetTemplate,
        form: WorkbookForm,
        query: &GetTemplate,
    ) -> Result<Vec<u8>, Error> {
        let last = format!("{}.{}", template.as_str(), form.sheet().extension());
        let segments = ["v1", "sheets", "templates", &last];
        bytes(self.request(Method::GET, &segments)?.query(query)).await
    }

    /// One figure as text, as a single cell of a spreadsheet asks for it.
    pub async fn get_cell(&self, figure: CellFigure, query: &GetCell) -> Result<String, Error> {
        text(
            self.request(Method::GET, &["v1", "cell", figure.as_str()])?
                .query(query),
        )
        .await
    }

    /// A sheet as it came.
    async fn sheet(&self, segments: &[&str], query: &impl Serialize) -> Result<String, Error> {
        text(self.request(Method::GET, segments)?.query(query)).await
    }
}
