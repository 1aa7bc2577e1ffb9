//! `questions`: what the ledger asks. `answer`: answering it.

use clap::Args;
use client::every;
use types::{ListQuestions, NewAnswer, Question, QuestionPage};
use uuid::Uuid;

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const QUESTIONS_EXAMPLES: &str = "\
Examples:
  tigstock questions
  tigstock questions --part collet-2.4
  tigstock questions --all --format csv > questions.csv";

/// Show what the ledger asks: double entries, odd dates, counts that differ from the book
#[derive(Debug, Args)]
#[command(after_help = QUESTIONS_EXAMPLES)]
pub(crate) struct Questions {
    /// Only about this part
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// Answered and closed ones as well
    #[arg(long)]
    all: bool,
}

const ANSWER_EXAMPLES: &str = "\
What can be answered, and what changes then, is listed by: tigstock questions

Examples:
  tigstock answer 7 same --by owner
  tigstock answer 8 move
  tigstock answer 9 count --counted 7
  tigstock answer 10 lot --lot L-2231";

/// Answer what the ledger asks
#[derive(Debug, Args)]
#[command(after_help = ANSWER_EXAMPLES)]
pub(crate) struct Answer {
    /// The number of the question
    number: i64,
    /// One of the answers that it lists
    #[arg(value_name = "ANSWER")]
    word: String,
    /// For count: how many there are
    #[arg(long, value_name = "N")]
    counted: Option<i64>,
    /// For lot: the lot
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,
    /// Why, if there is more to say
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    /// Who answers
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

impl Questions {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let query = ListQuestions {
            state: (!self.all).then(|| "open".to_owned()),
            site: shop.site.clone(),
            part: self.part,
            limit: Some(types::page::PAGE_MAX),
            after: None,
        };
        let client = &shop.client;
        let questions = every(query, async |query| client.list_questions(&query).await).await?;
        let sheet = sheet(&questions, shop);
        let page = QuestionPage {
            questions,
            next: None,
        };
        if page.questions.is_empty() {
            shop.output.show_said(&page, "Nothing is asked.", &sheet);
            return Ok(exit::DONE);
        }
        shop.output.show_data(&page, &sheet);
        for question in &page.questions {
            show(question, shop);
        }
        Ok(exit::DONE)
    }
}

/// One question for a person: its number and words, then what can be answered.
fn show(question: &Question, shop: &mut Shop<'_, '_>) {
    let (number, says) = (question.number, &question.says);
    shop.output.say(&format!("{number}. {says}"));
    for possible in &question.answers {
        let (answer, changes) = (&possible.answer, &possible.changes);
        shop.output.say(&format!(
            "   tigstock answer {number} {answer}{}: {changes}",
            option(answer)
        ));
    }
    if let Some(outcome) = &question.outcome {
        let answer = question.answer.as_deref().unwrap_or(&question.state);
        shop.output.say(&format!("   {answer}: {outcome}"));
    }
}

/// What an answer needs besides its word.
fn option(answer: &str) -> &'static str {
    match answer {
        "count" => " --counted N",
        "lot" => " --lot LOT",
        _ => "",
    }
}

fn sheet(questions: &[Question], shop: &Shop<'_, '_>) -> Sheet {
    let mut sheet = Sheet::new([
        ("number", "No."),
        ("kind", "Kind"),
        ("state", "State"),
        ("site", ""),
        ("part", "Part"),
        ("says", "Question"),
        ("asked_at", "Asked"),
        ("answer", "Answer"),
        ("outcome", ""),
        ("answered_by", ""),
    ]);
    for question in questions {
        let text = |text: &Option<String>| text.as_deref().map_or(Cell::Nothing, Cell::from);
        sheet.push([
            Cell::Whole(question.number),
            Cell::from(&question.kind),
            Cell::from(&question.state),
            Cell::from(&question.site),
            text(&question.part),
            Cell::from(&question.says),
            Cell::Shown {
                value: question.asked_at.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(&question.asked_at)),
            },
            text(&question.answer),
            text(&question.outcome),
            text(&question.answered_by),
        ]);
    }
    sheet
}

impl Answer {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let answer = NewAnswer {
            answer: self.word,
            counted: self.counted,
            lot: self.lot,
            why: self.why,
            by: self.by,
        };
        let key = Uuid::now_v7().to_string();
        let question = shop
            .client
            .answer_question(self.number, &answer, &key)
            .await?;
        let outcome = question.outcome.as_deref().unwrap_or("answered");
        let says = format!("Question {}: {outcome}.", question.number);
        let sheet = sheet(std::slice::from_ref(&question), shop);
        shop.output.show_said(&question, &says, &sheet);
        Ok(exit::DONE)
    }
}
