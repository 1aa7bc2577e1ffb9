//! Welds on the command line: `fillet 3mm 6m stainless 250mm/min with ER308L-1.6`. The words may stand
//! in any order after the joint, with spaces or commas between them.

use types::WeldLine;

/// A line of a weld list as it was written, and the diameter of its filler where that is told instead
/// of the part.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Written {
    /// The line.
    pub line: WeldLine,
    /// Such as `1.6mm`.
    pub filler_diameter: Option<String>,
}

/// What a weld looks like, for whoever wrote one that cannot be read.
const EXAMPLE: &str = "write it like \"fillet 3mm 6m stainless 250mm/min with ER308L-1.6\", \
                       \"v 6mm gap 2mm face 1mm 60deg 4m steel 80mm/min 2passes\" or \
                       \"bead 12mm2 2m aluminium 300mm/min\"";

/// Reads one weld.
pub(crate) fn parse(text: &str) -> Result<Written, String> {
    let mut words = text
        .split([' ', ',', '\t'])
        .filter(|word| !word.is_empty())
        .peekable();
    let joint = match words.next().map(str::to_ascii_lowercase).as_deref() {
        Some("fillet") => "fillet",
        Some("v" | "single-v") => "single-v",
        Some("bead") => "bead",
        Some(other) => return Err(format!("{other} is no joint; {EXAMPLE}")),
        None => return Err(format!("an empty weld; {EXAMPLE}")),
    };
    let mut written = Written::default();
    joint.clone_into(&mut written.line.joint);
    while let Some(word) = words.next() {
        let lower = word.to_ascii_lowercase();
        match &*lower {
            "with" => written.line.filler = Some(next(&mut words, word)?.to_owned()),
            "gap" => written.line.gap_um = Some(length_um(next(&mut words, word)?)?),
            "face" => written.line.root_face_um = Some(length_um(next(&mut words, word)?)?),
            "steel" | "stainless" | "aluminium" => written.line.material = lower,
            _ => figure(word, &lower, &mut written)?,
        }
    }
    whole(&written.line)?;
    Ok(written)
}

fn next<'t>(words: &mut impl Iterator<Item = &'t str>, after: &str) -> Result<&'t str, String> {
    words
        .next()
        .ok_or_else(|| format!("nothing stands after \"{after}\"; {EXAMPLE}"))
}

/// A figure with its unit.
fn figure(word: &str, lower: &str, written: &mut Written) -> Result<(), String> {
    let Written {
        line,
        filler_diameter,
    } = written;
    if let Some(speed) = lower.strip_suffix("mm/min") {
        line.speed_mm_per_minute = whole_number(speed, word)?;
    } else if let Some(area) = lower.strip_suffix("mm2") {
        line.area_um2 = Some(thousandths(area, word)? * 1_000);
    } else if lower.ends_with("mm") {
        let um = length_um(lower)?;
        let size = if line.joint == "fillet" {
            &mut line.leg_um
        } else {
            &mut line.thickness_um
        };
        // The first millimetres are of the joint; a bead has none.
        if size.is_none() && line.joint != "bead" {
            *size = Some(um);
        } else {
            *filler_diameter = Some(lower.to_owned());
        }
    } else if let Some(degrees) = lower.strip_suffix("deg") {
        line.angle_degrees = Some(whole_number(degrees, word)?);
    } else if let Some(passes) = suffixed(lower, &["passes", "pass"]) {
        line.passes = Some(whole_number(passes, word)?);
    } else if let Some(starts) = suffixed(lower, &["starts", "start"]) {
        line.starts = Some(whole_number(starts, word)?);
    } else if let Some(metres) = lower.strip_suffix('m') {
        line.length_mm = thousandths(metres, word)?;
    } else {
        return Err(format!("\"{word}\" is unknown; {EXAMPLE}"));
    }
    Ok(())
}

fn suffixed<'t>(word: &'t str, suffixes: &[&str]) -> Option<&'t str> {
    suffixes.iter().find_map(|suffix| word.strip_suffix(suffix))
}

/// A length with `mm` behind it, in micrometres.
fn length_um(word: &str) -> Result<i64, String> {
    let lower = word.to_ascii_lowercase();
    let figure = lower
        .strip_suffix("mm")
        .ok_or_else(|| format!("\"{word}\" has no unit; write it as 2mm"))?;
    thousandths(figure, word)
}

/// A decimal with at most three places, times a thousand.
fn thousandths(figure: &str, word: &str) -> Result<i64, String> {
    let (whole, part) = figure.split_once('.').unwrap_or((figure, ""));
    let is_number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let unreadable = || format!("\"{word}\" is not a number with its unit; {EXAMPLE}");
    if whole.is_empty() || !is_number(whole) || !is_number(part) || part.len() > 3 {
        return Err(unreadable());
    }
    format!("{whole}{part:0<3}")
        .parse()
        .map_err(|_| unreadable())
}

fn whole_number(figure: &str, word: &str) -> Result<i64, String> {
    figure
        .parse()
        .map_err(|_| format!("\"{word}\" is not a whole number; {EXAMPLE}"))
}

/// What no weld can be without; its figures are checked with the whole job.
fn whole(line: &WeldLine) -> Result<(), String> {
    let wanting = [
        ("length, such as 6m", line.length_mm == 0),
        (
            "travel speed, such as 250mm/min",
            line.speed_mm_per_minute == 0,
        ),
        (
            "material: steel, stainless or aluminium",
            line.material.is_empty(),
        ),
    ];
    match wanting.iter().find(|(_, is_wanting)| *is_wanting) {
        None => Ok(()),
        Some((what, _)) => Err(format!("the weld has no {what}")),
    }
}

/// Seconds as milliseconds: `8s`, `0.5s`.
pub(crate) fn milliseconds(word: &str) -> Result<i64, String> {
    let lower = word.to_ascii_lowercase();
    let figure = lower
        .strip_suffix('s')
        .ok_or_else(|| format!("\"{word}\" has no unit; write it as 8s"))?;
    thousandths(figure, word)
}

/// Whole litres: `200L`.
pub(crate) fn litres(word: &str) -> Result<i64, String> {
    let lower = word.to_ascii_lowercase();
    let figure = lower
        .strip_suffix('l')
        .ok_or_else(|| format!("\"{word}\" has no unit; write it as 200L"))?;
    figure
        .parse()
        .map_err(|_| format!("\"{word}\" is not a whole number of litres; write it as 200L"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fillet_is_read_in_any_order() {
        let told = WeldLine {
            joint: "fillet".to_owned(),
            leg_um: Some(3_000),
            length_mm: 6_000,
            speed_mm_per_minute: 250,
            material: "stainless".to_owned(),
            filler: Some("ER308L-1.6".to_owned()),
            passes: Some(2),
            starts: Some(40),
            ..WeldLine::default()
        };
        for text in [
            "fillet 3mm 6m stainless 250mm/min with ER308L-1.6 2passes 40starts",
            "Fillet, stainless, 2passes, 40starts, with ER308L-1.6, 250mm/min, 6m, 3mm",
        ] {
            assert_eq!(parse(text).map(|written| written.line), Ok(told.clone()));
        }
    }

    #[test]
    fn a_second_diameter_is_that_of_the_filler() {
        let written = parse("fillet 3mm 6m stainless 1.6mm 250mm/min").expect("a weld");
        assert_eq!(written.line.leg_um, Some(3_000));
        assert_eq!(written.filler_diameter.as_deref(), Some("1.6mm"));
        let bead = parse("bead 12.5mm2 2m aluminium 300mm/min 3.2mm").expect("a weld");
        assert_eq!(bead.line.area_um2, Some(12_500_000));
        assert_eq!(bead.filler_diameter.as_deref(), Some("3.2mm"));
    }

    #[test]
    fn a_v_has_gap_face_and_angle() {
        let line = parse("v 6mm gap 2mm face 1mm 60deg 4.5m steel 80mm/min").expect("a weld");
        let line = line.line;
        assert_eq!(
            (
                line.thickness_um,
                line.gap_um,
                line.root_face_um,
                line.angle_degrees,
                line.length_mm
            ),
            (Some(6_000), Some(2_000), Some(1_000), Some(60), 4_500)
        );
    }

    #[test]
    fn what_cannot_be_read_says_how_to_write_it() {
        for (text, words) in [
            ("", "empty"),
            ("butt 3mm", "butt is no joint"),
            ("fillet 3mm 6m stainless", "no travel speed"),
            ("fillet 3mm stainless 250mm/min", "no length"),
            ("fillet 3mm 6m 250mm/min", "no material"),
            ("fillet 3mm 6m stainless 250mm/min with", "after \"with\""),
            ("fillet 3 6m stainless 250mm/min", "\"3\" is unknown"),
            ("fillet -3mm 6m stainless 250mm/min", "\"-3mm\""),
            ("fillet 3mm 6m stainless 250mm/min xpasses", "xpasses"),
            ("v 6mm gap 2 6m steel 80mm/min", "\"2\" has no unit"),
        ] {
            let said = parse(text).expect_err(text);
            assert!(said.contains(words), "{text}: {said}");
        }
        assert_eq!(milliseconds("0.5s"), Ok(500));
        assert!(milliseconds("8").is_err() && litres("200").is_err());
        assert_eq!(litres("200L"), Ok(200));
    }
}
