//! A current held against the published tables: inside all, inside some, outside all. Guides that
//! disagree are told side by side; none is blended with another.

use std::cmp::Ordering;

use super::current::{Current, Group, Setting};
use super::tables::{Cell, CurrentTable, TABLES};
use crate::named::named;
use crate::size::Diameter;

named! {
    /// Where a current lies against one range.
    Position, "position" {
        /// Below the range.
        Below = "below",
        /// Inside it, its ends included.
        Inside = "inside",
        /// Above the range.
        Above = "above",
        /// The table says that such an electrode is not used so.
        NotUsed = "not-used",
    }
}

named! {
    /// What all tables together say of a current, the best first.
    Verdict, "verdict" {
        /// Inside the range of every table that has one.
        InsideAll = "inside-all",
        /// Inside the range of some, outside that of others.
        InsideSome = "inside-some",
        /// Outside the range of every table that has one.
        OutsideAll = "outside-all",
        /// No table has a range for it.
        NotListed = "not-listed",
    }
}

impl Position {
    /// What happens there (common practice); nothing to be said of the inside.
    pub fn says(self) -> Option<&'static str> {
        match self {
            Self::Below => Some("the arc may wander"),
            Self::Inside => None,
            Self::Above => Some("the tip overheats, melts or spits tungsten"),
            Self::NotUsed => Some("the table does not use this electrode so"),
        }
    }
}

/// What one table says.
#[derive(Debug, Clone, Copy)]
pub struct TableVerdict {
    /// The table.
    pub table: &'static CurrentTable,
    /// What it prints; never [`Cell::Absent`].
    pub cell: Cell,
    /// Where the current lies.
    pub position: Position,
}

/// What the published tables say of a current on an electrode.
#[derive(Debug, Clone)]
pub struct Judgement {
    /// The electrode's diameter.
    pub diameter: Diameter,
    /// Its group of classes.
    pub group: Group,
    /// What they say together.
    pub verdict: Verdict,
    /// What each says that has a cell for it.
    pub tables: Vec<TableVerdict>,
}

fn position(cell: Cell, current: Current) -> Option<Position> {
    match cell {
        Cell::Range(low, high) => Some(current.position(low, high)),
        Cell::UpTo(high) => Some(current.position(0, high)),
        Cell::NotUsed => Some(Position::NotUsed),
        Cell::Absent => None,
    }
}

/// Holds a current against every table that has a cell for the electrode.
///
/// ```
/// use tigstock_domain::advice::{Current, Group, Setting, Verdict, judge};
/// use tigstock_domain::size::Diameter;
/// let (size, amps) = (Diameter::parse("2.4")?, Current::parse("200")?);
/// let told = judge(amps, size, Setting::Dcen, Group::Oxide);
/// assert_eq!(told.verdict, Verdict::InsideSome);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn judge(current: Current, diameter: Diameter, setting: Setting, group: Group) -> Judgement {
    let verdicts = TABLES.iter().filter_map(|table| {
        let cell = table.cell(diameter, setting, group);
        let position = position(cell, current)?;
        Some(TableVerdict {
            table,
            cell,
            position,
        })
    });
    let tables: Vec<TableVerdict> = verdicts.collect();
    let inside = inside(&tables);
    let verdict = match inside {
        _ if tables.is_empty() => Verdict::NotListed,
        0 => Verdict::OutsideAll,
        _ if inside == tables.len() => Verdict::InsideAll,
        _ => Verdict::InsideSome,
    };
    Judgement {
        diameter,
        group,
        verdict,
        tables,
    }
}

fn inside(tables: &[TableVerdict]) -> usize {
    let inside = |told: &&TableVerdict| told.position == Position::Inside;
    tables.iter().filter(inside).count()
}

impl Judgement {
    /// How the shares of tables that have the current inside compare, the greater one first.
    fn share_order(&self, other: &Self) -> Ordering {
        let of = |told: &Self| (inside(&told.tables), told.tables.len().max(1));
        let ((a, of_a), (b, of_b)) = (of(self), of(other));
        (b * of_a).cmp(&(a * of_b))
    }
}

/// Of judgements on one group of classes, those that the tables favour: those inside all; if there are none, those inside the
/// greatest share of their tables; none if no table has the current inside.
pub fn best(judgements: &[Judgement]) -> Vec<&Judgement> {
    let some = judgements
        .iter()
        .filter(|told| matches!(told.verdict, Verdict::InsideAll | Verdict::InsideSome));
    let some: Vec<&Judgement> = some.collect();
    let Some(first) = some.iter().copied().min_by(|a, b| a.share_order(b)) else {
        return Vec::new();
    };
    some.into_iter()
        .filter(|told| told.share_order(first) == Ordering::Equal)
        .collect()
}
