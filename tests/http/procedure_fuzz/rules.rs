//! What is permitted, worked out by names alone and without the code under test: a table of parts, each
//! with what is printed on it, and a revision with what is written in it.

/// A part of the drawer. Sizes and classes are their metric names.
#[derive(Debug, PartialEq)]
pub(super) struct Part {
    pub(super) code: &'static str,
    pub(super) class: &'static str,
    pub(super) size: &'static str,
    pub(super) marking: Option<&'static str>,
    pub(super) grade: Option<&'static str>,
    /// Whether the class is printed as AWS A5.12 has it, and the size in inches.
    pub(super) aws: bool,
    pub(super) inch: bool,
}

const fn part(code: &'static str, class: &'static str, size: &'static str) -> Part {
    Part {
        code,
        class,
        size,
        marking: None,
        grade: None,
        aws: false,
        inch: false,
    }
}

pub(super) const PARTS: [Part; 9] = [
    part("la", "WLa20", "2.4 mm"),
    Part {
        marking: Some("3/32 in EWLa-2"),
        aws: true,
        inch: true,
        ..part("la-inch", "WLa20", "2.4 mm")
    },
    Part {
        marking: Some("2.4 mm EWLa-2"),
        aws: true,
        ..part("la-both", "WLa20", "2.4 mm")
    },
    part("la-25", "WLa20", "2.5 mm"),
    part("ce", "WCe20", "2.4 mm"),
    Part {
        marking: Some("1/16 in EWCe-2"),
        aws: true,
        inch: true,
        ..part("ce-16", "WCe20", "1.6 mm")
    },
    part("th", "WTh20", "2.4 mm"),
    Part {
        marking: Some("2.4 mm WG tri 9"),
        grade: Some("tri 9"),
        ..part("general", "WG", "2.4 mm")
    },
    part("loose", "unidentified", "2.4 mm"),
];

/// The part of that code.
pub(super) fn find(code: &str) -> &'static Part {
    let found = PARTS.iter().find(|part| part.code == code);
    found.unwrap_or_else(|| panic!("no part {code}"))
}

/// A class or a size as a procedure may write it: the metric name, the words, and whether they are of
/// the other system.
pub(super) type Word = (&'static str, &'static str, bool);

pub(super) const CLASSES: [Word; 5] = [
    ("WLa20", "WLa20", false),
    ("WLa20", "EWLa-2", true),
    ("WCe20", "WCe20", false),
    ("WCe20", "EWCe-2", true),
    ("WTh20", "WTh20", false),
];

pub(super) const SIZES: [Word; 5] = [
    ("2.4 mm", "2.4 mm", false),
    ("2.4 mm", "3/32 in", true),
    ("2.5 mm", "2.5 mm", false),
    ("1.6 mm", "1.6 mm", false),
    ("1.6 mm", "1/16 in", true),
];

/// A revision, as it was written.
#[derive(Clone, Debug)]
pub(super) struct Revision {
    pub(super) classes: Vec<Word>,
    pub(super) sizes: Vec<Word>,
    pub(super) general: bool,
    pub(super) substitution: bool,
}

/// What was signed: for which revision, about which part's marking, and whether it still holds.
#[derive(Clone, Debug)]
pub(super) struct Signed {
    pub(super) revision: usize,
    pub(super) id: String,
    pub(super) part: &'static Part,
    pub(super) holds: bool,
}

/// Whether a part is what a revision lists, whatever is printed on it.
pub(super) fn is_listed(part: &Part, revision: &Revision) -> bool {
    let sized = revision.sizes.iter().any(|word| word.0 == part.size);
    let classed = match part.class {
        "unidentified" => false,
        "WG" => revision.general,
        class => revision.classes.iter().any(|word| word.0 == class),
    };
    sized && classed
}

/// Whether a part may be used under a revision with what is signed for it.
pub(super) fn is_permitted(part: &Part, revision: &Revision, signed: bool) -> bool {
    let words = (part.class, part.aws);
    let class = revision
        .classes
        .iter()
        .any(|word| (word.0, word.2) == words);
    let size = revision
        .sizes
        .iter()
        .any(|word| (word.0, word.2) == (part.size, part.inch));
    let alike = part.class != "WG" && (revision.substitution || (class && size));
    is_listed(part, revision) && (alike || signed)
}
