//! Answers on the stock of parts, kept until anything is written. Right only where one process writes; who may keep
//! is decided in the parent.

use std::collections::HashMap;
use std::sync::{PoisonError, RwLock};

use types::Stock;

/// So many answers are kept; a shop has fewer parts, and who asks for more asks the database.
const MOST: usize = 4_096;

/// What is asked: the code of a part and of a site, as they were written.
type Asked<'a> = (&'a str, Option<&'a str>);

/// The answers that still stand.
#[derive(Debug, Default)]
pub struct Kept {
    answers: RwLock<Answers>,
}

#[derive(Debug, Default)]
struct Answers {
    /// The writer's generation under which they were read.
    generation: u64,
    /// By part and site as written.
    by_site: HashMap<Option<String>, HashMap<String, Stock>>,
    count: usize,
}

impl Kept {
    /// The answer that was kept under this very generation.
    pub fn find(&self, generation: u64, (part, site): Asked<'_>) -> Option<Stock> {
        let answers = self.answers.read().unwrap_or_else(PoisonError::into_inner);
        if answers.generation != generation {
            return None;
        }
        let site = site.map(str::to_owned);
        answers.by_site.get(&site)?.get(part).cloned()
    }

    /// Keeps an answer that was read after the generation was. An older one changes nothing.
    pub fn put(&self, generation: u64, (part, site): Asked<'_>, stock: Stock) {
        let mut answers = self.answers.write().unwrap_or_else(PoisonError::into_inner);
        if answers.generation < generation {
            *answers = Answers {
                generation,
                ..Answers::default()
            };
        }
        if answers.generation != generation || answers.count >= MOST {
            return;
        }
        let of_site = answers.by_site.entry(site.map(str::to_owned)).or_default();
        let is_new = of_site.insert(part.to_owned(), stock).is_none();
        answers.count += usize::from(is_new);
    }
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;

    use super::*;

    fn stock(on_hand: i64) -> Stock {
        Stock {
            part: "a".to_owned(),
            name: String::new(),
            site: "shop".to_owned(),
            drawers: Vec::new(),
            unit: "each".to_owned(),
            on_hand,
            on_hold: 0,
            state: None,
            held_because: None,
            allocated: 0,
            available: on_hand,
            on_order: 0,
            position: on_hand,
            if_double: None,
            counted_at: None,
            as_of: DateTime::UNIX_EPOCH,
            stands_for: None,
        }
    }

    fn on_hand(kept: &Kept, generation: u64) -> Option<i64> {
        kept.find(generation, ("a", None))
            .map(|stock| stock.on_hand)
    }

    #[test]
    fn an_answer_stands_for_its_generation_alone() {
        let kept = Kept::default();
        kept.put(1, ("a", None), stock(5));
        assert_eq!(on_hand(&kept, 1), Some(5));
        assert_eq!(on_hand(&kept, 2), None);
        assert_eq!(on_hand(&kept, 0), None);
        assert!(kept.find(1, ("a", Some("shop"))).is_none());
    }

    #[test]
    fn a_slow_reader_does_not_bring_back_what_was() {
        let kept = Kept::default();
        kept.put(2, ("a", None), stock(4));
        kept.put(1, ("a", None), stock(5));
        assert_eq!((on_hand(&kept, 1), on_hand(&kept, 2)), (None, Some(4)));
    }

    #[test]
    fn no_more_are_kept_than_there_is_room_for() {
        let kept = Kept::default();
        for number in 0..=MOST {
            kept.put(1, (&number.to_string(), None), stock(1));
        }
        assert!(kept.find(1, ("0", None)).is_some());
        assert!(kept.find(1, (&MOST.to_string(), None)).is_none());
    }
}
