//! Everything for the next job: complete, or what is missing; the chance that it runs without a stop; the
//! order that mends it.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde::Deserialize;
use types::{KitCheck, NeedLine, Needs, ProposedOrder};

use super::frame::{Page, Ways};
use super::refused::Refused;
use super::session::Visitor;
use super::words::{percent, time};
use crate::app::App;
use crate::http::auth::Read;
use crate::service::next_work::{self, Next, NextWork};

/// Which work is asked for.
#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    site: Option<String>,
    work: Option<String>,
}

/// Everything for the next job.
pub(super) async fn show(
    visitor: Visitor<Read>,
    app: web::Data<App>,
    asked: web::Query<Asked>,
) -> Result<HttpResponse, Refused> {
    let of = (asked.site.as_deref(), asked.work.as_deref());
    let told = next_work::get(&app.context, of).await?;
    let ways = visitor.ways("/next-job", Some(&told.site));
    let main = html! {
        p { (told.site) ", " (time(told.as_of, told.zone)) "." }
        @match &told.next {
            None => p { "No job and no course is booked here." },
            Some(next) => (work(next)),
        }
        (others(&told, &ways))
    };
    Ok(Page::among(ways, "Next job", main).answer(StatusCode::OK))
}

fn work(next: &Next) -> Markup {
    html! {
        h2 { (next.work.code) ", starts " (next.work.start.format("%a %-d %B %Y")) }
        @match &next.needs {
            Err(why) => {
                p { span class="state" { "Cannot say" } " what it needs: " (why) "." }
            }
            Ok(needs) => (of_needs(needs, next.kit.as_deref())),
        }
        @if let Some(kit) = &next.kit {
            h3 { "Kit " (kit.kit) " on " (kit.torch) ": " (kit.state) }
            @for says in &kit.says { p { (says) } }
        }
        (cautions(next))
    }
}

/// Each caution once, whatever it goes with.
fn cautions(next: &Next) -> Markup {
    let of_needs = next.needs.iter().flat_map(|needs| &needs.cautions);
    let of_kit = next.kit.iter().flat_map(|kit| &kit.cautions);
    let mut all: Vec<&String> = Vec::new();
    for caution in of_needs.chain(of_kit) {
        if !all.contains(&caution) {
            all.push(caution);
        }
    }
    html! {
        @if !all.is_empty() {
            h3 { "Cautions" }
            ul { @for caution in all { li { (caution) } } }
        }
    }
}

fn of_needs(needs: &Needs, kit: Option<&KitCheck>) -> Markup {
    let missing: Vec<&NeedLine> = needs.lines.iter().filter(|it| it.short > 0).collect();
    let is_whole = kit.is_none_or(|kit| kit.state == "complete") && needs.cannot_tell.is_empty();
    html! {
        @if missing.is_empty() && is_whole {
            p { span class="state" { "Complete." } " Of every part there is what it is likely to need." }
        } @else if missing.is_empty() {
            p { "Of every part that can be told of there is what it is likely to need." }
        } @else {
            p { span class="state" { "Missing" } ", to have enough of each with a chance of " (percent(needs.target)) ":" }
            ul { @for line in missing { li class="card" { (short(line)) } } }
        }
        p {
            "Chance that it runs without a stop: " strong { (percent(needs.chance_now)) " now" }
            @if !needs.orders.is_empty() {
                ", " strong { (percent(needs.chance_after)) " after the order below" }
            }
            ". The target is " (percent(needs.target)) "."
        }
        @for untold in &needs.cannot_tell {
            p { span class="state" { "Cannot say" } " for " (untold.part) ": " (untold.why) "." }
        }
        (order(needs))
        details {
            summary { "Why" }
            @for says in &needs.says { p { (says) } }
            @for assumed in &needs.assumes { p { (assumed) } }
        }
    }
}

fn short(line: &NeedLine) -> Markup {
    html! {
        strong { (line.part) ": " (line.short) " more" }
        ". Needs " (line.need) ", " (line.available) " available"
        @if line.on_order > 0 { ", " (line.on_order) " on order" }
        @if let Some(why) = &line.held_because { ", held: " (why) }
        "."
    }
}

fn order(needs: &Needs) -> Markup {
    html! {
        @if !needs.orders.is_empty() {
            h3 { "The order" }
            ul { @for order in &needs.orders { li class="card" { (at(order)) } } }
        }
    }
}

fn at(order: &ProposedOrder) -> Markup {
    html! {
        strong { (order.supplier) ", by " (order.order_by.format("%a %-d %b %H:%M")) }
        @if !order.in_time { " (too late for the start)" }
        ": "
        @for (index, line) in order.lines.iter().enumerate() {
            @if index > 0 { ", " }
            (line.packs) " \u{00d7} " (line.pack_size) " " (line.part)
        }
        "; " (money(order.cost_minor, &order.currency)) ", arrives " (order.arrives.format("%a %-d %b")) "."
    }
}

fn money(minor: i64, currency: &str) -> String {
    use domain::quantity::{Currency, Money};
    let told = Currency::parse(currency).and_then(|currency| Money::new(minor, currency));
    told.map_or_else(|_| format!("{minor} {currency}"), |money| money.to_string())
}

/// The other work that is booked.
fn others(told: &NextWork, ways: &Ways<'_>) -> Markup {
    let shown = told.next.as_ref().map(|next| &next.work);
    let others = told.all.iter().filter(|it| Some(*it) != shown);
    html! {
        @if told.all.len() > 1 {
            h2 { "Other work" }
            ul {
                @for work in others {
                    li {
                        a class="way" href=(ways.to(&format!("/next-job?work={}", work.code))) {
                            (work.code) ", " (work.start.format("%a %-d %b"))
                        }
                    }
                }
            }
        }
    }
}
