//! The unit at the end of a marking, and how much of a marking a message repeats.

/// The unit of a marking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LengthUnit {
    Millimetre,
    Inch,
}

/// Splits a trailing unit off a figure.
pub(crate) fn split_unit(text: &str) -> (&str, Option<LengthUnit>) {
    const UNITS: [(&str, LengthUnit); 8] = [
        ("mm", LengthUnit::Millimetre),
        ("inches", LengthUnit::Inch),
        ("inch", LengthUnit::Inch),
        ("in.", LengthUnit::Inch),
        ("in", LengthUnit::Inch),
        ("\"", LengthUnit::Inch),
        ("''", LengthUnit::Inch),
        ("\u{2033}", LengthUnit::Inch),
    ];
    let text = text.trim();
    for (suffix, unit) in UNITS {
        let start = text.len().wrapping_sub(suffix.len());
        let tail = text.get(start..);
        if tail.is_some_and(|tail| tail.eq_ignore_ascii_case(suffix)) {
            return (text[..start].trim_end(), Some(unit));
        }
    }
    (text, None)
}

/// At most 40 characters of what was given, so that a message stays a line.
pub(super) fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('\u{2026}');
    }
    short
}
