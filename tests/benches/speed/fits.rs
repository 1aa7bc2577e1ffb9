//! The fit check of 10 000 set-ups of seven parts. The baseline reads the same list of parts, as the
//! wire has it, from JSON. The ratio is the time of the baseline over that of the check, so 1 says that
//! a check costs no more than reading what is checked.

use std::collections::HashMap;
use std::time::Instant;

use domain::fit::{Piece, State, check};
use domain::part::PartSpec;
use domain::seat::{Offer, Pattern, Seat, Seats};
use domain::size::RodLength;
use tigstock_tests::front_ends::{LENS, STANDARD, front_end};
use types::NewPart;

use crate::{ROUNDS, explain, median};

const SET_UPS: u32 = 10_000;

/// The seats that a new database has.
const USUAL: &str = include_str!("../../../migrations/src/seats/usual.csv");

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let seats = usual()?;
    let head = seats.get("torch/large/").ok_or("no head")?;
    // Every other set-up has the cup of the other arrangement, and does not fit.
    let mut wrong = LENS;
    wrong[6] = STANDARD[6];
    let lists = [STANDARD, LENS, wrong].map(|codes| codes.map(front_end).to_vec());
    let (mut reading, mut checking) = (Vec::new(), Vec::new());
    let texts = lists
        .clone()
        .map(|list| serde_json::to_string(&list).unwrap_or_default());
    let mut specs = Vec::new();
    for list in &lists {
        let read: Result<Vec<PartSpec>, _> = list.iter().map(NewPart::spec).collect();
        specs.push(read.map_err(|wrong| format!("{wrong:?}"))?);
    }
    let key = |spec: &PartSpec| {
        let Pattern {
            kind,
            family,
            within,
        } = Pattern::of(spec);
        let kind = kind.map_or("", domain::part::PartKind::as_str);
        [kind, family.unwrap_or(""), within.unwrap_or("")].join("/")
    };
    let pieces: Vec<Vec<Piece<'_>>> = specs
        .iter()
        .map(|specs| {
            let piece = |spec| Piece {
                spec,
                seats: seats.get(&key(spec)),
            };
            specs.iter().map(piece).collect()
        })
        .collect();
    for _ in 0..ROUNDS {
        let begin = Instant::now();
        for number in 0..SET_UPS {
            let text = &texts[number as usize % texts.len()];
            let read: Vec<NewPart> = serde_json::from_str(text).map_err(|e| e.to_string())?;
            std::hint::black_box(read);
        }
        reading.push(begin.elapsed().as_secs_f64() / f64::from(SET_UPS));
        let begin = Instant::now();
        for number in 0..SET_UPS {
            let list = number as usize % pieces.len();
            let expected = [State::Complete, State::Complete, State::DoesNotFit][list];
            if check(head, &pieces[list]).state() != expected {
                return Err(format!("set-up {list} is not {expected:?}"));
            }
        }
        checking.push(begin.elapsed().as_secs_f64() / f64::from(SET_UPS));
    }
    let (reading, checking) = (median(reading), median(checking));
    explain(&format!(
        "fits: reading {:.2} us, checking {:.2} us a set-up",
        reading * 1e6,
        checking * 1e6
    ))?;
    Ok(reading / checking)
}

/// The seats by kind, family and pattern.
fn usual() -> Result<HashMap<String, Seats>, String> {
    let mut seats = HashMap::new();
    for line in USUAL.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let told = |error: domain::seat::SeatsError| error.to_string();
        let takes = (!cells[4].is_empty()).then(|| Seat::parse(cells[4]));
        let offers = cells[5].split(';').filter(|offer| !offer.is_empty());
        let offers: Result<Vec<Offer>, _> = offers.map(Offer::parse).collect();
        let room = cells[6]
            .parse()
            .ok()
            .and_then(|um| RodLength::from_um(um).ok());
        let row = Seats::new(
            takes.transpose().map_err(told)?,
            offers.map_err(told)?,
            room,
        );
        seats.insert(cells[1..4].join("/"), row.map_err(told)?);
    }
    Ok(seats)
}
