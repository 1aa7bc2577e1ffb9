//! What stands on the pages of each template.

use types::{CellFigure, SheetTemplate};

use super::{Live, Page, Put, Stored};
use crate::sheets::reading::FILL_IN;

/// The first page.
pub(super) const START: &str = "start";
/// The page whose cells ask for figures.
const LIVE: &str = "live";
/// Where the address stands on the first page, and the key.
pub(super) const ADDRESS: (u32, u16) = (3, 1);
pub(super) const KEY: (u32, u16) = (4, 1);
/// Where the job stands, if the template has one.
const JOB: (u32, u16) = (5, 1);
/// So many parts have live cells from the start: each cell is a question over the network.
const LIVE_ROWS: usize = 40;

/// The pages of a template.
pub(super) fn of(template: SheetTemplate, address: &str, stored: &[Stored]) -> [Page; 3] {
    [
        start(template, address),
        fill_in(stored),
        live(template, stored),
    ]
}

fn start(template: SheetTemplate, address: &str) -> Page {
    let mut page = Page {
        name: START,
        widths: vec![16, 76],
        frozen: 0,
        cells: Vec::new(),
    };
    let (title, why) = match template {
        SheetTemplate::BigJob => (
            "Before a big job",
            "What is there, what is on order, and by when to order, for one job.",
        ),
        SheetTemplate::CountSheet => (
            "Count sheet",
            "Every drawer with what lies in it, to be counted.",
        ),
    };
    page.put((0, 0), Put::Title(title.to_owned()));
    page.put((1, 0), Put::Text(why.to_owned()));
    page.put(at(ADDRESS), Put::Heading("address".to_owned()));
    page.put(ADDRESS, Put::Input(address.to_owned()));
    page.put(at(KEY), Put::Heading("read key".to_owned()));
    page.put(KEY, Put::Input(String::new()));
    let is_job = template == SheetTemplate::BigJob;
    if is_job {
        page.put(at(JOB), Put::Heading("job".to_owned()));
        page.put(JOB, Put::Input(String::new()));
    }
    for (row, line) in (7_u32..).zip(instructions(is_job)) {
        page.put((row, 0), Put::Text(format!("{}.", row - 6)));
        page.put((row, 1), Put::Text(line.to_owned()));
    }
    page
}

/// The label beside a cell to fill in.
const fn at((row, column): (u32, u16)) -> (u32, u16) {
    (row, column - 1)
}

fn instructions(is_job: bool) -> Vec<&'static str> {
    let mut lines = vec![
        "Check the address above: it is where the service is reached from this computer.",
        "Make a key of the role read with an end, for this file alone, and write it above. Whoever has the file can",
        "read with it what you can: revoke it when the file goes to somebody else. A key that writes has no place here.",
    ];
    if is_job {
        lines.push("Write the code of the job above, such as R-118. It has to be set up before.");
    }
    lines.extend([
        "Count first: fill in the sheet fill-in (how many, when, by whom). Rows that stay empty change nothing.",
        "Push it back as it is, this file and all: tigstock import FILE --table counts --try, then --apply.",
        "The sheet live asks the service whenever it is calculated anew. Write other parts into its first column.",
        "\"no answer\" there: the address, the key or the code is wrong, or there is no such figure, as of a part",
        "that is not watched. The spreadsheet has to be allowed to reach the network.",
        "Sizes stay text here, so that 3/32 does not turn into a date. Keep it so in columns of your own.",
    ]);
    lines
}

const COUNTS: [(&str, u16); 7] = [
    ("drawer", 10),
    ("part", 26),
    ("name", 40),
    ("counted", 10),
    ("counted_at", 18),
    ("by", 12),
    ("note", 30),
];

fn fill_in(stored: &[Stored]) -> Page {
    let mut page = Page {
        name: FILL_IN,
        widths: COUNTS.iter().map(|it| it.1).collect(),
        frozen: 1,
        cells: Vec::new(),
    };
    page.headings(0, COUNTS.iter().map(|it| it.0));
    for (row, lies) in (1_u32..).zip(stored) {
        for (column, text) in (0_u16..).zip([&lies.drawer, &lies.part, &lies.name]) {
            page.put((row, column), Put::Text(text.clone()));
        }
        for column in 3..7 {
            page.put((row, column), Put::Input(String::new()));
        }
    }
    page
}

/// The figures of a part, and how wide they are shown.
const OF_A_PART: [(&str, CellFigure, u16); 4] = [
    ("available", CellFigure::Available, 12),
    ("on order", CellFigure::OnOrder, 12),
    ("order point", CellFigure::OrderPoint, 12),
    ("runs out (90 %)", CellFigure::RunOut, 28),
];

/// What is in the drawers by the book, once the count is in.
const AFTER_A_COUNT: [(&str, CellFigure, u16); 2] = [
    ("on hand", CellFigure::OnHand, 12),
    ("available", CellFigure::Available, 12),
];

fn live(template: SheetTemplate, stored: &[Stored]) -> Page {
    let figures: &[(&str, CellFigure, u16)] = match template {
        SheetTemplate::BigJob => &OF_A_PART,
        SheetTemplate::CountSheet => &AFTER_A_COUNT,
    };
    let widths = [26].into_iter().chain(figures.iter().map(|it| it.2));
    let mut page = Page {
        name: LIVE,
        widths: widths.collect(),
        frozen: 1,
        cells: Vec::new(),
    };
    let mut row = 0;
    if template == SheetTemplate::BigJob {
        let of_job = [
            ("chance without a stop", CellFigure::Chance),
            ("order by", CellFigure::OrderBy),
        ];
        for (label, figure) in of_job {
            page.put((row, 0), Put::Heading(label.to_owned()));
            let live = Live {
                figure,
                of: "job",
                named: JOB,
                on_start: true,
            };
            page.put((row, 1), Put::Live(live));
            row += 1;
        }
        row += 1;
    }
    page.headings(
        row,
        ["part"].into_iter().chain(figures.iter().map(|it| it.0)),
    );
    page.frozen = row + 1;
    let mut parts: Vec<&str> = Vec::new();
    for part in stored.iter().map(|lies| lies.part.as_str()) {
        if !parts.contains(&part) && parts.len() < LIVE_ROWS {
            parts.push(part);
        }
    }
    for (row, part) in (row + 1..).zip(parts) {
        page.put((row, 0), Put::Input(part.to_owned()));
        for (column, (_, figure, _)) in (1_u16..).zip(figures) {
            let live = Live {
                figure: *figure,
                of: "part",
                named: (row, 0),
                on_start: false,
            };
            page.put((row, column), Put::Live(live));
        }
    }
    page
}

impl Page {
    fn put(&mut self, at: (u32, u16), put: Put) {
        self.cells.push((at, put));
    }

    fn headings<'n>(&mut self, row: u32, names: impl Iterator<Item = &'n str>) {
        for (column, name) in (0_u16..).zip(names) {
            self.put((row, column), Put::Heading(name.to_owned()));
        }
    }
}
