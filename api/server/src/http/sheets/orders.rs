//! The sheet of an order, ready to be sent to its supplier.

use actix_web::{get, web};
use types::{Order, OrderLine, OrderPath, SheetPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing};
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_order_sheet);
}

const COLUMNS: [&str; 12] = [
    "order",
    "supplier",
    "state",
    "part",
    "name",
    "packs",
    "pack_size",
    "pieces",
    "price",
    "cost",
    "currency",
    "site",
];
/// The places of the columns whose product is the cost, and of the cost.
const PACKS_BY_PRICE: [u16; 2] = [5, 8];
const COST: u16 = 9;

/// An order as a sheet for its supplier: a row a line, and one for freight. The price is that of a pack with its
/// breaks; a workbook computes and adds up the cost.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(OrderPath, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
))]
#[get("/sheets/orders/{order}.{form}")]
async fn get_order_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<OrderPath>,
    form: web::Path<SheetPath>,
) -> Answer {
    let order = service::orders::get(&app.context, &path.order).await?;
    let mut sheet = Sheet::new("order", COLUMNS, app.context.clock.now()).with_total(COST);
    for line in &order.lines {
        let name = service::parts::get(&app.context, &line.part).await?.name;
        sheet.push(row(&order, line, name));
    }
    if order.freight_minor > 0 {
        sheet.push(freight(&order));
    }
    sheet.answer(form.form)
}

fn row(order: &Order, line: &OrderLine, name: String) -> [Cell; 12] {
    // With a break every pack has the same price, so that the cost is a whole multiple of it.
    let each = line.cost_minor / line.packs.max(1);
    let is_whole = each * line.packs == line.cost_minor;
    let (price, cost) = if is_whole {
        let cost = Cell::product(PACKS_BY_PRICE, line.cost_minor, &order.currency);
        (Cell::money(each, &order.currency), cost)
    } else {
        (Cell::Nothing, Cell::money(line.cost_minor, &order.currency))
    };
    [
        order.number.into(),
        (&order.supplier).into(),
        (&order.state).into(),
        (&line.part).into(),
        name.into(),
        line.packs.into(),
        line.pack_size.into(),
        line.pieces.into(),
        price,
        cost,
        (&order.currency).into(),
        (&order.site).into(),
    ]
}

fn freight(order: &Order) -> [Cell; 12] {
    let mut row = [const { Cell::Nothing }; 12];
    row[0] = order.number.into();
    row[1] = (&order.supplier).into();
    row[2] = (&order.state).into();
    row[4] = "freight".into();
    row[9] = Cell::money(order.freight_minor, &order.currency);
    row[10] = (&order.currency).into();
    row[11] = (&order.site).into();
    row
}
