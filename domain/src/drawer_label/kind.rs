//! Which kind of part a label means. Words such as "gas lens" name a part alone and tell what another one seats on.

use super::words::{Said, Word};
use crate::part::PartKind;

/// Which kind, or what is asked.
pub(super) fn of(words: &[Word], told: Option<PartKind>) -> Result<PartKind, String> {
    if let Some(kind) = told {
        return Ok(kind);
    }
    let nouns = nouns(words);
    let has_number = words.iter().any(|word| matches!(word, Word::Number(_)));
    match nouns.as_slice() {
        [PartKind::GasLens] if has_number => Err(
            "a number with # is that of a cup: is it a cup that seats on a gas lens (write cup), or a gas lens \
             (gas-lens)?"
                .to_owned(),
        ),
        [kind] => Ok(*kind),
        [] => Err(unnamed(words, has_number)),
        several => {
            let several: Vec<&str> = several.iter().map(|kind| kind.noun()).collect();
            Err(format!(
                "one part or several: {}? Write which kind this row is, and give the others rows of their own",
                several.join(", ")
            ))
        }
    }
}

fn unnamed(words: &[Word], has_number: bool) -> String {
    let known: Vec<&str> = PartKind::ALL.iter().map(|kind| kind.as_str()).collect();
    let known = known.join(", ");
    let colour = words.iter().find_map(|word| {
        if let Word::Colour(colour, _) = word {
            Some(colour)
        } else {
            None
        }
    });
    match colour {
        Some(colour) => format!(
            "what is it? {colour} tells neither a kind nor a class, since a colour is no identity; write one of {known}"
        ),
        None if has_number => {
            format!("what is it? If the number is that of a cup, write cup; else one of {known}")
        }
        None => format!("what is it? Write one of {known}"),
    }
}

/// The kinds that are named, without those that only tell what another one seats on or belongs to.
fn nouns(words: &[Word]) -> Vec<PartKind> {
    let mut all: Vec<PartKind> = Vec::new();
    for kind in words.iter().filter_map(noun) {
        if !all.contains(&kind) {
            all.push(kind);
        }
    }
    let has = |kind: PartKind| all.contains(&kind);
    let mut aside: Vec<PartKind> = Vec::new();
    if has(PartKind::GasLens) {
        // A gas lens takes the place of the collet body, and the trade calls it one.
        aside.push(PartKind::ColletBody);
        if [PartKind::Cup, PartKind::Insulator, PartKind::Collet]
            .into_iter()
            .any(has)
        {
            aside.push(PartKind::GasLens);
        }
    }
    if has(PartKind::Cup) {
        aside.push(PartKind::ColletBody);
    }
    if has(PartKind::ORing) {
        aside.push(PartKind::BackCap);
    }
    if has(PartKind::Insulator) {
        aside.push(PartKind::Cup);
    }
    all.retain(|kind| !aside.contains(kind));
    all
}

fn noun(word: &Word) -> Option<PartKind> {
    let said = match word {
        Word::Class(..) | Word::Oxide(..) => return Some(PartKind::Electrode),
        Word::Classification(_) => return Some(PartKind::FillerRod),
        Word::Said(said, _) => *said,
        Word::Figure(_)
        | Word::Number(_)
        | Word::Percent(_)
        | Word::Colour(..)
        | Word::Designation(_)
        | Word::Date(_)
        | Word::Other(_) => return None,
    };
    Some(match said {
        Said::Electrode => PartKind::Electrode,
        Said::Collet => PartKind::Collet,
        Said::ColletBody => PartKind::ColletBody,
        Said::GasLens | Said::LargeGasLens => PartKind::GasLens,
        Said::Cup => PartKind::Cup,
        Said::BackCap => PartKind::BackCap,
        Said::ORing => PartKind::ORing,
        Said::Insulator => PartKind::Insulator,
        Said::Wheel => PartKind::TungstenWheel,
        Said::Filler => PartKind::FillerRod,
        Said::Gas | Said::Argon => PartKind::ShieldingGas,
        Said::LargeBody
        | Said::SmallBody
        | Said::Large
        | Said::Small
        | Said::Short
        | Said::ShortNose
        | Said::Medium
        | Said::Long
        | Said::Standard
        | Said::Percent
        | Said::Nothing => return None,
    })
}
