//! The cards of the stations of a course as a page to print: one card for each, with its kit, its rack,
//! its label and the cautions. What stands on a card was decided elsewhere.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use types::{CourseStations, StationCard};

use crate::http::qr;

/// Two cards a sheet of A4, in black on white; nothing is told by colour.
const STYLE: &str = "
@page { size: A4; margin: 12mm }
body { margin: 0; font: 12pt/1.35 sans-serif; color: #000; background: #fff }
.card { box-sizing: border-box; min-height: 130mm; margin: 0 0 6mm; padding: 6mm; border: 0.5mm solid #000;
  break-inside: avoid; display: grid; grid-template-columns: 1fr 42mm; gap: 2mm 6mm; align-content: start }
.card > * { grid-column: 1 }
h1 { margin: 0; font-size: 26pt; line-height: 1.1 }
p, ul, table { margin: 0 0 2mm }
th, td { padding: 0.5mm 4mm 0.5mm 0; text-align: left; vertical-align: top }
td.number { text-align: right; font-variant-numeric: tabular-nums }
.label { grid-column: 2; grid-row: 1 / span 6; text-align: center; font-weight: bold; overflow-wrap: anywhere }
.qr { display: block; width: 42mm; height: 42mm }
.cautions { font-size: 9pt; border-top: 0.3mm solid #000; padding-top: 2mm; grid-column: 1 / -1 }
";

/// The page; `place` is what the label of a station leads to.
pub(super) fn page(told: &CourseStations, place: impl Fn(&StationCard) -> String) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (told.course) ": cards of the stations" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @for card in &told.stations {
                        (one(told, card, &place(card)))
                    }
                }
            }
        }
    }
}

fn one(told: &CourseStations, card: &StationCard, place: &str) -> Markup {
    let id = format!("station-{}", card.station);
    let name = format!("{id}-name");
    let days = if told.starts == told.ends {
        told.starts.format("%a %-d %b %Y").to_string()
    } else {
        let (first, last) = (
            told.starts.format("%a %-d %b"),
            told.ends.format("%a %-d %b %Y"),
        );
        format!("{first} to {last}")
    };
    html! {
        section class="card" id=(id) aria-labelledby=(name) {
            h1 id=(name) { "Station " (card.station) " of " (told.stations.len()) }
            p { (told.name) ", " (days) ". Students: " (card.students) "." }
            table {
                caption { "Kit " (card.kit) }
                thead { tr { th scope="col" { "Pieces" } th scope="col" { "Part" } } }
                tbody {
                    @for part in &card.parts {
                        tr {
                            @if let Some(because) = &part.held_because {
                                td class="number" { "none" }
                                td { (part.name) ": " (because) ", leave it out" }
                            } @else {
                                td class="number" { (part.quantity) }
                                td { (part.name) }
                            }
                        }
                    }
                }
            }
            @if card.rack > 0 {
                p {
                    "Rack: " (card.rack) " ground electrodes. Blunt? Take the next one, put the old one into the "
                    "tin."
                }
            }
            @if !told.exercises.is_empty() {
                p { "Exercises: " (told.exercises.join("; ")) "." }
            }
            div class="label" {
                @if let Some(symbol) = qr::of(place) { (symbol) }
                p { (card.label) }
                p { (place) }
            }
            ul class="cautions" aria-label="Cautions" {
                @for caution in &told.cautions { li { (caution) } }
            }
        }
    }
}
