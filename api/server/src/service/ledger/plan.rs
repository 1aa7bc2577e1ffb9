//! What plain entries do: logged use, movements, and receipts that belong to no order.

use domain::exposure::ArcTime;
use domain::ledger::MovementKind;
use domain::part::PartKind;
use sea_orm::ConnectionTrait;
use types::{Difference, NewMovement, NewReceipt, NewUsage, Recorded, StockAfter, What};

use super::books::{Books, Worn};
use super::names::{Names, Torch};
use super::page::{NewRow, Page};
use super::placed::Placed;
use super::{Answer, Request, doubles, lot, words};
use crate::service::Error;
use crate::store::entity::{entries, parts};

/// Use at the bench: wears what is fitted, and takes from the stock what was taken or broken.
pub(super) async fn usage(
    db: &impl ConnectionTrait,
    (request, usage, what): (&Request, &NewUsage, Option<What>),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = usage.circumstances();
    let placed = Placed::find(request, told, usage.torch.as_deref(), names)?;
    let part = used_part(usage, what, names, placed.torch)?;
    if let Some(part) = part {
        lot::check_received(request, part, books)?;
    }
    let mut entry = placed.entry(request, "usage", told);
    describe(&mut entry, usage, what);
    let worn = Worn {
        arc_seconds: entry.arc_seconds,
        grinds: entry.grinds,
        cut_backs: entry.cut_backs,
        starts: entry.starts,
    };
    if worn != Worn::default() {
        for part in placed.torch.map_or(&[][..], |torch| torch.fitted) {
            books.wear_part(
                (*part, entry.site_id),
                &entry.operator_group,
                entry.happened_at,
                worn,
            )?;
        }
    }
    let moved = part.zip(what.and_then(movement_of));
    let mut questions = Vec::new();
    if let Some((part, kind)) = moved {
        let row = NewRow {
            part: part.id,
            kind,
            quantity: usage.qty.unwrap_or(1),
            order: None,
        };
        page.move_part(&entry, row, books)?;
        if kind == MovementKind::Issue
            && let Some(question) = lot::question(request, (&entry, part), names)
        {
            let asked = question.says.clone();
            questions.push((page.ask(db, question).await?, asked));
        }
        let taken = (placed.torch, part, row.quantity);
        let double = doubles::question(&mut page.changes, request, &entry, taken)?;
        if let Some(question) = double {
            let asked = question.says.clone();
            let number = page.ask(db, question).await?;
            questions.push((number, asked));
        }
    }
    let electrode = placed
        .torch
        .and_then(|torch| names.fitted(torch, PartKind::Electrode));
    let shown = part.or(electrode);
    let ground = electrode.filter(|_| worn.grinds > 0);
    let cautioned: Vec<_> = shown.into_iter().chain(ground).collect();
    let stock: Vec<StockAfter> = shown
        .map(|part| books.after(part, entry.site_id))
        .into_iter()
        .collect();
    let recorded = Recorded {
        entry: entry.id,
        says: words::usage(usage, what, placed.torch, &stock) + &words::asked(&questions),
        cautions: words::cautions(what, worn.grinds > 0, &cautioned),
        differences: Vec::new(),
        stock,
        questions: questions.into_iter().map(|(number, _)| number).collect(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}

/// The part that was taken, put back, broken or lost: as named, else the fitted electrode.
fn used_part<'n>(
    usage: &NewUsage,
    what: Option<What>,
    names: &'n Names,
    torch: Option<Torch<'n>>,
) -> Result<Option<&'n parts::Model>, Error> {
    if what.and_then(movement_of).is_none() {
        return Ok(None);
    }
    let word = usage
        .part
        .as_deref()
        .unwrap_or(PartKind::Electrode.as_str());
    names.part_or_fitted(word, torch).map(Some)
}

/// How what was done moves the stock. What broke or was lost was used up.
fn movement_of(what: What) -> Option<MovementKind> {
    match what {
        What::Ground => None,
        What::Took | What::Broke | What::Lost => Some(MovementKind::Issue),
        What::PutBack => Some(MovementKind::Return),
    }
}

fn describe(entry: &mut entries::Model, usage: &NewUsage, what: Option<What>) {
    let ground = (what == Some(What::Ground)).then(|| usage.qty.unwrap_or(1));
    entry.arc_seconds = usage.arc_minutes.unwrap_or(0) * 60;
    entry.grinds = usage.grinds.or(ground).unwrap_or(0);
    entry.cut_backs = usage.cut_backs.unwrap_or(0);
    entry.starts = usage.starts.unwrap_or(0);
    entry.what = what.map(|what| what.as_str().to_owned());
    entry.why.clone_from(&usage.why);
    entry.polarity.clone_from(&usage.polarity);
    entry.amps = usage.amps;
    debug_assert!(entry.arc_seconds <= ArcTime::SECONDS_MAX);
}

/// A movement that is no use, receipt or count.
pub(super) fn movement(
    request: &Request,
    (movement, kind): (&NewMovement, MovementKind),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = movement.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let part = names.part(&movement.part)?;
    let mut entry = placed.entry(request, "movement", told);
    entry.why.clone_from(&movement.why);
    lot::check_received(request, part, books)?;
    if kind == MovementKind::Issue {
        let issued = (part, movement.quantity, entry.site_id);
        lot::check_issue(request, issued, names, books)?;
    }
    check_hold((part, kind, movement.quantity), entry.site_id, books)?;
    let row = NewRow {
        part: part.id,
        kind,
        quantity: movement.quantity,
        order: None,
    };
    page.move_part(&entry, row, books)?;
    record(request, entry, part, (books, page), |stock| {
        (words::movement(kind, movement.quantity, stock), Vec::new())
    })
}

/// More than what is on hold cannot be released.
fn check_hold(
    (part, kind, quantity): (&parts::Model, MovementKind, i64),
    site: i64,
    books: &Books,
) -> Result<(), Error> {
    let on_hold = books.book((part.id, site)).on_hold;
    if kind == MovementKind::Release && quantity > on_hold {
        let why = format!(
            "{quantity} of {} cannot be released: {on_hold} on hold",
            part.code
        );
        return Err(Error::invalid("/quantity", why));
    }
    Ok(())
}

/// Goods that came in without an order.
pub(super) fn receipt(
    request: &Request,
    receipt: &NewReceipt,
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = receipt.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let part = names.part(&receipt.part)?;
    let entry = placed.entry(request, "receipt", told);
    let row = NewRow {
        part: part.id,
        kind: MovementKind::Receipt,
        quantity: receipt.quantity,
        order: receipt.order,
    };
    page.move_part(&entry, row, books)?;
    record(request, entry, part, (books, page), |stock| {
        let says = words::movement(MovementKind::Receipt, receipt.quantity, stock);
        (says, Vec::new())
    })
}

/// Enters an entry that moved one part, and answers it in the words of `says`, with how it differs
/// from an order.
pub(super) fn record(
    request: &Request,
    entry: entries::Model,
    part: &parts::Model,
    (books, page): (&mut Books, &mut Page),
    says: impl FnOnce(&StockAfter) -> (String, Vec<Difference>),
) -> Result<Answer, Error> {
    let stock = books.after(part, entry.site_id);
    let (says, differences) = says(&stock);
    let recorded = Recorded {
        entry: entry.id,
        says,
        cautions: words::cautions(None, false, &[part]),
        differences,
        stock: vec![stock],
        questions: Vec::new(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}
