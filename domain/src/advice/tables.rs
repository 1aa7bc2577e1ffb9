//! Published ranges of current by diameter, polarity and class: three independent lists, each told
//! with its name. They are guides for pure argon, never limits, and they differ; ranges are lower
//! with helium in the gas (common practice).

use super::current::{Group, Setting};
use crate::size::Diameter;

/// What a table prints for one diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cell {
    /// From the one to the other, in amperes, both included.
    Range(i64, i64),
    /// Up to so many amperes.
    UpTo(i64),
    /// The table says that such an electrode is not used so.
    NotUsed,
    /// Nothing.
    Absent,
}

/// A published table of currents.
#[derive(Debug)]
pub struct CurrentTable {
    /// What it is called here. It is told with every figure from the table.
    pub name: &'static str,
    /// How the table was read where it tells less than is asked.
    pub note: Option<&'static str>,
    columns: &'static [Column],
}

/// One column of a table: what it is of, and a cell for each row.
#[derive(Debug)]
struct Column {
    settings: &'static [Setting],
    groups: &'static [Group],
    cells: [Cell; ROWS],
}

const ROWS: usize = 9;

/// The rows of every table: named diameters in micrometres.
const DIAMETERS_UM: [i64; ROWS] = [250, 500, 1000, 1600, 2400, 3200, 4000, 4800, 6400];

impl CurrentTable {
    /// What the table prints for a diameter of a group of classes at a setting.
    pub fn cell(&self, diameter: Diameter, setting: Setting, group: Group) -> Cell {
        let row = DIAMETERS_UM.iter().position(|um| *um == diameter.um());
        let column = self
            .columns
            .iter()
            .find(|column| column.settings.contains(&setting) && column.groups.contains(&group));
        match (row, column) {
            (Some(row), Some(column)) => column.cells[row],
            (None, _) | (_, None) => Cell::Absent,
        }
    }
}

/// Every table, the one to begin with first.
pub static TABLES: [CurrentTable; 5] = [
    CurrentTable {
        name: "AWS-style table, as reprinted (common practice)",
        note: None,
        columns: REPRINTED,
    },
    CurrentTable {
        name: "composite table of 1988 (common practice)",
        note: Some("its thoriated column serves for ceria and lanthana too"),
        columns: COMPOSITE,
    },
    CurrentTable {
        name: "gas supplier's welders' handbook (common practice)",
        note: Some(
            "it prints DC without polarity, read as DCEN, and AC without its wave, used for both; \
             the heading of its AC columns is inferred",
        ),
        columns: GAS_SUPPLIER,
    },
    CurrentTable {
        name: "European torch manual (common practice)",
        note: Some(
            "it tells no class and prints DC without polarity, read as DCEN, and AC without its \
             wave, used for both",
        ),
        columns: TORCH_MANUAL,
    },
    CurrentTable {
        name: "inverter power source manuals (common practice)",
        note: Some("they tell no class and print DC without polarity, read as DCEN"),
        columns: INVERTERS,
    },
];

const ALL: &[Group] = &[Group::Pure, Group::Zirconiated, Group::Oxide];
const OXIDES: &[Group] = &[Group::Zirconiated, Group::Oxide];
const AC: &[Setting] = &[Setting::AcBalanced, Setting::AcUnbalanced];

const fn r(low: i64, high: i64) -> Cell {
    Cell::Range(low, high)
}
const fn to(high: i64) -> Cell {
    Cell::UpTo(high)
}
const NO: Cell = Cell::Absent;
const UNUSED: Cell = Cell::NotUsed;

const DCEP: Column = Column {
    settings: &[Setting::Dcep],
    groups: ALL,
    cells: [
        UNUSED,
        UNUSED,
        UNUSED,
        r(10, 20),
        r(15, 30),
        r(25, 40),
        r(40, 55),
        r(55, 80),
        r(80, 125),
    ],
};

/// Two printings differ in single cells: 150-200 for 3.2 mm AC unbalanced pure, and 100-240 for
/// 4.0 mm AC balanced pure, where two others have 160-240.
const REPRINTED: &[Column] = &[
    Column {
        settings: &[Setting::Dcen],
        groups: OXIDES,
        cells: [
            r(2, 15),
            r(5, 20),
            r(15, 80),
            r(70, 150),
            r(150, 250),
            r(250, 400),
            r(400, 500),
            r(500, 750),
            r(750, 1000),
        ],
    },
    DCEP,
    Column {
        settings: &[Setting::AcUnbalanced],
        groups: &[Group::Pure],
        cells: [
            r(2, 15),
            r(5, 15),
            r(10, 60),
            r(50, 100),
            r(100, 160),
            r(150, 210),
            r(200, 275),
            r(250, 350),
            r(325, 450),
        ],
    },
    Column {
        settings: &[Setting::AcUnbalanced],
        groups: OXIDES,
        cells: [
            r(2, 15),
            r(5, 20),
            r(15, 80),
            r(70, 150),
            r(140, 235),
            r(225, 325),
            r(300, 400),
            r(400, 500),
            r(500, 630),
        ],
    },
    Column {
        settings: &[Setting::AcBalanced],
        groups: &[Group::Pure],
        cells: [
            r(2, 15),
            r(10, 20),
            r(20, 30),
            r(30, 80),
            r(60, 130),
            r(100, 180),
            r(160, 240),
            r(190, 300),
            r(250, 400),
        ],
    },
    Column {
        settings: &[Setting::AcBalanced],
        groups: OXIDES,
        cells: [
            NO,
            r(5, 20),
            r(20, 60),
            r(60, 120),
            r(100, 180),
            r(160, 250),
            r(200, 320),
            r(290, 390),
            r(340, 525),
        ],
    },
];

/// Its balanced-wave cells of 0.25 mm are left out: which of the two figures in print belongs to
/// which column cannot be told.
const COMPOSITE: &[Column] = &[
    Column {
        settings: &[Setting::Dcen],
        groups: &[Group::Pure],
        cells: [
            to(15),
            r(5, 20),
            r(15, 80),
            r(70, 150),
            r(125, 225),
            r(225, 360),
            r(360, 450),
            r(450, 720),
            r(720, 950),
        ],
    },
    Column {
        settings: &[Setting::Dcen],
        groups: &[Group::Oxide],
        cells: [
            to(25),
            r(15, 40),
            r(25, 85),
            r(50, 160),
            r(135, 235),
            r(250, 400),
            r(400, 500),
            r(500, 750),
            r(750, 1000),
        ],
    },
    DCEP,
    Column {
        settings: &[Setting::AcUnbalanced],
        groups: &[Group::Oxide],
        cells: [
            to(20),
            r(15, 35),
            r(20, 80),
            r(50, 150),
            r(130, 250),
            r(225, 360),
            r(300, 450),
            r(400, 500),
            r(600, 800),
        ],
    },
    Column {
        settings: &[Setting::AcUnbalanced],
        groups: &[Group::Zirconiated],
        cells: [
            to(20),
            r(15, 35),
            r(20, 80),
            r(50, 150),
            r(130, 250),
            r(225, 360),
            r(300, 450),
            r(400, 550),
            r(600, 800),
        ],
    },
    Column {
        settings: &[Setting::AcBalanced],
        groups: &[Group::Pure],
        cells: [
            NO,
            r(10, 20),
            r(20, 30),
            r(30, 80),
            r(60, 130),
            r(100, 180),
            r(160, 240),
            r(190, 300),
            r(250, 400),
        ],
    },
    Column {
        settings: &[Setting::AcBalanced],
        groups: OXIDES,
        cells: [
            NO,
            r(5, 20),
            r(20, 60),
            r(60, 120),
            r(100, 180),
            r(160, 250),
            r(200, 320),
            r(290, 390),
            r(340, 525),
        ],
    },
];

const GAS_SUPPLIER: &[Column] = &[
    Column {
        settings: &[Setting::Dcen],
        groups: ALL,
        cells: [
            NO,
            NO,
            r(15, 80),
            r(50, 150),
            r(100, 250),
            r(200, 400),
            NO,
            NO,
            NO,
        ],
    },
    Column {
        settings: AC,
        groups: &[Group::Pure, Group::Zirconiated],
        cells: [
            NO,
            NO,
            r(10, 30),
            r(30, 80),
            r(60, 130),
            r(100, 180),
            NO,
            NO,
            NO,
        ],
    },
    Column {
        settings: AC,
        groups: &[Group::Oxide],
        cells: [
            NO,
            NO,
            r(20, 60),
            r(50, 120),
            r(80, 180),
            r(160, 250),
            NO,
            NO,
            NO,
        ],
    },
];

const TORCH_MANUAL: &[Column] = &[
    Column {
        settings: &[Setting::Dcen],
        groups: ALL,
        cells: [
            NO,
            NO,
            r(5, 80),
            r(70, 150),
            r(130, 250),
            r(220, 350),
            r(330, 500),
            NO,
            NO,
        ],
    },
    Column {
        settings: AC,
        groups: ALL,
        cells: [
            NO,
            NO,
            r(5, 50),
            r(30, 100),
            r(80, 150),
            r(120, 210),
            r(180, 280),
            NO,
            NO,
        ],
    },
];

const INVERTERS: &[Column] = &[Column {
    settings: &[Setting::Dcen],
    groups: ALL,
    cells: [
        NO,
        NO,
        r(30, 60),
        r(60, 115),
        r(100, 165),
        r(135, 200),
        r(190, 280),
        r(250, 340),
        NO,
    ],
}];
