//! Lots: where the pieces of one went, by what was recorded, and holding what is left. The lines and
//! the gap always add up to what was received.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};
use domain::ledger::MovementKind;
use domain::warning::WarningKind;
use sea_orm::ConnectionTrait;
use types::{GetTrace, LotHold, NewLotHold, NewMovement, Recorded, Trace, TraceLine, Violation};
use uuid::Uuid;

use super::keys::Caller;
use super::ledger::{self, Answer, Body, Request, check_idempotency_key, hash};
use super::replies::Asked;
use super::warnings::{self, Raised};
use super::{Context, Error, codes, instant, parts};
use crate::store;
use crate::store::entity::{entries, jobs, movements, parts as part_rows, sites};

/// Everything on record of a lot of one part.
struct Record {
    lot: String,
    part: part_rows::Model,
    rows: Vec<(movements::Model, entries::Model)>,
    sites: Vec<sites::Model>,
    jobs: Vec<jobs::Model>,
    levels: BTreeMap<i64, i64>,
    drawers: BTreeMap<i64, Vec<String>>,
}

/// Where the pieces of a lot are.
pub async fn trace(context: &Context, lot: &str, query: &GetTrace) -> Result<Trace, Error> {
    let db = context.store.read();
    let pointer = "?part";
    told(&Record::load(db, lot, (pointer, query.part.as_deref())).await?)
}

/// Puts what is left of a lot on hold, or frees it.
pub async fn hold(
    context: &Context,
    (caller, key): (Caller, &str),
    lot: &str,
    (kind, new): (MovementKind, NewLotHold),
) -> Result<Answer, Error> {
    check_idempotency_key(key)?;
    new.check()?;
    let now = context.clock.now();
    let asked = Asked {
        caller,
        key: key.to_owned(),
        hash: hash((kind.as_str(), &(lot, &new)))?,
        now: now.timestamp_micros(),
    };
    let lot = lot.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let of = ("/part", new.part.as_deref());
            let record = Record::load(tx, &lot, of).await?;
            let moves = record.to_move(kind, &new);
            let pieces = moves.iter().map(|new| new.quantity).sum();
            let requests = moves.into_iter().map(|new| Request {
                caller,
                // The key of the whole request stands for its parts.
                key: format!("lot-{}", Uuid::now_v7()),
                hash: String::new(),
                received_at: now,
                history: false,
                trusted: true,
                body: Body::Movement(new, kind),
            });
            let mut entries = Vec::new();
            for answer in ledger::record(tx, requests.collect()).await? {
                let recorded: Recorded = serde_json::from_str(&answer?.body)
                    .map_err(|error| Error::Internal(error.to_string()))?;
                entries.push(recorded.entry);
            }
            let record = Record::load(tx, &lot, of).await?;
            let trace = told(&record)?;
            if kind == MovementKind::Hold && pieces > 0 && trace.used > 0 {
                let site = record.sites.first().map_or(0, |site| site.id);
                warnings::raise(tx, (site, now), on_hold(&record, &trace)).await?;
            }
            let held = LotHold {
                pieces,
                entries,
                trace,
            };
            asked.answer(tx, 200, &held).await
        })
    });
    write.await
}

/// The warning about a lot of which pieces are out.
fn on_hold(record: &Record, trace: &Trace) -> Raised {
    Raised {
        kind: WarningKind::LotOnHold,
        subject: record.lot.clone(),
        part: Some(record.part.id),
        says: format!(
            "Lot on hold with pieces out. {} Next: find them, and say that it was seen.",
            trace.says
        ),
    }
}

impl Record {
    async fn load(
        db: &impl ConnectionTrait,
        lot: &str,
        (pointer, part): (&str, Option<&str>),
    ) -> Result<Self, Error> {
        let mut rows = store::movements::of_lot(db, &codes::key(lot)).await?;
        let named = match part {
            Some(code) => Some(codes::named_part(db, pointer, code).await?.id),
            None => None,
        };
        rows.retain(|row| named.is_none_or(|part| row.part_id == part));
        let ids: BTreeSet<i64> = rows.iter().map(|row| row.part_id).collect();
        let mut of = store::parts::get_many(db, ids).await?;
        if of.len() > 1 {
            let codes: Vec<String> = of.into_iter().map(|part| part.code).collect();
            let why = format!("lot {lot} is of {}; say which part", codes.join(" and of "));
            return Err(Error::Invalid(vec![Violation::new(pointer, why)]));
        }
        let part = of.pop().ok_or_else(|| Error::NotFound {
            kind: "lot",
            key: lot.to_owned(),
        })?;
        let entries = store::entries::get_many(db, rows.iter().map(|row| row.entry_id)).await?;
        let entries: BTreeMap<Uuid, entries::Model> =
            entries.into_iter().map(|entry| (entry.id, entry)).collect();
        let written = entries.values().find_map(|entry| entry.lot.clone());
        let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
        let jobs = store::jobs::get_many(db, entries.values().filter_map(|entry| entry.job_id));
        let keys = sites.iter().map(|site| (part.id, site.id));
        let levels = store::levels::find_many(db, keys).await?;
        let mut drawers: BTreeMap<i64, Vec<String>> = BTreeMap::new();
        for site in &sites {
            for (_, drawer) in store::drawers::of_parts(db, site.id, [part.id]).await? {
                drawers.entry(site.id).or_default().push(drawer.code);
            }
        }
        Ok(Self {
            lot: written.unwrap_or_else(|| lot.to_owned()),
            jobs: jobs.await?,
            levels: levels
                .into_iter()
                .map(|row| (row.site_id, row.on_hand))
                .collect(),
            rows: rows
                .into_iter()
                .filter_map(|row| Some((row.clone(), entries.get(&row.entry_id)?.clone())))
                .collect(),
            part,
            sites,
            drawers,
        })
    }

    /// The sum of the lot at a site, with a sign for each kind.
    fn sum(&self, site: i64, sign: impl Fn(MovementKind) -> i64) -> i64 {
        let there = self.rows.iter().filter(|(row, _)| row.site_id == site);
        there.map(|(row, _)| sign(kind(row)) * row.quantity).sum()
    }

    /// What is left of the lot at a site by its own book, and how much of that can be in the drawers:
    /// no more than there is of the part.
    fn left(&self, site: i64) -> (i64, i64) {
        let book = self.sum(site, MovementKind::on_hand_sign);
        let on_hand = self.levels.get(&site).copied().unwrap_or(0).max(0);
        (book, book.clamp(0, on_hand))
    }

    fn to_move(&self, kind: MovementKind, new: &NewLotHold) -> Vec<NewMovement> {
        let moves = self.sites.iter().map(|site| {
            let held = self.sum(site.id, MovementKind::on_hold_sign);
            let quantity = if kind == MovementKind::Release {
                held
            } else {
                self.left(site.id).1 - held
            };
            let reason = if kind == MovementKind::Release {
                "lot released"
            } else {
                "lot on hold"
            };
            NewMovement {
                part: self.part.code.clone(),
                kind: kind.as_str().to_owned(),
                quantity,
                why: Some(new.why.clone().unwrap_or_else(|| reason.to_owned())),
                site: Some(site.code.clone()),
                lot: Some(self.lot.clone()),
                by: new.by.clone(),
                ..NewMovement::default()
            }
        });
        moves.filter(|new| new.quantity > 0).collect()
    }

    fn site(&self, id: i64) -> String {
        let site = self.sites.iter().find(|site| site.id == id);
        site.map_or_else(String::new, |site| site.code.clone())
    }

    /// Where the part lies at a site: in its drawers, where it has some.
    fn place(&self, site: &sites::Model) -> String {
        match self.drawers.get(&site.id).map(Vec::as_slice) {
            None | Some([]) => site.code.clone(),
            Some([drawer]) => format!("drawer {drawer}"),
            Some(drawers) => format!("drawers {}", drawers.join(" and ")),
        }
    }

    fn job(&self, entry: &entries::Model) -> Option<&jobs::Model> {
        let id = entry.job_id?;
        self.jobs.iter().find(|job| job.id == id)
    }
}

fn kind(row: &movements::Model) -> MovementKind {
    // What is kept was checked when it came in.
    MovementKind::parse(&row.kind).unwrap_or(MovementKind::Adjustment)
}

/// What a movement means for the pieces of a lot.
fn what(kind: MovementKind) -> Option<&'static str> {
    match kind {
        MovementKind::Issue | MovementKind::Return | MovementKind::UnloggedUse => Some("used"),
        MovementKind::Scrap => Some("scrapped"),
        MovementKind::SupplierReturn => Some("sent back"),
        MovementKind::Adjustment => Some("adjusted"),
        MovementKind::Receipt
        | MovementKind::Transfer
        | MovementKind::Hold
        | MovementKind::Release
        | MovementKind::Allocation => None,
    }
}

fn told(record: &Record) -> Result<Trace, Error> {
    let received: i64 = record
        .rows
        .iter()
        .filter(|(row, _)| kind(row) == MovementKind::Receipt)
        .map(|(row, _)| row.quantity)
        .sum();
    let mut lines = gone(record);
    let used = sum(&lines, "used");
    let mut on_hold = 0;
    for site in &record.sites {
        let (_, left) = record.left(site.id);
        on_hold += record.sum(site.id, MovementKind::on_hold_sign).min(left);
        if left > 0 {
            lines.push(TraceLine {
                what: "left".to_owned(),
                place: record.place(site),
                site: site.code.clone(),
                quantity: left,
                groups: Vec::new(),
                by: Vec::new(),
                first_at: None,
                last_at: None,
            });
        }
    }
    let left = sum(&lines, "left");
    let accounted: i64 = lines.iter().map(|line| line.quantity).sum();
    let locked: BTreeSet<&str> = record
        .rows
        .iter()
        .filter(|(row, _)| what(kind(row)) == Some("used"))
        .filter_map(|(_, entry)| record.job(entry).filter(|job| job.locked))
        .map(|job| job.code.as_str())
        .filter(|code| {
            lines
                .iter()
                .any(|line| line.what == "used" && line.place == *code)
        })
        .collect();
    let mut trace = Trace {
        lot: record.lot.clone(),
        part: record.part.code.clone(),
        name: parts::spec(&record.part)?.describe(),
        received,
        used,
        left,
        on_hold,
        gap: received - accounted,
        locked_jobs: locked.into_iter().map(str::to_owned).collect(),
        says: String::new(),
        lines,
    };
    trace.says = says(&trace);
    Ok(trace)
}

fn sum(lines: &[TraceLine], what: &str) -> i64 {
    let these = lines.iter().filter(|line| line.what == what);
    these.map(|line| line.quantity).sum()
}

/// The lines of what is not in a drawer any more: by what became of it, and for which job.
fn gone(record: &Record) -> Vec<TraceLine> {
    let mut lines: Vec<TraceLine> = Vec::new();
    for (row, entry) in &record.rows {
        let Some(what) = what(kind(row)) else {
            continue;
        };
        let place = record
            .job(entry)
            .map_or_else(|| entry.operator_group.clone(), |job| job.code.clone());
        let site = record.site(row.site_id);
        let same =
            |line: &TraceLine| (&*line.what, &line.place, &line.site) == (what, &place, &site);
        let index = lines.iter().position(same).unwrap_or_else(|| {
            lines.push(TraceLine {
                what: what.to_owned(),
                place: place.clone(),
                site: site.clone(),
                quantity: 0,
                groups: Vec::new(),
                by: Vec::new(),
                first_at: None,
                last_at: None,
            });
            lines.len() - 1
        });
        lines[index].quantity -= kind(row).on_hand_sign() * row.quantity;
        note(&mut lines[index], entry);
    }
    lines.retain(|line| line.quantity != 0);
    lines
}

fn note(line: &mut TraceLine, entry: &entries::Model) {
    let at: DateTime<FixedOffset> = instant::with_offset(entry.happened_at, entry.offset_minutes);
    line.first_at = Some(line.first_at.map_or(at, |first| first.min(at)));
    line.last_at = Some(line.last_at.map_or(at, |last| last.max(at)));
    if !line.groups.contains(&entry.operator_group) {
        line.groups.push(entry.operator_group.clone());
    }
    if let Some(person) = entry
        .person
        .as_ref()
        .filter(|person| !line.by.contains(person))
    {
        line.by.push(person.clone());
    }
}

fn says(trace: &Trace) -> String {
    let lines = trace.lines.iter().map(|line| match line.what.as_str() {
        "used" => format!("{} to {}", line.quantity, line.place),
        "left" => format!("{} in {}", line.quantity, line.place),
        other => format!("{} {other} ({})", line.quantity, line.place),
    });
    let lines: Vec<String> = lines.collect();
    let mut says = vec![format!(
        "{}: {} received. {}.",
        trace.lot,
        trace.received,
        if lines.is_empty() {
            "Nothing of it is left".to_owned()
        } else {
            lines.join(", ")
        }
    )];
    if trace.gap != 0 {
        says.push(if trace.gap > 0 {
            format!("{} not accounted for.", trace.gap)
        } else {
            format!("{} more went out than came in.", -trace.gap)
        });
    }
    if trace.on_hold > 0 {
        says.push(format!("{} on hold.", trace.on_hold));
    }
    if trace.used > 0 {
        let jobs = &trace.locked_jobs;
        let tell = match jobs.len() {
            0 => String::new(),
            1 => format!(
                "; {} is a locked-procedure job: tell the person responsible",
                jobs[0]
            ),
            _ => format!(
                "; {} are locked-procedure jobs: tell the person responsible",
                jobs.join(" and ")
            ),
        };
        says.push(format!("{} used or handed out{tell}.", trace.used));
    }
    says.join(" ")
}
