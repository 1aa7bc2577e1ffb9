//! What plain entries do: logged use, movements, and receipts that belong to no order.

use domain::exposure::ArcTime;
use domain::ledger::MovementKind;
use domain::part::PartKind;
use sea_orm::ConnectionTrait;
use types::{Difference, NewMovement, NewReceipt, NewUsage, Recorded, StockAfter, What};

use super::barred::{self, Used};
use super::books::{Books, Occasion};
use super::names::{Names, Torch};
use super::page::{NewRow, Page};
use super::placed::Placed;
use super::{Answer, Request, cautions, clocks, doubles, lot, off_procedure, shares, words};
use crate::service::{Error, site_rules};
use crate::store::entity::{entries, parts, sites};

/// Use at the bench: wears what is fitted, and takes from the stock what was taken or broken.
pub(super) async fn usage(
    db: &impl ConnectionTrait,
    (request, usage, what): (&Request, &NewUsage, Option<What>),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let mut placed = Placed::find(
        request,
        usage.circumstances(),
        usage.torch.as_deref(),
        names,
    )?;
    if usage.group.is_none() {
        // Whoever welds at a course is not the shop, whose own rate it must never raise.
        placed.group = names.group_of_course(usage)?.unwrap_or(placed.group);
    }
    let read = clocks::read(db, usage, &placed).await?;
    let (usage, told) = (&read.usage, read.usage.circumstances());
    let part = used_part(usage, what, names, placed.torch)?;
    let ground = match (what, &usage.part) {
        (Some(What::Ground), Some(_)) => Some(electrode(usage, names, placed.torch, "is ground")?),
        _ => None,
    };
    if let Some(part) = part {
        lot::check_received(request, part, books)?;
    }
    let course_part = match (usage.student_days, &usage.part) {
        (Some(_), Some(word)) => Some(names.part_or_fitted(word, None)?),
        _ => None,
    };
    let mut entry = placed.entry(request, "usage", told);
    describe(&mut entry, usage, what);
    entry.course_id = names.course(usage.course.as_deref())?;
    let at_hand = placed.torch.map_or(&[][..], |torch| torch.fitted);
    let elsewhere = ground.filter(|part| !at_hand.contains(&part.id));
    let alone = elsewhere.or_else(|| course_part.filter(|_| entry.student_days > 0));
    entry.exposed_part_id = alone.map(|part| part.id);
    wear(&entry, placed.torch, books)?;
    let moved = part.zip(what.and_then(movement_of));
    let (on_hold, questions) = match moved {
        Some(moved) => {
            let of = (request, &entry, placed.torch);
            move_used(db, of, (moved, usage), names, (books, page)).await?
        }
        None => (String::new(), Vec::new()),
    };
    let fitted = placed
        .torch
        .and_then(|torch| names.fitted(torch, PartKind::Electrode));
    let shown = part.or(ground).or(fitted);
    let ground = ground.or(fitted).filter(|_| entry.grinds > 0);
    let touched: Vec<_> = shown.into_iter().chain(ground).collect();
    let stock = shown.map(|part| books.after(part, placed.site));
    let stock: Vec<StockAfter> = stock.into_iter().collect();
    let said = read.says.clone()
        + &words::usage(usage, what, placed.torch, &stock)
        + &on_hold
        + &off_procedure::says((&entry, told.job), what, &touched, names)?;
    let used = barred_use(what, &touched, placed.site);
    let told = barred::tell(db, (&entry, placed.site), &used, page).await?;
    let recorded = Recorded {
        entry: entry.id,
        says: said + &told.says + &words::asked(&questions),
        cautions: cautions::of_parts(&cautions::of_use(usage, what, entry.grinds > 0), &touched),
        differences: Vec::new(),
        stock,
        questions: questions
            .into_iter()
            .map(|(number, _)| number)
            .chain(told.questions)
            .collect(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}

/// Moves what was used, and asks what that raises: what is to be said of a lot on hold, and the questions,
/// each with its number.
async fn move_used(
    db: &impl ConnectionTrait,
    (request, entry, torch): (&Request, &entries::Model, Option<Torch<'_>>),
    ((part, kind), usage): ((&parts::Model, MovementKind), &NewUsage),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<(String, Vec<(i64, String)>), Error> {
    let row = NewRow {
        part: part.id,
        site: entry.site_id,
        kind,
        quantity: usage.qty.unwrap_or(1),
        order: None,
    };
    let is_issue = kind == MovementKind::Issue;
    let mut on_hold = String::new();
    if is_issue && !entry.history {
        let taken = (part, row.quantity, entry.site_id);
        on_hold = lot::used_on_hold(usage.lot.as_deref(), taken, books);
    }
    page.move_part(entry, row, books)?;
    let missing = lot::question(request, (entry, part), names).filter(|_| is_issue);
    let taken = (torch, part, row.quantity);
    let double = doubles::question(&mut page.changes, request, entry, taken)?;
    let mut questions = Vec::new();
    for question in missing.into_iter().chain(double) {
        let asked = question.says.clone();
        questions.push((page.ask(db, question).await?, asked));
    }
    Ok((on_hold, questions))
}

/// What an entry of use wears, by what the torch had fitted.
pub(super) fn wear(
    entry: &entries::Model,
    torch: Option<Torch<'_>>,
    books: &mut Books,
) -> Result<(), Error> {
    let fitted = torch.map_or(&[][..], |torch| torch.fitted);
    for (part, worn) in shares(entry, fitted) {
        let key = (part, entry.site_id);
        books.wear_part(key, &entry.operator_group, Occasion::of(entry), worn)?;
    }
    Ok(())
}

/// What an entry used though the site bars it; what is put back unused is none of it.
fn barred_use(what: Option<What>, touched: &[&parts::Model], site: &sites::Model) -> Vec<Used> {
    let mut seen = Vec::new();
    let touched = touched.iter().filter(|_| what != Some(What::PutBack));
    let used = touched.filter(|part| {
        let first = !seen.contains(&part.id);
        seen.push(part.id);
        first
    });
    used.filter_map(|part| Used::part(part, site)).collect()
}

/// The electrode that an entry is about: as named, else the one that is fitted.
pub(super) fn electrode<'n>(
    usage: &NewUsage,
    names: &'n Names,
    torch: Option<Torch<'n>>,
    done: &str,
) -> Result<&'n parts::Model, Error> {
    let word = usage
        .part
        .as_deref()
        .unwrap_or(PartKind::Electrode.as_str());
    let part = names.part_or_fitted(word, torch)?;
    if part.kind == PartKind::Electrode.as_str() {
        return Ok(part);
    }
    let why = format!(
        "{} is a {}, and only an electrode {done}; give the code of the electrode",
        part.code,
        part.kind.replace('-', " ")
    );
    Err(Error::invalid("/part", why))
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
        What::Ground | What::Stub => None,
        What::Took | What::Broke | What::Lost => Some(MovementKind::Issue),
        What::PutBack => Some(MovementKind::Return),
    }
}

/// What was done and for how long, as the entry keeps it.
pub(super) fn describe(entry: &mut entries::Model, usage: &NewUsage, what: Option<What>) {
    let ground = (what == Some(What::Ground)).then(|| usage.qty.unwrap_or(1));
    entry.arc_seconds = usage.arc_minutes.unwrap_or(0) * 60;
    entry.grinds = usage.grinds.or(ground).unwrap_or(0);
    entry.cut_backs = usage.cut_backs.unwrap_or(0);
    entry.starts = usage.starts.unwrap_or(0);
    entry.student_days = usage.student_days.unwrap_or(0);
    entry.arc_from.clone_from(&usage.arc_from);
    entry.arc_timer_minutes = usage.arc_timer_minutes;
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
    if kind == MovementKind::Release {
        let released = (part, movement.quantity, entry.site_id);
        lot::check_release(request, released, books)?;
    } else {
        lot::check_received(request, part, books)?;
    }
    if kind == MovementKind::Issue {
        let way_out = "take a permitted class, or move it to a site that permits it";
        site_rules::check_plan((placed.site, part), "/part", way_out)?;
        names.check_permitted(told.job, part, "take a permitted part")?;
        let issued = (part, movement.quantity, entry.site_id);
        lot::check_issue(request, issued, names, books)?;
    }
    let row = NewRow {
        part: part.id,
        site: entry.site_id,
        kind,
        quantity: movement.quantity,
        order: None,
    };
    page.move_part(&entry, row, books)?;
    let stock = books.after(part, placed.site);
    let told = Told {
        says: words::movement(kind, movement.quantity, &stock),
        kind,
        quantity: movement.quantity,
        differences: Vec::new(),
    };
    record(request, entry, (part, placed.site), told, (books, page))
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
        site: entry.site_id,
        kind: MovementKind::Receipt,
        quantity: receipt.quantity,
        order: receipt.order,
    };
    page.move_part(&entry, row, books)?;
    let told = Told {
        says: words::receipt(receipt.quantity, (part, placed.site), names, books),
        kind: MovementKind::Receipt,
        quantity: receipt.quantity,
        differences: Vec::new(),
    };
    record(request, entry, (part, placed.site), told, (books, page))
}

/// What is told of an entry that moved one part.
pub(super) struct Told {
    /// Its one line.
    pub(super) says: String,
    /// How it moved the part.
    pub(super) kind: MovementKind,
    /// How many it moved.
    pub(super) quantity: i64,
    /// How it differs from an order.
    pub(super) differences: Vec<Difference>,
}

/// Enters an entry that moved one part, and answers it.
pub(super) fn record(
    request: &Request,
    entry: entries::Model,
    (part, site): (&parts::Model, &sites::Model),
    told: Told,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    if told.kind == MovementKind::Receipt
        && let Some(raised) = barred::received((part, site), told.quantity)
    {
        page.raise(&entry, raised);
    }
    let recorded = Recorded {
        entry: entry.id,
        says: told.says,
        cautions: cautions::of_parts(cautions::of_movement(told.kind), &[part]),
        differences: told.differences,
        stock: vec![books.after(part, site)],
        questions: Vec::new(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}
