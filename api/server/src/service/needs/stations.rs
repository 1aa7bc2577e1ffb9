//! The cards of the stations of a course: one to print for each, with its kit, its rack and a label.

use types::{CourseStations, GetNeeds, StationCard, StationPart};

use domain::safety::{About, Moment, cautions_at};

use super::course::{Planned, last_day};
use super::procedure::held_because;
use super::weigh_all;
use crate::service::known::View;
use crate::service::{Context, Error, parts};
use crate::store;

/// The cards of the stations of a course.
pub async fn get(context: &Context, code: &str) -> Result<CourseStations, Error> {
    let query = GetNeeds::default();
    let view = View::planned((None, None), query.now.as_deref(), context.clock.now())?;
    let db = context.store.read();
    let planned = Planned::load(db, code).await?;
    let weighing = weigh_all(db, &planned.work, view).await?;
    let rack = planned.rack(&weighing.weighed)?.map_or(0, |rack| rack.each);
    let kit = crate::service::codes::kit(db, &planned.given.kit).await?;
    let lines = store::kits::lines(db, [kit.id]).await?;
    let rows = store::parts::get_many(db, lines.iter().map(|line| line.part_id)).await?;
    let mut held = Vec::new();
    for line in &lines {
        let Some(row) = rows.iter().find(|row| row.id == line.part_id) else {
            continue;
        };
        held.push(StationPart {
            part: row.code.clone(),
            name: parts::spec(row)?.describe(),
            quantity: line.quantity,
            held_because: held_because(row, &planned.work.site, None)?,
        });
    }
    let cautions = cautions_at(&[Moment::StationSheet], &About::default());
    Ok(CourseStations {
        course: planned.work.code.clone(),
        name: planned.given.name.clone().unwrap_or_default(),
        site: planned.work.site.code.clone(),
        as_of: view.at,
        starts: planned.given.starts,
        ends: last_day(&planned),
        exercises: planned.given.exercises.clone(),
        stations: cards(&planned, &held, rack),
        cautions,
    })
}

fn cards(planned: &Planned, parts: &[StationPart], rack: i64) -> Vec<StationCard> {
    let size = planned.checked.size;
    let (heads, stations) = (i64::from(size.heads()), i64::from(size.stations()));
    (1..=stations)
        .map(|station| {
            // The first stations take those who are left over.
            let students = heads / stations + i64::from(station <= heads % stations);
            let mut card = StationCard {
                station,
                label: format!("{} station {station}", planned.work.code),
                students,
                kit: planned.given.kit.clone(),
                parts: parts.to_vec(),
                rack,
                lines: Vec::new(),
            };
            card.lines = lines(planned, &card);
            card
        })
        .collect()
}

/// The card as text.
fn lines(planned: &Planned, card: &StationCard) -> Vec<String> {
    let (starts, ends) = (planned.given.starts, last_day(planned));
    let days = if starts == ends {
        starts.format("%a %-d %b %Y").to_string()
    } else {
        format!(
            "{} to {}",
            starts.format("%a %-d %b"),
            ends.format("%a %-d %b %Y")
        )
    };
    let stations = planned.checked.size.stations();
    let name = planned.given.name.as_deref().unwrap_or_default();
    let mut lines = vec![
        format!("Station {} of {stations}: {name}, {days}", card.station),
        format!("Students: {}", card.students),
        format!("Kit {}:", card.kit),
    ];
    lines.extend(card.parts.iter().map(|part| match &part.held_because {
        Some(because) => format!("  {}: {because}, leave it out", part.name),
        None => format!("  {} x {}", part.quantity, part.name),
    }));
    if card.rack > 0 {
        lines.push(format!(
            "Rack: {} ground electrodes. Blunt? Take the next one, put the old one into the tin.",
            card.rack
        ));
    }
    let exercises = planned.given.exercises.iter();
    lines.extend(exercises.map(|exercise| format!("Exercise: {exercise}")));
    lines.push(card.label.clone());
    lines
}
