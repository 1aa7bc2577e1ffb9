//! The words of the advice on electrodes.

use domain::advice::{Cell, Group, Metal, Polarity, Position, TableVerdict, Verdict};
use domain::class::ElectrodeClass;
use domain::size::Diameter;
use types::ElectrodeQuestion;

use super::Judged;
use crate::service::current_bands::Own;

/// How every advice ends.
const ADVICE: &str = "This is advice and refuses nothing: published guides differ, and the written \
                      procedure, the manual of the power source and a qualified person decide.";

/// The answer in plain words.
pub(super) fn says(
    asked: &ElectrodeQuestion,
    judged: &[Judged<'_>],
    recommended: &[Diameter],
) -> Vec<String> {
    let mut says = Vec::new();
    if let Some(diameter) = asked.diameter {
        let rows = judged.iter().filter(|row| row.told.diameter == diameter);
        says.extend(rows.map(|row| self::row(row, asked)));
    }
    let what = what(asked);
    if recommended.is_empty() {
        says.push(format!(
            "No band of the shop and no published table has {what} inside its range, for any named diameter."
        ));
    } else {
        let columns = Group::of(asked.class).iter().filter_map(|group| {
            let rows = judged.iter();
            let sizes = rows.filter(|row| row.favoured && row.told.group == *group);
            let sizes: Vec<String> = sizes.map(|row| row.told.diameter.to_string()).collect();
            let column = group.as_str();
            (!sizes.is_empty()).then(|| format!("{} ({column} column)", sizes.join(", ")))
        });
        let columns: Vec<String> = columns.collect();
        says.push(format!("Favoured for {what}: {}.", columns.join("; ")));
    }
    if Group::of(asked.class).len() > 1 {
        says.push("The class decides the column of the tables, so both are told.".to_owned());
    }
    says.push(ADVICE.to_owned());
    says
}

/// `125 A DCEN, WLa20`.
fn what(asked: &ElectrodeQuestion) -> String {
    let class = asked
        .class
        .map_or_else(String::new, |class| format!(", {}", class.symbol()));
    format!("{} {}{class}", asked.current, asked.setting.as_str())
}

/// What is said of one diameter in one column.
pub(super) fn row(row: &Judged<'_>, asked: &ElectrodeQuestion) -> String {
    let (diameter, column) = (row.told.diameter, row.told.group.as_str());
    let start = format!("{diameter}, {column} column, {}: ", what(asked));
    let own = row.own.map_or_else(String::new, own);
    start + &own + &published(row)
}

fn own((own, position): (&Own, Position)) -> String {
    let (low, high, source) = (own.band.low(), own.band.high(), &own.source);
    let class = own.class.map_or("any class", ElectrodeClass::symbol);
    let effect = position
        .says()
        .map_or_else(String::new, |effect| format!(" ({effect})"));
    format!(
        "{} the shop's own band for {class}, {low}-{high} A, by {source}{effect}. Published: ",
        position.as_str()
    )
}

fn published(row: &Judged<'_>) -> String {
    let tables = &row.told.tables;
    let count = |position| tables.iter().filter(|it| it.position == position).count();
    let (inside, all) = (count(Position::Inside), tables.len());
    let said = match row.told.verdict {
        Verdict::InsideAll if all == 1 => {
            "inside the range of the one table that has it.".to_owned()
        }
        Verdict::OutsideAll if all == 1 => {
            "outside the range of the one table that has it.".to_owned()
        }
        Verdict::InsideAll => format!("inside the range of all {all} tables that have it."),
        Verdict::InsideSome => format!("inside the range of {inside} of {all} tables."),
        Verdict::OutsideAll => format!("outside the range of all {all} tables that have it."),
        Verdict::NotListed => "no table here has a range for it.".to_owned(),
    };
    let outside = Position::ALL.iter().filter_map(|position| {
        let effect = position.says()?;
        let at = tables.iter().filter(|told| told.position == *position);
        let names: Vec<String> = at.map(named).collect();
        let which = match position {
            Position::Below => "Below",
            Position::Above => "Above",
            Position::Inside | Position::NotUsed => "Against",
        };
        let names = (!names.is_empty()).then(|| names.join("; the "))?;
        Some(format!(" {which} the {names}: {effect}."))
    });
    said + &outside.collect::<String>()
}

/// A table with its range.
fn named(told: &TableVerdict) -> String {
    let range = match told.cell {
        Cell::Range(low, high) => format!(", {low}-{high} A"),
        Cell::UpTo(high) => format!(", up to {high} A"),
        Cell::NotUsed | Cell::Absent => String::new(),
    };
    format!("{}{range}", told.table.name)
}

/// What the advice assumes.
pub(super) fn assumes(asked: &ElectrodeQuestion, bands: &[Own]) -> Vec<String> {
    let mut assumes = Vec::new();
    if asked.wave_assumed {
        assumes.push("A balanced wave, since none was told.".to_owned());
    }
    assumes.push(
        "Pure argon; with helium in the gas the ranges are lower (common practice).".to_owned(),
    );
    if asked.setting.polarity() != Polarity::Dcen {
        let why = "Tapers are for DCEN; on AC and DCEP the end is a ball, of 1 x diameter at most (common practice).";
        assumes.push(why.to_owned());
    }
    if asked.class == Some(ElectrodeClass::Wg) {
        let why =
            "The oxide of the general class is the one its maker states; the oxide column is used.";
        assumes.push(why.to_owned());
    }
    match asked.metal {
        Some(Metal::Steel) => {
            let why =
                "The US table of argon has no column for steel; its cups are told without a flow.";
            assumes.push(why.to_owned());
        }
        None => assumes.push("No metal was told, so argon is told for each.".to_owned()),
        Some(Metal::Aluminium | Metal::Stainless) => {}
    }
    let classes = bands.iter().filter_map(|own| own.class);
    let mut passed: Vec<&str> = classes
        .filter(|class| asked.class != Some(*class))
        .map(ElectrodeClass::symbol)
        .collect();
    passed.sort_unstable();
    passed.dedup();
    if !passed.is_empty() {
        let classes = passed.join(", ");
        assumes.push(format!(
            "The shop's bands for {classes} are left out, since that class was not asked for."
        ));
    }
    assumes
}
