//! Operations on questions.

use types::{ListQuestions, NewAnswer, Question, QuestionPage};

use crate::{Client, Error};

impl Client {
    /// A page of what the ledger asks.
    pub async fn list_questions(&self, query: &ListQuestions) -> Result<QuestionPage, Error> {
        self.get_with(&["v1", "questions"], query).await
    }

    /// One question.
    pub async fn get_question(&self, number: i64) -> Result<Question, Error> {
        self.get(&["v1", "questions", &number.to_string()]).await
    }

    /// Answers a question.
    pub async fn answer_question(
        &self,
        number: i64,
        answer: &NewAnswer,
        idempotency_key: &str,
    ) -> Result<Question, Error> {
        let path = ["v1", "questions", &number.to_string(), "answer"];
        self.record(&path, answer, idempotency_key).await
    }
}
