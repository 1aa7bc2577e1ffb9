//! The contract as a document, derived from the routing table without a runtime or a database.

use actix_web::App as Actix;
use types::{DrawerList, Problem, PushedSheet, SheetText, WorkbookFile};
use utoipa::openapi::OpenApi;
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa::{Modify, OpenApi as _};
use utoipa_actix_web::AppExt;

#[derive(utoipa::OpenApi)]
#[openapi(
    info(
        title = "tigstock",
        description = "Consumables of TIG (GTAW) torches: stock, wear, forecasts and orders. Will this job run \
            without a stop, and if not, which one order fixes it, and by when?\n\n\
            Every failure is a problem (RFC 9457). Codes compare without case. Money is in minor units of its \
            currency, gas in millilitres, filler in grams, everything else in pieces.\n\n\
            Stock and planning help; not a qualified procedure and not safety advice.",
        license(name = "MIT OR Apache-2.0", identifier = "MIT OR Apache-2.0"),
    ),
    tags(
        (name = "jobs", description = "Work to come, and whether it will run without a stop"),
        (name = "courses", description = "Teaching to come, what it needs, and the cards of its stations"),
        (name = "forecasts", description = "Use to come, part by part"),
        (name = "stock", description = "What is there"),
        (name = "usage", description = "What was done at the bench"),
        (name = "counts", description = "What was counted"),
        (name = "receipts", description = "What came in"),
        (name = "movements", description = "The ledger"),
        (name = "transfers", description = "What moved to another site"),
        (name = "stubs", description = "Short electrodes in the jar"),
        (name = "reversals", description = "Taking an entry back"),
        (name = "entries", description = "What was told, and what became of it"),
        (name = "questions", description = "What the ledger asks a person"),
        (name = "allocations", description = "Pieces promised to jobs"),
        (name = "lots", description = "Where the pieces of a lot went"),
        (name = "warnings", description = "What is watched, what is low, and what to do next"),
        (name = "orders", description = "What was ordered"),
        (name = "parts", description = "Parts"),
        (name = "torches", description = "Torches and what is fitted in them"),
        (name = "kits", description = "Lists of parts"),
        (name = "procedures", description = "Written procedures: what they permit, what is signed for them, what of the stock matches"),
        (name = "seats", description = "The mating faces of parts, from which fit follows"),
        (name = "cautions", description = "What is dangerous about the work, and where that is told"),
        (name = "electrodes", description = "Which electrode suits a current: published tables, and the bands of the shop"),
        (name = "feeds", description = "What is to be done by when and what was told, for calendar programs and feed readers to subscribe to"),
        (name = "sheets", description = "Answers as CSV for a spreadsheet"),
        (name = "drawers", description = "Where parts lie, and photos of the labels"),
        (name = "suppliers", description = "Who sells"),
        (name = "offers", description = "What is sold, in which packs, at what price"),
        (name = "events", description = "What the service tells, as it happens"),
        (name = "webhooks", description = "Programs to which events are sent"),
        (name = "mail", description = "People to whom events are sent"),
        (name = "sites", description = "Where, what is barred there, and the days on which less or more is done than usual"),
        (name = "keys", description = "Who may call"),
        (name = "health", description = "Whether the service works"),
    ),
    components(schemas(DrawerList, Problem, PushedSheet, SheetText, WorkbookFile)),
    modifiers(&Keys),
)]
struct ApiDoc;

struct Keys;

impl Modify for Keys {
    fn modify(&self, document: &mut OpenApi) {
        let key = HttpBuilder::new()
            .scheme(HttpAuthScheme::Bearer)
            .description(Some("A key of the service. The role that an operation needs is listed with it: read, log, keep or own."))
            .build();
        let components = document.components.get_or_insert_default();
        components.add_security_scheme("key", SecurityScheme::Http(key));
    }
}

/// The contract.
pub fn document() -> OpenApi {
    let (_, document) = Actix::new()
        .into_utoipa_app()
        .openapi(ApiDoc::openapi())
        .configure(super::routes)
        .split_for_parts();
    document
}

/// The contract as text: pretty JSON, with a line end.
///
/// # Panics
/// Never: the document is made of strings and maps.
pub fn text() -> String {
    let mut text = document().to_pretty_json().expect("a document is JSON");
    text.push('\n');
    text
}
