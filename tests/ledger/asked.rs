//! Questions in a history: a count that differs from the book, and a use for the locked job without
//! its lot. What an answer books is entries like any other.

use proptest::prelude::*;
use server::service::{self, Error};
use types::{ListMovements, ListQuestions, Movement, NewAnswer, Question};

use crate::history::{History, agree};
use crate::sent::Sent;
use crate::shop::LOTS;
use crate::told::{GROUPS, Label, Place, Told};

fn told<T>(answer: Result<T, Error>) -> Result<T, TestCaseError> {
    answer.map_err(|error| TestCaseError::fail(error.to_string()))
}

impl History {
    /// The open questions of a kind, oldest first, with the number of the entry that each is about.
    pub(crate) async fn open(&self, kind: &str) -> Result<Vec<(Question, usize)>, TestCaseError> {
        let open = ListQuestions {
            state: Some("open".to_owned()),
            limit: Some(500),
            ..ListQuestions::default()
        };
        let page = told(service::questions::list(&self.shop.context, &open).await)?;
        let these = page.questions.into_iter().rev();
        let these = these.filter(|question| question.kind == kind);
        let about = these.filter_map(|question| {
            let entry = question.entry?;
            let number = self.entries.iter().position(|known| *known == entry)?;
            Some((question, number))
        });
        Ok(about.collect())
    }

    /// Answers one of the counts that differ: the pieces were used, or somebody booked wrongly.
    pub(crate) async fn explain(
        &mut self,
        which: usize,
        used: bool,
        key: &str,
    ) -> Result<(), TestCaseError> {
        let open = self.open("variance").await?;
        if open.is_empty() {
            return Ok(());
        }
        let (question, number) = &open[which % open.len()];
        let (place, amount, _) = self.model.variance(*number);
        let kind = if used { "unlogged-use" } else { "adjustment" };
        let answer = NewAnswer {
            answer: if used {
                "unlogged-use"
            } else {
                "booking-error"
            }
            .to_owned(),
            ..NewAnswer::default()
        };
        let answer = self.send(Sent::Answer(question.number, answer), key).await;
        // Pieces that are there beyond the book were not used.
        agree(!used || amount < 0, &answer)?;
        if answer.is_err() {
            return Ok(());
        }
        let mut sum = 0;
        for row in self.booked().await? {
            prop_assert_eq!(&row.kind, kind);
            let group = GROUPS.iter().position(|group| *group == row.group);
            let label = Label {
                group: group.expect("a group"),
                ..Label::default()
            };
            // How it is shared out among the groups is not the business of this suite.
            self.model
                .tell(Told::Move(place, kind, row.quantity, label));
            self.entries.push(row.entry);
            sum += row.quantity;
        }
        prop_assert_eq!(sum, if used { -amount } else { amount });
        Ok(())
    }

    /// Names the lot of one of the uses without: it is entered again with it.
    pub(crate) async fn name_lot(
        &mut self,
        which: usize,
        lot: usize,
        key: &str,
    ) -> Result<(), TestCaseError> {
        let open = self.open("missing-lot").await?;
        if open.is_empty() {
            return Ok(());
        }
        let (question, number) = &open[which % open.len()];
        let answer = NewAnswer {
            answer: "lot".to_owned(),
            lot: Some(LOTS[lot].to_owned()),
            ..NewAnswer::default()
        };
        let answer = self.send(Sent::Answer(question.number, answer), key).await;
        let again = self.model.with_lot(*number, lot);
        agree(self.model.accepts(&again), &answer)?;
        if answer.is_ok() {
            self.model.take_back(*number);
            self.model.tell(again);
            let booked = self.booked().await?;
            self.entries.push(booked[0].entry);
        }
        Ok(())
    }

    /// The rows of entries that the history does not know yet, oldest first.
    async fn booked(&self) -> Result<Vec<Movement>, TestCaseError> {
        let newest = ListMovements {
            limit: Some(20),
            ..ListMovements::default()
        };
        let page = service::ledger::list_movements(&self.shop.context, &newest).await;
        let mut rows = told(page)?.movements;
        rows.retain(|row| row.reverses.is_none() && !self.entries.contains(&row.entry));
        rows.reverse();
        Ok(rows)
    }

    /// No count is asked about that agrees with the book, that the book begins with, or that was
    /// taken back.
    pub(crate) async fn check_variances(&self) -> Result<(), TestCaseError> {
        for (question, number) in self.open("variance").await? {
            let (place, amount, has_book) = self.model.variance(number);
            prop_assert_ne!(amount, 0, "{}", question.says);
            prop_assert!(has_book && self.model.stands(number), "{}", question.says);
            let Place { part, .. } = place;
            prop_assert_eq!(question.part.as_deref(), Some(crate::shop::PARTS[part]));
        }
        Ok(())
    }

    /// No receipt is asked about that was taken back.
    pub(crate) async fn check_parcels(&self) -> Result<(), TestCaseError> {
        for (question, number) in self.open("mis-booking").await? {
            prop_assert!(self.model.stands(number), "{}", question.says);
        }
        Ok(())
    }

    /// It is asked for the lot of each use for the locked job that stands without one, and of no other.
    pub(crate) async fn check_missing_lots(&self) -> Result<(), TestCaseError> {
        let open = self.open("missing-lot").await?.into_iter();
        let mut asked: Vec<usize> = open.map(|(_, number)| number).collect();
        asked.sort_unstable();
        prop_assert_eq!(asked, self.model.lots_missing());
        Ok(())
    }
}
