//! `plan`: will this job or course run without a stop, and if not, which order fixes it, and by when?
//! Where it is described on the command line, it is set up or changed first.

use chrono::NaiveDate;
use clap::Args;
use types::{Course, GetNeeds, Job, NewJob, ProblemKind, SetUpJob};

use crate::failure::Failure;
use crate::instant::parse_now;
use crate::needs;
use crate::past::Past;
use crate::shop::Shop;
use crate::size::Size;

mod course;
mod welds;

use course::CourseEdit;
use welds::WeldEdit;

const EXAMPLES: &str = "\
Exit codes: 0 all enough; 1 something to order; 2 the job is blocked: short, and nothing that is
offered comes in time, nor does another part cover it that the procedure permits; 3 could not tell.

Examples:
  tigstock plan R-118 --arc 34h --torch T1 --kit K-24G --start 2026-06-26
  tigstock plan R-118
  tigstock plan R-118 --leave-out back-cap-long insulator-lens
  tigstock plan R-118 --conditions purge,stainless
  tigstock plan R-131 --now 2026-12-22T14:20:00-04:00
  tigstock plan R-140 --torch T1 --start 2026-07-06 --gas argon --flow 8L/min \\
    --weld 'fillet 3mm 6m stainless 250mm/min with ER308L-1.6'
  tigstock plan course-0912 --heads 12 --days 2 --station-count 6 --kit K-24 --start 2026-09-12
  tigstock plan course-0912
  tigstock plan course-0912 --stations";

/// The word for work that calls for no caution of its own.
const NO_CONDITION: &str = "none";

/// Say whether a job or a course will run without a stop, and which order fixes it
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Plan {
    /// The job, or the course
    job: String,
    /// Print the cards of the stations of a course instead
    #[arg(long)]
    stations: bool,
    #[command(flatten)]
    edit: Edit,
    #[command(flatten)]
    course: CourseEdit,
    /// The instant to plan from; the present unless told
    #[arg(long, value_name = "TIME", value_parser = parse_now)]
    now: Option<String>,
    #[command(flatten)]
    past: Past,
}

/// What a job should be from now on; what is not given stays as it is.
#[derive(Debug, Args)]
#[command(next_help_heading = "Set the job or the course up, or change it")]
struct Edit {
    #[command(flatten)]
    size: Size,
    #[command(flatten)]
    welds: WeldEdit,
    /// The torch it is done with
    #[arg(long, value_name = "TORCH")]
    torch: Option<String>,
    /// The kit it needs; what is fitted in the torch unless told
    #[arg(long, value_name = "KIT")]
    kit: Option<String>,
    /// The written procedure it is done by, with its revision; the newest one unless told
    #[arg(long, value_name = "PROCEDURE")]
    procedure: Option<String>,
    /// The day it starts
    #[arg(long, value_name = "YYYY-MM-DD")]
    start: Option<NaiveDate>,
    /// A new job has begun already, so that its start may be past
    #[arg(long, requires = "start")]
    begun: bool,
    /// What people call it
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Operator group that will do it: own, helper, beginner or visitor; own unless told
    #[arg(long, value_name = "GROUP")]
    group: Option<String>,
    /// The chance that it should run without a stop; 0.95 unless told
    #[arg(long, value_name = "P")]
    target: Option<f64>,
    /// Codes of parts to leave out of the chance
    #[arg(long, value_name = "PART", num_args = 1.., value_delimiter = ',')]
    leave_out: Option<Vec<String>>,
    /// What the work is like: purge, enclosed, stainless, coated; none for nothing of these
    #[arg(long, value_name = "WORD", num_args = 1.., value_delimiter = ',')]
    conditions: Option<Vec<String>>,
}

impl Plan {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let query = GetNeeds {
            now: self.now.clone(),
            as_of: self.past.as_of.clone(),
            known: self.past.known.clone(),
        };
        if self.stations || !self.course.is_empty() {
            let found = found(shop.client.get_course(&self.job).await)?;
            return self.run_course(found, &query, shop).await;
        }
        if self.edit.is_empty() {
            return match found(shop.client.get_job_needs(&self.job, &query).await)? {
                Some(needs) => {
                    needs::show(&needs, shop.output);
                    Ok(needs::exit_code(&needs))
                }
                None => course::show(&self.job, &query, shop).await,
            };
        }
        let job = found(shop.client.get_job(&self.job).await)?;
        if job.is_none() {
            let course = found(shop.client.get_course(&self.job).await)?;
            if course.is_some() {
                return self.run_course(course, &query, shop).await;
            }
        }
        set_up(&self.job, (self.edit, job), shop).await?;
        let needs = shop.client.get_job_needs(&self.job, &query).await?;
        needs::show(&needs, shop.output);
        Ok(needs::exit_code(&needs))
    }

    /// Sets a course up or changes it where it is described, and shows it.
    async fn run_course(
        self,
        found: Option<Course>,
        query: &GetNeeds,
        shop: &mut Shop<'_, '_>,
    ) -> Result<u8, Failure> {
        if !self.edit.is_empty() || !self.course.is_empty() {
            let edits = (self.edit, self.course);
            course::set_up(&self.job, edits, found, shop).await?;
        }
        if self.stations {
            course::show_cards(&self.job, shop).await
        } else {
            course::show(&self.job, query, shop).await
        }
    }
}

/// What was found, if there is any.
fn found<T>(answer: Result<T, client::Error>) -> Result<Option<T>, Failure> {
    match answer {
        Ok(found) => Ok(Some(found)),
        Err(error) if error.is(ProblemKind::NotFound) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Sets the job up, or changes what is given.
async fn set_up(
    job: &str,
    (mut edit, found): (Edit, Option<Job>),
    shop: &mut Shop<'_, '_>,
) -> Result<(), Failure> {
    edit.welds.name_fillers(shop).await?;
    let Some(found) = found else {
        let Some(start) = edit.start else {
            return Err(Failure::CommandLine(format!(
                "job {job} is new; give its first day too: --start 2026-06-26"
            )));
        };
        let site = shop.site.clone();
        let mut new = NewJob {
            code: job.to_owned(),
            start,
            site,
            ..NewJob::default()
        };
        let how = SetUpJob { begun: edit.begun };
        edit.apply(&mut new);
        new.check()?;
        let made = shop.client.create_job_as(&new, &how).await?;
        shop.output.note(&format!("Job {job} is set up."));
        note(&made, shop);
        return Ok(());
    };
    let version = found.version;
    let before = found.into_new();
    let mut after = before.clone();
    edit.apply(&mut after);
    if let Some(site) = &shop.site {
        after.site = Some(site.clone());
    }
    if after != before {
        after.check()?;
        let changed = shop.client.replace_job(job, &after, version).await?;
        shop.output.note(&format!("Job {job} is changed."));
        note(&changed, shop);
    }
    Ok(())
}

/// Tells what is to be said of the procedure of a job, and of its weld list.
fn note(job: &Job, shop: &mut Shop<'_, '_>) {
    for sentence in &job.says {
        shop.output.note(sentence);
    }
}

impl Edit {
    fn is_empty(&self) -> bool {
        let Self {
            size,
            welds,
            torch,
            kit,
            procedure,
            start,
            // Only with a start.
            begun: _,
            name,
            group,
            target,
            leave_out,
            conditions,
        } = self;
        size.is_empty()
            && welds.is_empty()
            && [torch, kit, procedure, name, group]
                .iter()
                .all(|text| text.is_none())
            && start.is_none()
            && target.is_none()
            && leave_out.is_none()
            && conditions.is_none()
    }

    fn apply(self, job: &mut NewJob) {
        fn set<T>(place: &mut Option<T>, value: Option<T>) {
            if value.is_some() {
                *place = value;
            }
        }
        self.welds.apply(job);
        set(&mut job.arc_minutes, self.size.arc);
        set(&mut job.grinds, self.size.grinds);
        set(&mut job.weeks, self.size.weeks);
        set(&mut job.torch, self.torch);
        set(&mut job.kit, self.kit);
        if self.procedure.is_some() {
            // Whether it allows substitution follows from the procedure.
            job.locked = false;
        }
        set(&mut job.procedure, self.procedure);
        set(&mut job.name, self.name);
        set(&mut job.group, self.group);
        set(&mut job.target, self.target);
        if let Some(start) = self.start {
            job.start = start;
        }
        if let Some(left_out) = self.leave_out {
            job.left_out = left_out;
        }
        if let Some(mut conditions) = self.conditions {
            conditions.retain(|word| !word.eq_ignore_ascii_case(NO_CONDITION));
            job.conditions = conditions;
        }
    }
}
