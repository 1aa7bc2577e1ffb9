//! Which figure of a label is the diameter and which the length. Nothing is rounded, and a figure that may be either of
//! two sizes is asked about.

use super::fields::Heard;
use super::words::{Figure, Shape};
use super::{Field, Proposal};
use crate::size::{Diameter, LengthUnit, RodLength, RodLengthError};

/// No electrode is delivered shorter than this, and no diameter is as large: 25 mm in micrometres (common practice).
const SHORTEST_UM: i64 = 25_000;
/// Behind a diameter a bare figure from 50 on can only be a length in millimetres, since no rod is so many inches long.
const SURELY_MM: std::ops::RangeInclusive<u32> = 50..=700;
/// The usual lengths of electrodes in millimetres (ISO 6848), known without a unit wherever they stand.
const USUAL_MM: [u32; 2] = [150, 175];

/// What a figure may be.
enum Size {
    Diameter(Diameter),
    /// In millimetres or in inches, both of them named sizes.
    Either(Diameter, Diameter),
    Length(RodLength),
    /// A length whose unit follows from its size.
    LengthInMm(RodLength),
    /// Behind another figure, without a unit.
    LengthWithoutUnit,
    TooLong,
    Unknown(String),
}

fn size(figure: &Figure) -> Size {
    let whole = figure.text.parse::<u32>().ok();
    match (figure.shape, figure.unit) {
        (Shape::Whole, None) => {
            let is_mm =
                |it: &u32| USUAL_MM.contains(it) || (figure.is_second && SURELY_MM.contains(it));
            if let Some(mm) = whole.filter(is_mm) {
                return RodLength::from_um(i64::from(mm) * 1_000)
                    .map_or_else(|_| Size::LengthWithoutUnit, Size::LengthInMm);
            }
            if figure.is_second {
                return Size::LengthWithoutUnit;
            }
            Size::Unknown(format!("{} has no unit", figure.text))
        }
        (Shape::Decimal, None) if figure.text.starts_with(['.', '0']) => small(figure),
        _ => with_unit(figure),
    }
}

/// A small decimal, which may be inches as `.040` is.
fn small(figure: &Figure) -> Size {
    let inches = Diameter::parse(&format!("{} in", figure.text));
    match (Diameter::parse(&figure.text), inches) {
        (Ok(mm), Ok(inch)) if mm != inch => Size::Either(mm, inch),
        (Ok(one), _) | (Err(_), Ok(one)) => Size::Diameter(one),
        (Err(why), Err(_)) => Size::Unknown(why.to_string()),
    }
}

fn with_unit(figure: &Figure) -> Size {
    let written = figure.written();
    let why = match Diameter::parse(&written) {
        Ok(diameter) => return Size::Diameter(diameter),
        Err(why) => why.to_string(),
    };
    if figure.unit.is_none() {
        return Size::Unknown(why);
    }
    match RodLength::parse(&written) {
        Ok(length) if length.um() >= SHORTEST_UM => Size::Length(length),
        Err(RodLengthError::OutOfRange(um)) if um > RodLength::MAX_UM => Size::TooLong,
        Ok(_) | Err(_) => Size::Unknown(why),
    }
}

/// Takes the diameter, and says how it is written; asks for it if it is unsure and must be known.
pub(super) fn diameter(heard: &mut Heard, proposal: &mut Proposal, must: bool) -> Option<String> {
    let (mut named, mut written, mut unsure) = (Vec::new(), None, Vec::new());
    heard.figures.retain(|figure| match size(figure) {
        Size::Diameter(diameter) => {
            named.push(diameter);
            written.get_or_insert_with(|| figure.written());
            false
        }
        Size::Either(mm, inch) => {
            let text = &figure.text;
            unsure.push(format!(
                "is {text} in millimetres ({mm}), or in inches ({inch})? Write its unit"
            ));
            false
        }
        Size::Unknown(why) if must => {
            unsure.push(why);
            true
        }
        Size::Unknown(_)
        | Size::Length(_)
        | Size::LengthInMm(_)
        | Size::LengthWithoutUnit
        | Size::TooLong => true,
    });
    named.sort_unstable();
    named.dedup();
    if let ([diameter], true) = (
        named.as_slice(),
        unsure.is_empty() && heard.dates.is_empty(),
    ) {
        proposal.fields.diameter.get_or_insert(*diameter);
        return written;
    }
    if proposal.fields.diameter.is_some() {
        heard.dates.clear();
        return None;
    }
    if !must {
        return None;
    }
    let dates = std::mem::take(&mut heard.dates);
    let asks = match (dates.into_iter().next(), named.as_slice(), unsure.pop()) {
        (Some(date), _, _) => date,
        (None, [_, _, ..], _) => {
            let named: Vec<String> = named.iter().map(ToString::to_string).collect();
            format!("which diameter: {}?", named.join(" or "))
        }
        (None, [one], Some(why)) => format!("is the diameter {one}? {why}"),
        (None, _, Some(why)) => format!("which diameter? {why}"),
        (None, _, None) => "which diameter, such as 2.4 mm or 3/32 in?".to_owned(),
    };
    proposal.ask(Field::Diameter, asks);
    None
}

/// Takes the length of an electrode.
pub(super) fn rod_length(heard: &mut Heard, proposal: &mut Proposal) {
    let mut asks = None;
    let mut named = Vec::new();
    heard.figures.retain(|figure| {
        match size(figure) {
            Size::Length(length) => named.push(length),
            Size::LengthInMm(length) => {
                named.push(length);
                let note = format!("{} was taken as its length in mm", figure.text);
                proposal.notes.push(note);
            }
            Size::LengthWithoutUnit => {
                let text = &figure.text;
                asks = Some(format!(
                    "how long is it? Write the unit: {text} in or {text} mm"
                ));
            }
            Size::TooLong => {
                let written = figure.written();
                asks = Some(format!(
                    "how long is it? {written} is no electrode: the longest is 700 mm"
                ));
            }
            Size::Diameter(_) | Size::Either(..) | Size::Unknown(_) => return true,
        }
        false
    });
    named.dedup();
    match (named.as_slice(), asks) {
        (_, Some(asks)) => proposal.ask(Field::Length, asks),
        ([], None) => {}
        ([length], None) => {
            proposal.fields.rod_length.get_or_insert(*length);
        }
        (several, None) => {
            let several: Vec<String> = several.iter().map(ToString::to_string).collect();
            proposal.ask(
                Field::Length,
                format!("how long is it: {}?", several.join(" or ")),
            );
        }
    }
}

/// Takes the length of filler rod, which is counted by weight.
pub(super) fn filler_length(heard: &mut Heard, proposal: &mut Proposal) {
    heard.figures.retain(|figure| {
        let is_length = matches!(
            size(figure),
            Size::Length(_) | Size::LengthInMm(_) | Size::LengthWithoutUnit | Size::TooLong
        ) || (figure.unit == Some(LengthUnit::Millimetre) && figure.text.len() > 3);
        if is_length {
            let note = format!(
                "its length, {}, is not kept: filler rod goes by weight",
                figure.written()
            );
            proposal.notes.push(note);
        }
        !is_length
    });
}
