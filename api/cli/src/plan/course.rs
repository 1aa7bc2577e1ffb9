//! `plan` of a course: set up or changed where it is described on the command line, then what it
//! needs, or the cards of its stations.

use chrono::NaiveDate;
use clap::Args;
use types::{CourseNeeds, CourseStations, GetNeeds, NeedLine, NewCourse};

use super::Edit;
use crate::failure::Failure;
use crate::needs;
use crate::sheet::{Cell, Sheet, target};
use crate::shop::Shop;

/// What a course should be from now on; what is not given stays as it is.
#[derive(Debug, Args)]
#[command(next_help_heading = "Set a course up, or change it")]
pub(super) struct CourseEdit {
    /// How many students
    #[arg(long, value_name = "N")]
    heads: Option<i64>,
    /// On how many days; each day from the first to the last unless told
    #[arg(long, value_name = "N")]
    days: Option<i64>,
    /// At how many stations
    #[arg(long, value_name = "N")]
    station_count: Option<i64>,
    /// The last day
    #[arg(long, value_name = "YYYY-MM-DD")]
    end: Option<NaiveDate>,
    /// What is practised; give it once for each exercise
    #[arg(long, value_name = "TEXT")]
    exercise: Vec<String>,
    /// How far courses differ in clumsiness, from 0 to 1; 0 unless told
    #[arg(long, value_name = "SPREAD")]
    clumsiness: Option<f64>,
    /// How often a student blunts an electrode in a day
    #[arg(long, value_name = "N")]
    grinds_per_student_day: Option<f64>,
    /// Minutes from one visit to the grinder to the next; 60 unless told
    #[arg(long, value_name = "N")]
    minutes_between_visits: Option<i64>,
}

impl CourseEdit {
    /// Whether nothing of a course is described.
    pub(super) fn is_empty(&self) -> bool {
        let Self {
            heads,
            days,
            station_count,
            end,
            exercise,
            clumsiness,
            grinds_per_student_day,
            minutes_between_visits,
        } = self;
        [heads, days, station_count, minutes_between_visits]
            .iter()
            .all(|number| number.is_none())
            && [clumsiness, grinds_per_student_day]
                .iter()
                .all(|number| number.is_none())
            && end.is_none()
            && exercise.is_empty()
    }

    fn apply(self, course: &mut NewCourse) {
        if let Some(heads) = self.heads {
            course.heads = heads;
        }
        if let Some(stations) = self.station_count {
            course.stations = stations;
        }
        if self.days.is_some() {
            course.days = self.days;
        }
        if self.end.is_some() {
            course.ends = self.end;
        }
        if !self.exercise.is_empty() {
            course.exercises = self.exercise;
        }
        if self.clumsiness.is_some() {
            course.clumsiness = self.clumsiness;
        }
        if self.grinds_per_student_day.is_some() {
            course.grinds_per_student_day = self.grinds_per_student_day;
        }
        if self.minutes_between_visits.is_some() {
            course.minutes_between_visits = self.minutes_between_visits;
        }
    }
}

/// What is given of any work, given to a course.
fn apply(edit: Edit, course: &mut NewCourse) -> Result<(), Failure> {
    let Edit {
        size,
        welds,
        torch,
        kit,
        procedure,
        start,
        begun,
        name,
        group,
        target,
        leave_out,
        conditions,
    } = edit;
    let only_of_a_job = [
        ("--arc, --grinds and --weeks are", !size.is_empty()),
        ("--weld and the options of gas are", !welds.is_empty()),
        ("--torch is", torch.is_some()),
        ("--begun is", begun),
        ("--procedure is", procedure.is_some()),
        ("--conditions are", conditions.is_some()),
    ];
    if let Some((what, _)) = only_of_a_job.iter().find(|(_, given)| *given) {
        return Err(Failure::CommandLine(format!(
            "{what} of a job; a course has --heads, --days, --station-count and --kit"
        )));
    }
    if let Some(kit) = kit {
        course.kit = kit;
    }
    if let Some(start) = start {
        // The days move with the first one.
        let length = course.ends.map(|ends| ends - course.starts);
        course.ends = length.map(|length| start + length);
        course.starts = start;
    }
    for (place, value) in [(&mut course.name, name), (&mut course.group, group)] {
        if value.is_some() {
            *place = value;
        }
    }
    if target.is_some() {
        course.target = target;
    }
    if let Some(left_out) = leave_out {
        course.left_out = left_out;
    }
    Ok(())
}

/// Sets the course up, or changes what is given. `found` is what it was.
pub(super) async fn set_up(
    code: &str,
    (edit, course_edit): (Edit, CourseEdit),
    found: Option<types::Course>,
    shop: &mut Shop<'_, '_>,
) -> Result<(), Failure> {
    let Some(found) = found else {
        let Some(start) = edit.start else {
            return Err(Failure::CommandLine(format!(
                "course {code} is new; give its first day too: --start 2026-09-12"
            )));
        };
        let mut new = NewCourse {
            code: code.to_owned(),
            starts: start,
            site: shop.site.clone(),
            ..NewCourse::default()
        };
        apply(edit, &mut new)?;
        course_edit.apply(&mut new);
        new.check()?;
        shop.client.create_course(&new).await?;
        shop.output.note(&format!("Course {code} is set up."));
        return Ok(());
    };
    let version = found.version;
    let before = found.into_new();
    let mut after = before.clone();
    if course_edit.end.is_some() && course_edit.days.is_none() {
        after.days = None;
    }
    apply(edit, &mut after)?;
    course_edit.apply(&mut after);
    if let Some(site) = &shop.site {
        after.site = Some(site.clone());
    }
    if after != before {
        after.check()?;
        shop.client.replace_course(code, &after, version).await?;
        shop.output.note(&format!("Course {code} is changed."));
    }
    Ok(())
}

/// Prints what a course needs; the exit code is that of a job.
pub(super) async fn show(
    code: &str,
    query: &GetNeeds,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    let told = shop.client.get_course_needs(code, query).await?;
    shop.output.show(&told, &sheet(&told));
    needs::say(&told.needs, shop.output);
    Ok(needs::exit_code(&told.needs))
}

/// Prints the cards of the stations.
pub(super) async fn show_cards(code: &str, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    let told = shop.client.get_course_stations(code).await?;
    let cards: Vec<String> = told
        .stations
        .iter()
        .map(|card| card.lines.join("\n"))
        .collect();
    shop.output
        .show_said(&told, &cards.join("\n\n"), &cards_sheet(&told));
    for caution in &told.cautions {
        shop.output.caution(caution);
    }
    Ok(crate::failure::exit::DONE)
}

/// The needs as a sheet, one row a part, with what each costs.
fn sheet(told: &CourseNeeds) -> Sheet {
    let need = format!("Need at {}", target(told.needs.target));
    let mut sheet = Sheet::new([
        ("course", ""),
        ("part", ""),
        ("name", "Part"),
        ("expected", "Expected use"),
        ("need", &need),
        ("available", "In drawer"),
        ("supplier", ""),
        ("packs", "Order"),
        ("pack_size", ""),
        ("after", "After"),
        ("cost_minor", "Line cost"),
        ("currency", ""),
        ("worth_minor", ""),
        ("per_student_day", ""),
        ("chance_now", ""),
        ("chance_after", ""),
        ("as_of", ""),
    ]);
    for (line, part) in told.needs.lines.iter().zip(&told.parts) {
        sheet.push(row(told, line, part));
    }
    sheet
}

fn row(told: &CourseNeeds, line: &NeedLine, part: &types::CoursePart) -> [Cell; 17] {
    let order = line.order.as_ref();
    [
        Cell::from(&told.course),
        Cell::from(&line.part),
        Cell::from(&line.name),
        needs::expected(line),
        needs::amount(line, line.need),
        needs::amount(line, line.available),
        order.map_or(Cell::Nothing, |order| Cell::from(&order.supplier)),
        needs::ordered(line),
        Cell::from(order.map(|order| order.pack_size)),
        needs::amount(line, line.after),
        order.map_or(Cell::Nothing, |order| {
            Cell::money(
                needs::cost(line).unwrap_or(order.cost_minor),
                &order.currency,
            )
        }),
        order.map_or(Cell::Nothing, |order| Cell::from(&order.currency)),
        Cell::from(part.worth_minor),
        Cell::mean(part.per_student_day),
        Cell::chance(line.chance_now),
        Cell::chance(line.chance_after),
        Cell::Text(told.needs.as_of.to_rfc3339()),
    ]
}

/// The cards as a sheet, one row for each part of each station.
fn cards_sheet(told: &CourseStations) -> Sheet {
    let mut sheet = Sheet::new([
        ("course", ""),
        ("station", "Station"),
        ("label", "Label"),
        ("students", "Students"),
        ("kit", "Kit"),
        ("rack", "Ground electrodes"),
        ("part", ""),
        ("name", "Part"),
        ("quantity", "Quantity"),
    ]);
    for card in &told.stations {
        for part in &card.parts {
            sheet.push([
                Cell::from(&told.course),
                Cell::Whole(card.station),
                Cell::from(&card.label),
                Cell::Whole(card.students),
                Cell::from(&card.kit),
                Cell::Whole(card.rack),
                Cell::from(&part.part),
                Cell::from(&part.name),
                Cell::Whole(part.quantity),
            ]);
        }
    }
    sheet
}
