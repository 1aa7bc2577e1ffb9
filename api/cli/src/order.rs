//! `order`: drafts what a job or a course needs and places it after asking; lists, places and cancels orders.

use clap::Args;
use client::every;
use types::ProblemKind;
use types::page::Page;
use types::{DraftOrders, DraftedOrders, OrderPage, PlaceOrder};
use uuid::Uuid;

use crate::failure::{Failure, exit};
use crate::instant::parse_now;
use crate::sheet::{Cell, Sheet, local_time, money};
use crate::shop::Shop;

mod supplier;

const EXAMPLES: &str = "\
Placing an order here notes that you placed it with the supplier; nothing is sent to the supplier.

Examples:
  tigstock order                    list the orders
  tigstock order R-118              draft what the job needs, then ask whether to place it
  tigstock order R-118 --draft      draft only
  tigstock order course-0912 --draft
  tigstock order --place 3
  tigstock order --place 3 --below-minimum    the supplier agreed to send less than its minimum
  tigstock order --cancel 3

What a supplier asks, and when it is shut, counts in every plan:
  tigstock order --from quayhead                          show it, with its offers
  tigstock order --from quayhead --shut 2026-12-24..2027-01-03 --note 'year end'
  tigstock order --from quayhead --open 2026-12-24        take away the closure that begins on that day
  tigstock order --from quayhead --part WLa20-2.4 --pack-of 10 --break 3=39.00 5=37.50
  tigstock order --from quayhead --part WLa20-2.4 --pack-of 10 --break none";

/// Draft, place, cancel or list orders
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Order {
    /// The job or the course to order for; without it, the orders are listed
    job: Option<String>,
    /// Draft only
    #[arg(long, requires = "job")]
    draft: bool,
    /// Place without asking
    #[arg(long, requires = "job", conflicts_with = "draft")]
    yes: bool,
    /// The instant to plan from; the present unless told
    #[arg(long, value_name = "TIME", requires = "job", value_parser = parse_now)]
    now: Option<String>,
    /// Place the draft of this number
    #[arg(long, value_name = "N", conflicts_with_all = ["job", "cancel"])]
    place: Option<i64>,
    /// The supplier agreed to send less than its minimum order
    #[arg(long, requires = "place")]
    below_minimum: bool,
    /// Cancel what has not arrived of the order of this number
    #[arg(long, value_name = "N", conflicts_with = "job")]
    cancel: Option<i64>,
    #[command(flatten)]
    supplier: supplier::SupplierOptions,
}

impl Order {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        if let Some(supplier) = self.supplier.from.clone() {
            return self.supplier.run(&supplier, shop).await;
        }
        if let Some(number) = self.place {
            let how = PlaceOrder {
                below_minimum: self.below_minimum,
            };
            let order = shop.client.place_order_as(number, &how).await?;
            show_one(&order, shop);
        } else if let Some(number) = self.cancel {
            let order = shop.client.cancel_order(number).await?;
            show_one(&order, shop);
        } else if let Some(job) = &self.job {
            self.order_for(job, shop).await?;
        } else {
            list(shop).await?;
        }
        Ok(exit::DONE)
    }

    async fn order_for(&self, job: &str, shop: &mut Shop<'_, '_>) -> Result<(), Failure> {
        let query = DraftOrders {
            now: self.now.clone(),
        };
        let key = Uuid::now_v7().to_string();
        let drafted = shop.client.draft_job_orders(job, &query, &key).await;
        let mut drafted = match drafted {
            Err(error) if error.is(ProblemKind::NotFound) => {
                // A code is that of a job or of a course; if it is neither's, it is taken for a job.
                let drafted = shop.client.draft_course_orders(job, &query, &key).await;
                match drafted {
                    Err(none) if none.is(ProblemKind::NotFound) => return Err(error.into()),
                    other => other?,
                }
            }
            other => other?,
        };
        shop.output.say(&drafted.says);
        if self.draft || drafted.orders.is_empty() {
            show_drafted(&drafted, shop);
        } else if self.yes || shop.env.is_terminal {
            self.place(&mut drafted, shop).await?;
        } else {
            show_drafted(&drafted, shop);
            for order in &drafted.orders {
                let number = order.number;
                shop.output.note(&format!(
                    "Order {number} is a draft: nobody is here to ask. Place it with: \
                     tigstock order --place {number}"
                ));
            }
        }
        Ok(())
    }

    /// Asks for each draft, and places those that are wanted.
    async fn place(
        &self,
        drafted: &mut DraftedOrders,
        shop: &mut Shop<'_, '_>,
    ) -> Result<(), Failure> {
        for order in &mut drafted.orders {
            let (number, supplier) = (order.number, &order.supplier);
            let cost = money(order.cost_minor, &order.currency);
            for line in &order.lines {
                shop.output.note(&format!(
                    "  {} x {} of {}, {}",
                    line.packs,
                    line.part,
                    line.pack_size,
                    money(line.cost_minor, &order.currency)
                ));
            }
            let question = format!("Place order {number} at {supplier}, {cost}? [y/N]");
            if self.yes || is_yes(&question, shop)? {
                *order = shop.client.place_order(number).await?;
            } else {
                shop.output.note(&format!(
                    "Order {number} stays a draft. tigstock order --place {number}, or --cancel {number}"
                ));
            }
        }
        show_drafted(drafted, shop);
        Ok(())
    }
}

fn is_yes(question: &str, shop: &mut Shop<'_, '_>) -> Result<bool, Failure> {
    shop.output.ask(question);
    let mut answer = String::new();
    shop.env
        .input
        .read_line(&mut answer)
        .map_err(|source| Failure::System {
            doing: "read the answer",
            source,
        })?;
    Ok(matches!(&*answer.trim().to_lowercase(), "y" | "yes"))
}

fn show_drafted(drafted: &DraftedOrders, shop: &mut Shop<'_, '_>) {
    let sheet = sheet(&drafted.orders);
    if drafted.orders.is_empty() {
        shop.output.show_data(drafted, &sheet);
    } else {
        shop.output.show(drafted, &sheet);
    }
}

fn show_one(order: &types::Order, shop: &mut Shop<'_, '_>) {
    let cost = money(order.cost_minor, &order.currency);
    let says = format!(
        "Order {} at {}, {cost}: {}.",
        order.number, order.supplier, order.state
    );
    shop.output
        .show_said(order, &says, &sheet(std::slice::from_ref(order)));
}

async fn list(shop: &mut Shop<'_, '_>) -> Result<(), Failure> {
    let client = &shop.client;
    let first = Page {
        limit: Some(types::page::PAGE_MAX),
        after: None,
    };
    let orders = every(first, async |page| client.list_orders(&page).await).await?;
    let says = orders
        .is_empty()
        .then_some("No orders. Next: tigstock order JOB");
    let sheet = sheet(&orders);
    let page = OrderPage { orders, next: None };
    match says {
        Some(says) => shop.output.show_said(&page, says, &sheet),
        None => shop.output.show(&page, &sheet),
    }
    for order in &page.orders {
        if let Some(placed) = order.placed_at.filter(|_| order.state == "placed") {
            let day = local_time(shop.env.zone.clock(&placed));
            shop.output.say(&format!(
                "Order {} was placed on {day}. When it comes: tigstock receive --order {}",
                order.number, order.number
            ));
        }
    }
    Ok(())
}

/// Orders as a sheet, one row a line.
pub(crate) fn sheet(orders: &[types::Order]) -> Sheet {
    let mut sheet = Sheet::new([
        ("order", "Order"),
        ("state", "State"),
        ("supplier", "Supplier"),
        ("job", "For"),
        ("site", ""),
        ("part", "Part"),
        ("pack_size", "Pack of"),
        ("packs", "Packs"),
        ("pieces", ""),
        ("received", "Received"),
        ("cost_minor", "Price"),
        ("currency", ""),
    ]);
    for order in orders {
        for line in &order.lines {
            sheet.push([
                Cell::Whole(order.number),
                Cell::from(&order.state),
                Cell::from(&order.supplier),
                Cell::from(&order.job.clone().or_else(|| order.course.clone())),
                Cell::from(&order.site),
                Cell::from(&line.part),
                Cell::Whole(line.pack_size),
                Cell::Whole(line.packs),
                Cell::Whole(line.pieces),
                Cell::Whole(line.received),
                Cell::money(line.cost_minor, &order.currency),
                Cell::from(&order.currency),
            ]);
        }
    }
    sheet
}
