//! Questions: what the ledger asks a person, and what changes on each answer.

use chrono::{DateTime, Utc};
use domain::question::{Answer, QuestionKind};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::{Checker, Violation, check_quantity};

/// Something that the ledger asks a person.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Question {
    /// Its number.
    pub number: i64,
    /// `double-entry`, `late-entry`, `mis-booking`, `variance`, `negative-book`, `missing-lot` or
    /// `barred-use`.
    #[schema(example = "double-entry")]
    pub kind: String,
    /// `open`, `answered`, or `closed` if it answered itself.
    #[schema(example = "open")]
    pub state: String,
    /// The site.
    pub site: String,
    /// The part it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The entry it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<Uuid>,
    /// The other entry it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other_entry: Option<Uuid>,
    /// The question in words.
    #[schema(example = "Possible double entry on T1: helper 14:02, owner 14:06. Same tip change?")]
    pub says: String,
    /// What can be answered, and what changes then.
    pub answers: Vec<PossibleAnswer>,
    /// What was sent, if it was kept aside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Object)]
    pub sent: Option<serde_json::Value>,
    /// When it was asked.
    pub asked_at: DateTime<Utc>,
    /// What was answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// What changed then, or why it answered itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<String>,
    /// Who answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answered_by: Option<String>,
    /// When it was answered, or answered itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answered_at: Option<DateTime<Utc>>,
}

/// An answer that can be given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PossibleAnswer {
    /// The word to send.
    #[schema(example = "same")]
    pub answer: String,
    /// What changes if it is given.
    #[schema(example = "the later entry is taken back; both stay readable")]
    pub changes: String,
}

/// A page of questions.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct QuestionPage {
    /// The questions, newest first.
    pub questions: Vec<Question>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which questions.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListQuestions {
    /// `open`, `answered` or `closed`; all unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "open")]
    pub state: Option<String>,
    /// Only of this site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Only of this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// Names a question.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct QuestionPath {
    /// The number of the question.
    pub question: String,
}

/// An answer to a question.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAnswer {
    /// One of the answers that the question lists.
    #[schema(example = "same")]
    pub answer: String,
    /// For `count`: how many there are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0)]
    pub counted: Option<i64>,
    /// For `lot`: the lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Why, if there is more to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Who answers, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "owner")]
    pub by: Option<String>,
}

/// The answer to an entry that is dated too far ahead or back: nothing is recorded until a person
/// has decided.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KeptAside {
    /// The question that asks about it.
    pub question: i64,
    /// The answer in one line.
    pub says: String,
}

impl NewAnswer {
    /// Checks it against what a question of that kind can be answered.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self, kind: QuestionKind) -> Result<Answer, Vec<Violation>> {
        let mut checker = Checker::default();
        let answer = Answer::parse(&self.answer)
            .ok()
            .filter(|answer| kind.answers().contains(answer));
        if answer.is_none() {
            let choices: Vec<&str> = kind
                .answers()
                .iter()
                .map(|answer| answer.as_str())
                .collect();
            checker.note(
                "answer",
                format!(
                    "\"{}\" does not answer it; give {}",
                    self.answer,
                    choices.join(" or ")
                ),
            );
        }
        match (answer, self.counted) {
            (Some(Answer::Count), None) => {
                checker.note("counted", "missing; give what you counted");
            }
            (Some(Answer::Count), Some(counted)) => {
                check_quantity("counted", counted, 0, &mut checker);
            }
            (_, Some(_)) => checker.note("counted", "belongs to the answer count; leave it out"),
            (_, None) => {}
        }
        match (answer, self.lot.as_deref()) {
            (Some(Answer::Lot), None) => checker.note("lot", "missing; give the lot"),
            (Some(Answer::Lot), Some(lot)) => {
                checker.take("lot", domain::code::Code::parse("lot", lot));
            }
            (_, Some(_)) => checker.note("lot", "belongs to the answer lot; leave it out"),
            (_, None) => {}
        }
        checker.text("why", self.why.as_deref(), 400);
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()?;
        answer.ok_or_else(Vec::new)
    }
}
