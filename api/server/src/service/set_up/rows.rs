//! The rows of a drawer list as they are read, before anything is looked up.

use domain::class::ElectrodeClass;
use domain::drawer_label::{self, Fields, Proposal};
use domain::part::{
    Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, PartSpec, Unit,
};
use domain::size::{CupNumber, Diameter, RodLength};

use super::columns::Columns;
use crate::service::pushed::whole;
use crate::sheets::reading::{Row, Table};

pub(super) const IN: &str = "in";
pub(super) const ALREADY_IN: &str = "already in";
pub(super) const REFUSED: &str = "refused";
pub(super) const BLANK: &str = "blank";

/// The columns that come back, to fill in.
pub const FIELDS: [&str; 10] = [
    "code",
    "kind",
    "class",
    "diameter",
    "length",
    "family",
    "arrangement",
    "cup_number",
    "seat",
    "composition",
];

/// A row as it was read.
#[derive(Clone, Debug)]
pub(super) struct Listed {
    pub(super) proposal: Proposal,
    pub(super) part: Result<Certain, String>,
    pub(super) is_blank: bool,
}

/// What a row says for certain.
#[derive(Clone, Debug)]
pub(super) struct Certain {
    pub(super) spec: PartSpec,
    /// The code that the shop gave it.
    pub(super) code: Option<String>,
    /// The marking as printed, where it is not in the words of ISO 6848.
    pub(super) marking: Option<String>,
    /// The words on the drawer.
    pub(super) label: String,
    pub(super) drawer: Option<String>,
    pub(super) count: Option<i64>,
    pub(super) notes: Vec<String>,
}

/// Reads the rows; `usual` holds for those that do not say.
pub(super) fn read(table: &Table, columns: &Columns, usual: &Fields) -> Vec<Listed> {
    let rows = table.rows.iter();
    rows.map(|row| listed(row, columns, usual)).collect()
}

fn listed(row: &Row, columns: &Columns, usual: &Fields) -> Listed {
    let cell = |place: usize| row.cells.get(place).map_or("", String::as_str);
    let words: Vec<&str> = columns.what.iter().map(|it| cell(*it)).collect();
    let label = words.join(" ").trim().to_owned();
    let mut told = usual.clone();
    let mut faults = Vec::new();
    let mut code = None;
    for (field, place) in &columns.fields {
        match (cell(*place), *field) {
            ("", _) => {}
            (text, "code") => code = Some(text.to_owned()),
            (text, field) => {
                if let Err(why) = tell(&mut told, field, text) {
                    faults.push(format!("{field}: {why}"));
                }
            }
        }
    }
    let is_blank = label.is_empty() && told == *usual;
    let proposal = drawer_label::read(&label, &told);
    let asked = proposal.questions.iter();
    faults.extend(asked.map(|it| format!("{}: {}", it.field.as_str(), it.asks)));
    let mut notes = proposal.notes.clone();
    let count = columns.count.map(cell).filter(|it| !it.is_empty());
    let unit = proposal.fields.kind.map_or(Unit::Piece, PartKind::unit);
    let count = count.and_then(|text| {
        let read = counted(text, unit).map_err(|why| faults.push(format!("how many: {why}")));
        let (count, note) = read.ok()?;
        notes.extend(note);
        Some(count)
    });
    if !proposal.not_understood.is_empty() {
        notes.push(format!(
            "not understood: {}",
            proposal.not_understood.join(", ")
        ));
    }
    let part = match proposal.spec() {
        Some(spec) if faults.is_empty() => Ok(Certain {
            spec,
            code,
            label,
            marking: proposal.marking.clone(),
            drawer: columns
                .drawer
                .map(cell)
                .filter(|it| !it.is_empty())
                .map(str::to_owned),
            count,
            notes,
        }),
        None if faults.is_empty() => Err("these fields do not make a part together".to_owned()),
        Some(_) | None => Err(faults.join("; ")),
    };
    Listed {
        proposal,
        part,
        is_blank,
    }
}

/// Whole pieces; gas and filler need their unit, since they are counted in millilitres and grams.
fn counted(text: &str, unit: Unit) -> Result<(i64, Option<String>), String> {
    let (count, note) = match unit {
        Unit::Piece => whole(text)?,
        Unit::Gram => (
            measured(text, &[("kg", 1_000), ("g", 1)], "2 kg, or 500 g")?,
            None,
        ),
        Unit::Millilitre => {
            let units = [("ml", 1), ("l", 1_000)];
            (measured(text, &units, "8400 L at normal conditions")?, None)
        }
    };
    if count < 0 {
        return Err("A count cannot be negative.".to_owned());
    }
    Ok((count, note))
}

fn measured(text: &str, units: &[(&str, i64)], example: &str) -> Result<i64, String> {
    let lower = text.trim().to_ascii_lowercase();
    let refuse = || format!("\"{text}\" has no unit; write {example}");
    let read = units.iter().find_map(|(unit, factor)| {
        let figure = lower.strip_suffix(unit)?.trim().parse::<i64>().ok()?;
        figure.checked_mul(*factor)
    });
    read.ok_or_else(refuse)
}

/// Takes what a person filled in.
fn tell(told: &mut Fields, field: &str, text: &str) -> Result<(), String> {
    fn set<T, E: ToString>(to: &mut Option<T>, read: Result<T, E>) -> Result<(), String> {
        *to = Some(read.map_err(|why| why.to_string())?);
        Ok(())
    }
    match field {
        "kind" => set(&mut told.kind, PartKind::parse(text)),
        "class" => set(&mut told.class, ElectrodeClass::parse(text)),
        "diameter" => set(&mut told.diameter, Diameter::parse(text)),
        "family" => set(&mut told.family, BodyFamily::parse(text)),
        "arrangement" => set(&mut told.arrangement, Arrangement::parse(text)),
        "cup_number" => set(&mut told.cup, CupNumber::parse(text)),
        "seat" => set(&mut told.seat, CupSeat::parse(text)),
        "length" => length(told, text),
        _ => {
            told.composition = Some(text.to_owned());
            Ok(())
        }
    }
}

/// The length of a collet or a back cap by name, that of an electrode with its unit.
fn length(told: &mut Fields, text: &str) -> Result<(), String> {
    told.collet_length = ColletLength::parse(text).ok();
    told.cap_length = CapLength::parse(text).ok();
    if told.collet_length.is_some() || told.cap_length.is_some() {
        return Ok(());
    }
    told.rod_length = Some(RodLength::parse(text).map_err(|why| why.to_string())?);
    Ok(())
}
