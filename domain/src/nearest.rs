//! Which names come nearest to one that is not there, so that a refusal can say what was probably
//! meant. What the names name is elsewhere.

/// How many names are worth quoting.
const QUOTED: usize = 3;

/// The names that come nearest to `wanted` by Levenshtein's distance without regard to case: those
/// of the smallest distance, at most three, in the order given; none if more than half of the
/// letters would have to change.
///
/// ```
/// use tigstock_domain::nearest::nearest;
/// assert_eq!(nearest("T9", ["T1", "T2", "bench"]), ["T1", "T2"]);
/// assert_eq!(nearest("attic", ["T1", "T2"]), [""; 0]);
/// ```
pub fn nearest<'n>(wanted: &str, names: impl IntoIterator<Item = &'n str>) -> Vec<&'n str> {
    let wanted: Vec<char> = wanted.trim().to_lowercase().chars().collect();
    let most = wanted.len().div_ceil(2);
    let ranked: Vec<(usize, &str)> = names
        .into_iter()
        .map(|name| (distance(&wanted, name), name))
        .filter(|(distance, _)| *distance <= most)
        .collect();
    let Some(least) = ranked.iter().map(|(distance, _)| *distance).min() else {
        return Vec::new();
    };
    let best = ranked
        .into_iter()
        .filter(|(distance, _)| *distance == least);
    best.map(|(_, name)| name).take(QUOTED).collect()
}

/// How many letters must be changed, added or left out to make one of the other.
fn distance(wanted: &[char], name: &str) -> usize {
    let name: Vec<char> = name.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=name.len()).collect();
    for (line, letter) in wanted.iter().enumerate() {
        let mut before = row[0];
        row[0] = line + 1;
        for (column, other) in name.iter().enumerate() {
            let changed = before + usize::from(letter != other);
            before = row[column + 1];
            row[column + 1] = changed.min(before + 1).min(row[column] + 1);
        }
    }
    row[name.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distance_of_two_words_is_the_textbook_one() {
        // The usual example: kitten, sitten, sittin, sitting.
        let kitten: Vec<char> = "kitten".chars().collect();
        assert_eq!(distance(&kitten, "sitting"), 3);
        assert_eq!(distance(&kitten, "Kitten"), 0);
        assert_eq!(distance(&[], "abc"), 3);
        assert_eq!(distance(&kitten, ""), 6);
    }

    #[test]
    fn only_the_nearest_are_quoted_and_not_more_than_three() {
        assert_eq!(
            nearest("14", ["4", "15", "41", "114", "9"]),
            ["4", "15", "114"]
        );
        assert_eq!(nearest("", ["4"]), [""; 0]);
    }
}
