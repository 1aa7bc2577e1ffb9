//! `close`: a job or a course is done. What it really used is told in all, and what is not logged yet is
//! logged; the answer says how far the plan was off.

use clap::Args;
use types::{Closing, NewClosing, PartsCounted, PartsUsed, ProblemKind};
use uuid::Uuid;

use crate::failure::{Failure, exit};
use crate::grammar::arc_minutes;
use crate::instant::parse_at;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Give what it took in all; what is on record for it already is not logged twice.

Examples:
  tigstock close R-118 --arc 38h --used WLa20-2.4=7 cup-7=2
  tigstock close R-118 --counted WLa20-2.4=6
  tigstock close course-0912 --student-days 22 --used WLa20-2.4=19 cup-7=11
  tigstock close R-118 --show        how it ended, once it is closed
  tigstock close R-118 --reopen      open it again; what was logged stays, and undo takes it back";

/// Close a job or a course: log what it really took, and say how far the plan was off
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Close {
    /// The job, or the course
    code: String,
    /// The arc time it took in all: 38h or 38h30
    #[arg(long, value_name = "ARC")]
    arc: Option<String>,
    /// The grinds it took in all
    #[arg(long, value_name = "N")]
    grinds: Option<i64>,
    /// The student-days that were taught in all; as planned unless told
    #[arg(long, value_name = "N")]
    student_days: Option<i64>,
    /// What it used up in all, the bucket of broken parts included: PART=N
    #[arg(long, value_name = "PART=N", num_args = 1..)]
    used: Vec<String>,
    /// What the drawers hold now: PART=N
    #[arg(long, value_name = "PART=N", num_args = 1..)]
    counted: Vec<String>,
    /// When it ended: a time of day such as 14:02, or an instant with its offset; now unless told
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Who says so, as the shop calls them
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Only show how it ended
    #[arg(long, conflicts_with_all = ["reopen", "arc", "grinds", "student_days", "used", "counted"])]
    show: bool,
    /// Open it again
    #[arg(long, conflicts_with_all = ["arc", "grinds", "student_days", "used", "counted"])]
    reopen: bool,
}

impl Close {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        // What waits may belong to it.
        shop.send_waiting().await?;
        let code = self.code.clone();
        let is_course = is_course(&code, shop).await?;
        if self.reopen {
            if is_course {
                shop.client.reopen_course(&code).await?;
            } else {
                shop.client.reopen_job(&code).await?;
            }
            let says = format!("{code} is open again. What its closing logged stays on record.");
            let answer = serde_json::json!({ "reopened": code, "says": says });
            let mut sheet = Sheet::new([("reopened", "")]);
            sheet.push([Cell::from(&code)]);
            shop.output.show_said(&answer, &says, &sheet);
            return Ok(exit::DONE);
        }
        let closing = if self.show {
            if is_course {
                shop.client.get_course_closing(&code).await?
            } else {
                shop.client.get_job_closing(&code).await?
            }
        } else {
            let new = self.told(shop)?;
            let key = format!("close-{}", Uuid::now_v7());
            if is_course {
                shop.client.close_course(&code, &new, &key).await?
            } else {
                shop.client.close_job(&code, &new, &key).await?
            }
        };
        shop.output.show(&closing, &sheet(&closing));
        for line in &closing.says {
            shop.output.say(line);
        }
        Ok(exit::DONE)
    }

    fn told(self, shop: &Shop<'_, '_>) -> Result<NewClosing, Failure> {
        let arc = self.arc.as_deref().map(arc_minutes).transpose();
        let at = self.at.as_deref();
        let at = at.map(|text| parse_at(text, shop.env.now, shop.env.zone));
        let used = self.used.iter().map(|word| {
            let (part, quantity) = numbered(word)?;
            Ok(PartsUsed { part, quantity })
        });
        let counts = self.counted.iter().map(|word| {
            let (part, counted) = numbered(word)?;
            Ok(PartsCounted { part, counted })
        });
        Ok(NewClosing {
            arc_minutes: arc.map_err(|error| Failure::CommandLine(error.to_string()))?,
            grinds: self.grinds,
            student_days: self.student_days,
            used: used.collect::<Result<_, Failure>>()?,
            counts: counts.collect::<Result<_, Failure>>()?,
            at: at.transpose().map_err(Failure::CommandLine)?,
            by: self.by,
        })
    }
}

/// Whether a code is that of a course; one that is neither's is taken for a job, and refused as such.
async fn is_course(code: &str, shop: &Shop<'_, '_>) -> Result<bool, Failure> {
    match shop.client.get_course(code).await {
        Ok(_) => Ok(true),
        Err(error) if error.is(ProblemKind::NotFound) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

/// `cup-7=2` as a code and a number.
fn numbered(word: &str) -> Result<(String, i64), Failure> {
    let told = word
        .rsplit_once('=')
        .and_then(|(part, number)| Some((part.to_owned(), number.parse().ok()?)));
    told.ok_or_else(|| {
        Failure::CommandLine(format!(
            "\"{word}\" is not a part with its number; write it as cup-7=2"
        ))
    })
}

fn sheet(closing: &Closing) -> Sheet {
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("used", "Used"),
        ("expected", "Expected"),
        ("low", "From"),
        ("high", "To"),
        ("expected_for_what_it_took", "For what it took"),
        ("within", "Within"),
    ]);
    let whole = |number: Option<i64>| number.map_or(Cell::Nothing, Cell::Whole);
    let mean = |number: Option<f64>| number.map_or(Cell::Nothing, Cell::mean);
    for line in &closing.lines {
        sheet.push([
            Cell::from(&line.part),
            Cell::Whole(line.used),
            mean(line.expected),
            whole(line.low),
            whole(line.high),
            mean(line.expected_for_what_it_took),
            Cell::from(if line.within { "yes" } else { "no" }),
        ]);
    }
    sheet
}
