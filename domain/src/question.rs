//! What the ledger asks a person, and what can be answered. How a question comes up, and what an
//! answer does, is with the ledger; the words are here because every face shows the same.

use crate::named::named;

named! {
    /// The kind of a question.
    QuestionKind, "kind of question" {
        /// Two people logged the same change at one torch, perhaps.
        DoubleEntry = "double-entry",
        /// An entry is dated too far ahead or back to be taken at its word.
        LateEntry = "late-entry",
        /// Two counts differ by what one receipt brought: it may be booked to the wrong part.
        MisBooking = "mis-booking",
        /// A count differs from the book, and nothing explains it.
        Variance = "variance",
        /// The book is below zero: a receipt or a count is missing.
        NegativeBook = "negative-book",
        /// A part was used for a job whose procedure needs the lot, and the lot was not told.
        MissingLot = "missing-lot",
        /// A part was used at a site that bars its class.
        BarredUse = "barred-use",
    }
}

named! {
    /// An answer to a question.
    Answer, "answer" {
        /// It is the same change: one of the two entries is taken back.
        Same = "same",
        /// There were two changes: both stay.
        Different = "different",
        /// The date is right: it is recorded as dated.
        AsDated = "as-dated",
        /// The date is wrong: it is recorded as of when it was received.
        AsReceived = "as-received",
        /// It is not recorded. What was sent stays readable in the question.
        NotRecorded = "not-recorded",
        /// The receipt belongs to the other part: it is moved there.
        Move = "move",
        /// The receipt stays, and both variances are booked as errors of the book.
        Keep = "keep",
        /// The pieces were used and nobody logged it: they feed the wear rate.
        UnloggedUse = "unlogged-use",
        /// The book was wrong: nothing was worn.
        BookingError = "booking-error",
        /// So many there are: a count.
        Count = "count",
        /// The lot is known now.
        Lot = "lot",
        /// The lot cannot be told any more.
        Unknown = "unknown",
        /// The person responsible has seen it.
        Seen = "seen",
    }
}

impl QuestionKind {
    /// The answers that can be given, the likeliest first.
    pub fn answers(self) -> &'static [Answer] {
        match self {
            Self::DoubleEntry => &[Answer::Same, Answer::Different],
            Self::LateEntry => &[Answer::AsDated, Answer::AsReceived, Answer::NotRecorded],
            Self::MisBooking => &[Answer::Move, Answer::Keep],
            Self::Variance => &[Answer::UnloggedUse, Answer::BookingError],
            Self::NegativeBook => &[Answer::Count],
            Self::MissingLot => &[Answer::Lot, Answer::Unknown],
            Self::BarredUse => &[Answer::Seen],
        }
    }
}

impl Answer {
    /// What changes if it is given.
    pub fn changes(self) -> &'static str {
        match self {
            Self::Same => "the later entry is taken back; both stay readable",
            Self::Different => "nothing: both entries stand",
            Self::AsDated => "the entry is recorded as of its own date",
            Self::AsReceived => "the entry is recorded as of when it was received",
            Self::NotRecorded => "nothing: what was sent stays readable here",
            Self::Move => {
                "the receipt is taken back and entered for the other part, with its own date; \
                 what the counts still differ by is booked as unlogged use, or as a booking error \
                 if there are more than the book says"
            }
            Self::Keep => {
                "the receipt stays; both variances are booked as booking errors, which wear \
                 nothing"
            }
            Self::UnloggedUse => "the missing pieces count as used since the count before",
            Self::BookingError => "the book is put right; nothing counts as used",
            Self::Count => "on hand becomes what you count",
            Self::Lot => "the entry is taken back and entered again with its lot",
            Self::Unknown => "nothing: the trace of lots will show a gap",
            Self::Seen => "nothing but this question: it is on record that it was seen",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_can_be_answered_and_every_answer_belongs_to_a_kind() {
        for answer in Answer::ALL {
            assert!(!answer.changes().is_empty());
            let kinds = QuestionKind::ALL
                .iter()
                .filter(|kind| kind.answers().contains(answer));
            assert_eq!(kinds.count(), 1, "{answer:?}");
        }
        assert!(
            QuestionKind::ALL
                .iter()
                .all(|kind| !kind.answers().is_empty())
        );
    }
}
