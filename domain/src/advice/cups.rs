//! Cups and argon by electrode diameter: two independent tables, each told with its name and never
//! blended. The rule by bore is in `rules`.

use crate::named::named;
use crate::size::{CupNumber, Diameter};

named! {
    /// A metal that a table of gas flows tells apart.
    Metal, "metal" {
        /// Aluminium.
        Aluminium = "aluminium",
        /// Stainless steel.
        Stainless = "stainless",
        /// Other steel, for which neither table has a column.
        Steel = "steel",
    }
}

/// A flow of argon in litres a minute, from the one to the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flow {
    /// The metal; `None` where the table does not tell one.
    pub metal: Option<Metal>,
    /// The least, in L/min.
    pub low: u8,
    /// The greatest, in L/min.
    pub high: u8,
}

/// What one table says of a diameter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CupGuide {
    /// The name of the table.
    pub table: &'static str,
    /// The cups, smallest first.
    pub cups: Vec<CupNumber>,
    /// The flows of argon; none where the table has no column for the metal.
    pub flows: Vec<Flow>,
}

const US: &str = "US table of cups and argon (common practice)";
const EUROPEAN: &str = "European torch manual (common practice)";

/// From so many L/min to so many.
type Litres = (u8, u8);

/// Diameter in micrometres, cups, L/min for aluminium, L/min for stainless. Where the print merges
/// the cup cell of a row with the row above, both have the same cups.
const US_ROWS: [(i64, &[u8], Litres, Litres); 9] = [
    (250, &[4, 5, 6], (2, 4), (2, 4)),
    (500, &[4, 5, 6], (3, 5), (3, 5)),
    (1000, &[4, 5, 6], (3, 5), (3, 5)),
    (1600, &[5, 6], (3, 5), (4, 6)),
    (2400, &[6, 7, 8], (6, 8), (5, 7)),
    (3200, &[6, 7, 8], (7, 11), (5, 7)),
    (4000, &[8, 10], (10, 12), (6, 8)),
    (4800, &[8, 10], (11, 13), (8, 10)),
    (6400, &[8, 10], (13, 15), (11, 13)),
];

/// Diameter in micrometres, cups, L/min; the metal is not told.
const EUROPEAN_ROWS: [(i64, &[u8], Litres); 5] = [
    (1000, &[4, 5], (5, 6)),
    (1600, &[4, 5, 6], (6, 7)),
    (2400, &[6, 7], (7, 8)),
    (3200, &[7, 8, 10], (8, 10)),
    (4000, &[10, 11, 12], (10, 12)),
];

/// What the tables say of a diameter, for one metal or for each that they have.
pub fn cup_guides(diameter: Diameter, metal: Option<Metal>) -> Vec<CupGuide> {
    let mut guides = Vec::new();
    if let Some((_, numbers, aluminium, stainless)) =
        US_ROWS.iter().find(|row| row.0 == diameter.um())
    {
        let columns = [(Metal::Aluminium, aluminium), (Metal::Stainless, stainless)];
        let asked = |(column, _): &(Metal, _)| metal.is_none_or(|metal| metal == *column);
        let flows = columns.into_iter().filter(asked);
        guides.push(CupGuide {
            table: US,
            cups: cups(numbers),
            flows: flows
                .map(|(metal, (low, high))| flow(Some(metal), *low, *high))
                .collect(),
        });
    }
    if let Some((_, numbers, (low, high))) = EUROPEAN_ROWS.iter().find(|row| row.0 == diameter.um())
    {
        guides.push(CupGuide {
            table: EUROPEAN,
            cups: cups(numbers),
            flows: vec![flow(None, *low, *high)],
        });
    }
    guides
}

fn flow(metal: Option<Metal>, low: u8, high: u8) -> Flow {
    Flow { metal, low, high }
}

fn cups(numbers: &[u8]) -> Vec<CupNumber> {
    numbers
        .iter()
        .filter_map(|number| CupNumber::new(i64::from(*number)).ok())
        .collect()
}
