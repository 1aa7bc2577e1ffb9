//! The words of a label: figures with their units, classes, colours, oxides, and the nouns of the trade.

use crate::class::{ElectrodeClass, colour_meanings};
use crate::size::{Diameter, LengthUnit, ParseDiameterError, split_unit};

/// A word that means something by itself or among others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    Electrode,
    Collet,
    ColletBody,
    GasLens,
    LargeGasLens,
    Cup,
    BackCap,
    ORing,
    Insulator,
    Wheel,
    Filler,
    Gas,
    Argon,
    LargeBody,
    SmallBody,
    Large,
    Small,
    Short,
    ShortNose,
    Medium,
    Long,
    Standard,
    Percent,
    /// It says nothing of what a part is.
    Nothing,
}

/// An oxide without its share, or with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Oxide {
    None,
    Ceria,
    Lanthana,
    Thoria,
    Zirconia,
    Mixed,
}

/// How a figure is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// `7`.
    Whole,
    /// `2.4`, `.040`, `2,4`.
    Decimal,
    /// `3/32`.
    Fraction,
    /// `1 1/4`.
    Mixed,
}

/// A figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Figure {
    /// Without its unit.
    pub(super) text: String,
    pub(super) unit: Option<LengthUnit>,
    pub(super) shape: Shape,
    /// Whether it stands behind another, as the length of `1/16 x 36` does.
    pub(super) is_second: bool,
}

impl Figure {
    /// As it was written, with its unit.
    pub(super) fn written(&self) -> String {
        match self.unit {
            None => self.text.clone(),
            Some(LengthUnit::Millimetre) => format!("{} mm", self.text),
            Some(LengthUnit::Inch) => format!("{} in", self.text),
        }
    }
}

/// A word of a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Word {
    Figure(Figure),
    /// A number that is told to be one: `#7`, `no. 7`.
    Number(String),
    /// A share of an oxide, in percent.
    Percent(String),
    Class(ElectrodeClass, String),
    Colour(String, &'static str),
    Oxide(Oxide, String),
    /// The classification of filler rod, or the designation of a gas.
    Classification(String),
    Designation(String),
    /// What a spreadsheet made of a fraction, with what to do.
    Date(String),
    Said(Said, String),
    Other(String),
}

/// What several words mean together, or one; the longest first.
const PHRASES: [(&[&str], Said); 74] = [
    (&["large", "diameter", "gas", "lens"], Said::LargeGasLens),
    (&["large", "gas", "lens"], Said::LargeGasLens),
    (&["large", "lens"], Said::LargeGasLens),
    (&["gas", "lens"], Said::GasLens),
    (&["gaslens"], Said::GasLens),
    (&["lens"], Said::GasLens),
    (&["collet", "body"], Said::ColletBody),
    (&["colletbody"], Said::ColletBody),
    (&["collet"], Said::Collet),
    (&["large", "body"], Said::LargeBody),
    (&["small", "body"], Said::SmallBody),
    (&["back", "cap"], Said::BackCap),
    (&["backcap"], Said::BackCap),
    (&["cap"], Said::BackCap),
    (&["o", "ring"], Said::ORing),
    (&["oring"], Said::ORing),
    (&["cup", "gasket"], Said::Insulator),
    (&["gasket"], Said::Insulator),
    (&["insulator"], Said::Insulator),
    (&["cup"], Said::Cup),
    (&["nozzle"], Said::Cup),
    (&["tungsten", "wheel"], Said::Wheel),
    (&["tungsten", "grinding", "wheel"], Said::Wheel),
    (&["grinding", "wheel"], Said::Wheel),
    (&["diamond", "wheel"], Said::Wheel),
    (&["wheel"], Said::Wheel),
    (&["tungsten", "electrode"], Said::Electrode),
    (&["tungsten"], Said::Electrode),
    (&["electrode"], Said::Electrode),
    (&["filler"], Said::Filler),
    (&["filler", "rod"], Said::Filler),
    (&["shielding", "gas"], Said::Gas),
    (&["gas"], Said::Gas),
    (&["argon"], Said::Argon),
    (&["short", "nose"], Said::ShortNose),
    (&["stubby"], Said::ShortNose),
    (&["large"], Said::Large),
    (&["lg"], Said::Large),
    (&["big"], Said::Large),
    (&["small"], Said::Small),
    (&["sm"], Said::Small),
    (&["short"], Said::Short),
    (&["medium"], Said::Medium),
    (&["long"], Said::Long),
    (&["standard"], Said::Standard),
    (&["std"], Said::Standard),
    (&["%"], Said::Percent),
    (&["percent"], Said::Percent),
    (&["pct"], Said::Percent),
    (&["rod"], Said::Nothing),
    (&["tig"], Said::Nothing),
    (&["torch"], Said::Nothing),
    (&["for"], Said::Nothing),
    (&["of"], Said::Nothing),
    (&["the"], Said::Nothing),
    (&["and"], Said::Nothing),
    (&["a"], Said::Nothing),
    (&["with"], Said::Nothing),
    (&["in"], Said::Nothing),
    (&["dia"], Said::Nothing),
    (&["diameter"], Said::Nothing),
    (&["size"], Said::Nothing),
    (&["ceramic"], Said::Nothing),
    (&["alumina"], Said::Nothing),
    (&["seat"], Said::Nothing),
    (&["band"], Said::Nothing),
    (&["tip"], Said::Nothing),
    (&["end"], Said::Nothing),
    (&["type"], Said::Nothing),
    (&["-"], Said::Nothing),
    (&["&"], Said::Nothing),
    (&["x"], Said::Nothing),
    (&["spare"], Said::Nothing),
    (&["new"], Said::Nothing),
];

const OXIDES: [(&str, Oxide); 12] = [
    ("pure", Oxide::None),
    ("ceriated", Oxide::Ceria),
    ("ceria", Oxide::Ceria),
    ("cerium", Oxide::Ceria),
    ("lanthanated", Oxide::Lanthana),
    ("lanthana", Oxide::Lanthana),
    ("lanthanum", Oxide::Lanthana),
    ("thoriated", Oxide::Thoria),
    ("thoria", Oxide::Thoria),
    ("zirconiated", Oxide::Zirconia),
    ("zirconia", Oxide::Zirconia),
    ("mixed", Oxide::Mixed),
];

/// The words of a label in their order.
pub(super) fn read(label: &str) -> Vec<Word> {
    if let Some(date) = date(label.trim()) {
        return vec![date];
    }
    let pieces = pieces(label);
    let mut words: Vec<Word> = Vec::new();
    let mut at = 0;
    while at < pieces.len() {
        let (word, taken) = next(&pieces[at..]);
        at += taken;
        join(&mut words, word);
    }
    words
}

/// The pieces between blanks and signs; figures that stand for two sizes are parted.
fn pieces(label: &str) -> Vec<String> {
    let blank = |letter: char| letter.is_whitespace() || "()[]{};|".contains(letter);
    let mut all = Vec::new();
    for piece in label.split(blank) {
        let piece = piece.trim_matches([',', ':', '!', '?']);
        let piece = piece.trim_end_matches('.');
        let is_times = |letter: char| ['x', 'X', '*', '\u{d7}'].contains(&letter);
        let parts: Vec<&str> = piece.split(is_times).collect();
        if parts.len() > 1 && parts.iter().all(|part| begins_a_figure(part)) {
            for (place, part) in parts.into_iter().enumerate() {
                all.extend((place > 0).then(|| "x".to_owned()));
                all.push(part.to_owned());
            }
        } else if is_words(piece) {
            all.extend(piece.split(['-', '/', ',']).map(str::to_owned));
        } else {
            all.extend(piece.split(',').fold(Vec::new(), with_decimals));
        }
    }
    all.retain(|piece| !piece.is_empty());
    all
}

/// A comma parts words, but not the digits of a decimal.
fn with_decimals(mut all: Vec<String>, part: &str) -> Vec<String> {
    let ends = all.last().is_some_and(|it: &String| {
        it.bytes().all(|byte| byte.is_ascii_digit())
            && part.starts_with(|it: char| it.is_ascii_digit())
    });
    match all.last_mut() {
        Some(last) if ends => {
            last.push(',');
            last.push_str(part);
        }
        _ => all.push(part.to_owned()),
    }
    all
}

fn begins_a_figure(text: &str) -> bool {
    let digits = text.strip_prefix('.').unwrap_or(text);
    digits.starts_with(|letter: char| letter.is_ascii_digit())
}

fn is_words(text: &str) -> bool {
    let is_kept = |letter: char| letter.is_alphabetic() || ['-', '/', ','].contains(&letter);
    text.chars().all(is_kept) && text.chars().any(char::is_alphabetic) && text.len() > 1
}

/// The next word, and how many pieces it takes.
fn next(pieces: &[String]) -> (Word, usize) {
    let first = pieces[0].as_str();
    let second = pieces.get(1).map(String::as_str);
    let both = second.map(|second| format!("{first} {second}"));
    if let Some(word) = both.filter(|both| has_month(both)).and_then(|it| date(&it)) {
        return (word, 2);
    }
    let prefixes = ["#", "no.", "No."];
    let mut numbers = prefixes.iter().filter_map(|it| first.strip_prefix(it));
    if let Some(number) = numbers.find(|it| begins_a_figure(it)) {
        return (Word::Number(number.to_owned()), 1);
    }
    let is_number = ["#", "no", "nr", "number"]
        .iter()
        .any(|it| it.eq_ignore_ascii_case(first));
    if let Some(number) = second.filter(|it| is_number && begins_a_figure(it)) {
        return (Word::Number(number.to_owned()), 2);
    }
    if let Some(word) = figure(first)
        .or_else(|| date(first))
        .or_else(|| named(first))
    {
        return (word, 1);
    }
    let is = |wanted: &&(&[&str], Said)| {
        let mut own = pieces.iter().map(|piece| singular(piece));
        wanted.0.iter().all(|it| own.next().as_deref() == Some(it))
    };
    let longest = PHRASES.iter().filter(is).max_by_key(|it| it.0.len());
    match longest {
        Some((phrase, said)) => {
            let written = pieces[..phrase.len()].join(" ");
            (Word::Said(*said, written), phrase.len())
        }
        None => (Word::Other(first.to_owned()), 1),
    }
}

/// A figure with or without its unit, and a share in percent.
fn figure(piece: &str) -> Option<Word> {
    if let Some(share) = piece.strip_suffix('%').filter(|it| begins_a_figure(it)) {
        return Some(Word::Percent(share.to_owned()));
    }
    let (text, unit) = split_unit(piece);
    let shape = shape(text)?;
    // A number of five digits is a day rather than a size.
    if unit.is_none() && date(text).is_some() {
        return None;
    }
    let text = text.replacen('-', " ", usize::from(shape == Shape::Mixed));
    let is_second = false;
    Some(Word::Figure(Figure {
        text,
        unit,
        shape,
        is_second,
    }))
}

fn shape(text: &str) -> Option<Shape> {
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|it| it.is_ascii_digit());
    let is_fraction = |text: &str| {
        let parts = text.split_once('/');
        parts.is_some_and(|(over, under)| is_digits(over) && is_digits(under))
    };
    if is_digits(text) {
        return Some(Shape::Whole);
    }
    if is_fraction(text) {
        return Some(Shape::Fraction);
    }
    let mixed = text.split_once('-');
    if mixed.is_some_and(|(whole, rest)| is_digits(whole) && is_fraction(rest)) {
        return Some(Shape::Mixed);
    }
    let decimal = text.split_once(['.', ',']);
    let is_decimal = decimal
        .is_some_and(|(whole, rest)| is_digits(rest) && (whole.is_empty() || is_digits(whole)));
    is_decimal.then_some(Shape::Decimal)
}

/// What a spreadsheet made of a fraction.
fn date(text: &str) -> Option<Word> {
    match Diameter::parse(text) {
        Err(why @ ParseDiameterError::Date { .. }) => Some(Word::Date(why.to_string())),
        _ => None,
    }
}

/// Whether one of two words is the name of a month or its first three letters, and the other a number.
fn has_month(text: &str) -> bool {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let is_number = |word: &str| word.bytes().all(|it| it.is_ascii_digit());
    let is_month = |word: &str| {
        let lower = word.to_ascii_lowercase();
        MONTHS
            .iter()
            .any(|month| *month == lower || (lower.len() == 3 && month.starts_with(&lower)))
    };
    let (first, second) = text.split_once(' ').unwrap_or_default();
    (is_number(first) && is_month(second)) || (is_month(first) && is_number(second))
}

/// A class, a colour, an oxide or a designation.
fn named(piece: &str) -> Option<Word> {
    let lower = piece.to_ascii_lowercase();
    // `unknown` alone says nothing of which kind of part it is.
    if let Ok(class) = ElectrodeClass::parse(piece) {
        return Some(Word::Class(class, piece.to_owned()));
    }
    if let Some((_, oxide)) = OXIDES.iter().find(|(name, _)| *name == lower) {
        return Some(Word::Oxide(*oxide, lower));
    }
    if let Some(meanings) = colour_meanings(&lower) {
        return Some(Word::Colour(lower, meanings));
    }
    let has_digit = lower.bytes().any(|it| it.is_ascii_digit());
    if has_digit && lower.len() > 3 && lower.starts_with("er") {
        return Some(Word::Classification(piece.to_ascii_uppercase()));
    }
    let mut letters = lower.chars();
    let is_group = letters.next().is_some_and(|it| "imrcno".contains(it));
    let rest = letters.as_str();
    let is_designation = is_group && !rest.is_empty() && rest.len() < 3;
    (is_designation && rest.bytes().all(|it| it.is_ascii_digit()))
        .then(|| Word::Designation(piece.to_ascii_uppercase()))
}

/// Puts a word behind others: a unit to its figure, a fraction to the whole before it.
fn join(words: &mut Vec<Word>, word: Word) {
    let is_times = matches!(&word, Word::Said(Said::Nothing, it) if it.eq_ignore_ascii_case("x"));
    match (words.last_mut(), &word) {
        (Some(Word::Figure(last)), Word::Other(unit) | Word::Said(Said::Nothing, unit))
            if last.unit.is_none() && split_unit(unit).0.is_empty() && !is_times =>
        {
            last.unit = split_unit(unit).1;
        }
        (Some(Word::Figure(last)), Word::Figure(next))
            if last.shape == Shape::Whole
                && last.unit.is_none()
                && next.shape == Shape::Fraction =>
        {
            last.text = format!("{} {}", last.text, next.text);
            (last.shape, last.unit) = (Shape::Mixed, next.unit);
        }
        (Some(last), Word::Said(Said::Percent, _)) => {
            if let Word::Figure(figure) = last {
                *last = Word::Percent(figure.text.clone());
            } else {
                words.push(word);
            }
        }
        (Some(Word::Said(Said::Nothing, times)), Word::Figure(next))
            if times.eq_ignore_ascii_case("x") =>
        {
            let mut next = next.clone();
            next.is_second = true;
            words.push(Word::Figure(next));
        }
        _ => words.push(word),
    }
}

fn singular(word: &str) -> String {
    let lower = word.to_lowercase();
    match &*lower {
        "lenses" => return "lens".to_owned(),
        "bodies" => return "body".to_owned(),
        "lens" | "gas" => return lower,
        _ => {}
    }
    match lower.strip_suffix('s').filter(|it| it.len() > 2) {
        Some(one) => one.to_owned(),
        None => lower,
    }
}
