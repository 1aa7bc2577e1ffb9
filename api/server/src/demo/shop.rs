//! The shop of the demo: Kettlewrack Marine Railings and its job R-118, scenario S5. All names and
//! figures are invented.

use chrono::{DateTime, Datelike, Days, NaiveDate, TimeDelta, Utc, Weekday};
use client::{Client, Error};
use types::{
    KitLine, NewCount, NewJob, NewKit, NewOffer, NewPart, NewSetUp, NewSite, NewSupplier, NewTorch,
    NewUsage, NewUsageBatch, StartingAssumption,
};

/// The job that the demo asks about.
pub const JOB: &str = "R-118";
const TORCH: &str = "T1";
const KIT: &str = "K-24G";
const ZONE: &str = "America/Halifax";

/// Three years of history: 156 weeks with three sessions each.
const WEEKS: i64 = 156;
const SESSIONS: i64 = 3 * WEEKS;
/// Together 410 arc hours: 78 rounds of these six sessions, and half an hour more in the last.
const SESSION_MINUTES: [i64; 6] = [35, 50, 70, 40, 65, 55];
const LAST_SESSION_MORE: i64 = 30;
/// Together 1180 grinds: two a session, and a third in 244 of them.
const THIRD_GRINDS: i64 = 244;
/// Entries that are posted at once.
const BATCH: usize = 100;

/// A part of the shop: its code, its starting assumption, what was used in three years, and what is
/// in the drawer.
struct Stocked {
    part: NewPart,
    used: i64,
    what: &'static str,
    counted: i64,
}

fn stocked(
    code: &str,
    kind: &str,
    assumed: Option<(f64, f64)>,
    (used, what, counted): (i64, &'static str, i64),
) -> Stocked {
    let assumed = assumed.map(|(shape, rate)| StartingAssumption {
        per: "arc-hour".to_owned(),
        shape,
        rate,
    });
    let part = NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        family: (kind != "electrode").then(|| "large".to_owned()),
        starting_assumptions: assumed.into_iter().collect(),
        ..NewPart::default()
    };
    Stocked {
        part,
        used,
        what,
        counted,
    }
}

/// The parts, in the order of the kit.
fn parts() -> Vec<Stocked> {
    let size = Some("2.4 mm".to_owned());
    let mut electrode = stocked("WLa20-2.4", "electrode", Some((2.0, 20.0)), (58, "took", 3));
    electrode.part.class = Some("WLa20".to_owned());
    electrode.part.diameter.clone_from(&size);
    electrode.part.length = Some("175 mm".to_owned());
    let mut collet = stocked("collet-2.4", "collet", Some((0.5, 50.0)), (7, "took", 1));
    collet.part.diameter.clone_from(&size);
    let mut cup = stocked("cup-7-gas-lens", "cup", Some((1.0, 30.0)), (19, "broke", 5));
    cup.part.cup_number = Some(7);
    cup.part.seat = Some("gas-lens".to_owned());
    let o_ring = stocked("o-ring-large", "o-ring", Some((0.5, 50.0)), (3, "took", 2));
    let mut lens = stocked(
        "gas-lens-2.4",
        "gas-lens",
        Some((0.5, 100.0)),
        (2, "took", 1),
    );
    lens.part.diameter = size;
    lens.part.arrangement = Some("gas-lens".to_owned());
    let mut insulator = stocked("insulator-gas-lens", "insulator", None, (0, "took", 1));
    insulator.part.arrangement = Some("gas-lens".to_owned());
    let mut back_cap = stocked("back-cap-long", "back-cap", None, (0, "took", 2));
    back_cap.part.length = Some("long".to_owned());
    vec![electrode, collet, cup, o_ring, lens, insulator, back_cap]
}

/// Sets up the shop and posts its history, telling how far it is.
///
/// # Errors
/// The service refuses something, or does not answer.
pub async fn furnish(
    client: &Client,
    now: DateTime<Utc>,
    progress: impl Fn(usize, usize),
) -> Result<(), Error> {
    let parts = parts();
    set_up(client, &parts, start(now)).await?;
    let entries = history(&parts, now);
    for (done, batch) in entries.chunks(BATCH).enumerate() {
        progress(done * BATCH, entries.len());
        let batch = NewUsageBatch {
            entries: batch.to_vec(),
            history: true,
            ..NewUsageBatch::default()
        };
        let outcome = client.record_usage_batch(&batch).await?;
        if let Some(problem) = outcome.entries.into_iter().find_map(|entry| entry.problem) {
            return Err(Error::Problem(Box::new(problem)));
        }
    }
    progress(entries.len(), entries.len());
    for stocked in &parts {
        let count = NewCount {
            part: stocked.part.code.clone(),
            counted: stocked.counted,
            by: Some("owner".to_owned()),
            ..NewCount::default()
        };
        client
            .record_count(&count, &format!("demo-count-{}", stocked.part.code))
            .await?;
    }
    Ok(())
}

async fn set_up(client: &Client, parts: &[Stocked], start: NaiveDate) -> Result<(), Error> {
    let text = |text: &str| Some(text.to_owned());
    let site = client.get_site(types::DEFAULT_SITE).await?;
    let version = site.version;
    let named = NewSite {
        name: text("Kettlewrack Marine Railings"),
        zone: ZONE.to_owned(),
        ..site.into_new()
    };
    client
        .replace_site(types::DEFAULT_SITE, &named, version)
        .await?;
    for stocked in parts {
        client.create_part(&stocked.part).await?;
    }
    let codes: Vec<String> = parts
        .iter()
        .map(|stocked| stocked.part.code.clone())
        .collect();
    let torch = NewTorch {
        code: TORCH.to_owned(),
        name: text("Large body, air-cooled"),
        family: "large".to_owned(),
        site: None,
        note: None,
    };
    let torch = client.create_torch(&torch).await?;
    client
        .replace_set_up(
            TORCH,
            &NewSetUp {
                parts: codes.clone(),
            },
            torch.version,
        )
        .await?;
    let lines = codes.iter().map(|part| KitLine {
        part: part.clone(),
        quantity: 1,
        ..KitLine::default()
    });
    client
        .create_kit(&NewKit {
            code: KIT.to_owned(),
            name: text("2.4 mm with gas lens"),
            parts: lines.collect(),
        })
        .await?;
    sellers(client).await?;
    let job = NewJob {
        code: JOB.to_owned(),
        name: text("Marine handrail"),
        torch: text(TORCH),
        kit: text(KIT),
        arc_minutes: Some(34 * 60),
        start,
        left_out: vec!["insulator-gas-lens".to_owned(), "back-cap-long".to_owned()],
        ..NewJob::default()
    };
    client.create_job(&job).await?;
    Ok(())
}

async fn sellers(client: &Client) -> Result<(), Error> {
    for (code, name, freight_minor, lead_time_days) in [
        ("quayhead", "Quayhead, counter", 0, 1),
        ("millrace", "Millrace, post", 900, 5),
    ] {
        let supplier = NewSupplier {
            code: code.to_owned(),
            name: Some(name.to_owned()),
            currency: "CAD".to_owned(),
            freight_minor,
            lead_time_days,
            cut_off: Some("12:00".to_owned()),
            ..NewSupplier::default()
        };
        client.create_supplier(&supplier).await?;
    }
    for (supplier, part, pack_size, price_minor) in [
        ("quayhead", "WLa20-2.4", 10, 4200),
        ("millrace", "WLa20-2.4", 1, 560),
        ("quayhead", "collet-2.4", 5, 1250),
        ("quayhead", "cup-7-gas-lens", 10, 3800),
        ("quayhead", "o-ring-large", 10, 600),
    ] {
        let offer = NewOffer {
            supplier: supplier.to_owned(),
            part: part.to_owned(),
            pack_size,
            price_minor,
            ..NewOffer::default()
        };
        client.create_offer(&offer).await?;
    }
    Ok(())
}

/// The job starts on the Friday of next week.
fn start(now: DateTime<Utc>) -> NaiveDate {
    let next_week = now.date_naive() + Days::new(7);
    let friday = i64::from(Weekday::Fri.num_days_from_monday());
    next_week + TimeDelta::days(friday - i64::from(next_week.weekday().num_days_from_monday()))
}

/// Three years of sessions, oldest first, with what was used spread evenly over them.
fn history(parts: &[Stocked], now: DateTime<Utc>) -> Vec<NewUsage> {
    let first = now - TimeDelta::weeks(WEEKS);
    let gap = TimeDelta::weeks(WEEKS) / i32::try_from(SESSIONS).unwrap_or(i32::MAX);
    let mut entries = Vec::new();
    let mut at = first;
    for session in 0..SESSIONS {
        let pattern = usize::try_from(session).unwrap_or_default() % SESSION_MINUTES.len();
        let more = if session == SESSIONS - 1 {
            LAST_SESSION_MORE
        } else {
            0
        };
        let third = i64::from((session * THIRD_GRINDS) % SESSIONS < THIRD_GRINDS);
        entries.push(NewUsage {
            id: Some(format!("demo-session-{session}")),
            torch: Some(TORCH.to_owned()),
            arc_minutes: Some(SESSION_MINUTES[pattern] + more),
            grinds: Some(2 + third),
            at: Some(at.fixed_offset()),
            by: Some("owner".to_owned()),
            ..NewUsage::default()
        });
        for stocked in parts {
            for number in events_in(session, stocked.used) {
                entries.push(NewUsage {
                    id: Some(format!("demo-{}-{number}", stocked.part.code)),
                    torch: Some(TORCH.to_owned()),
                    what: Some(stocked.what.to_owned()),
                    part: Some(stocked.part.code.clone()),
                    at: Some((at + TimeDelta::minutes(30)).fixed_offset()),
                    by: Some("owner".to_owned()),
                    ..NewUsage::default()
                });
            }
        }
        at += gap;
    }
    entries
}

/// Which of `used` events, spread evenly over all sessions, fall into one session.
fn events_in(session: i64, used: i64) -> impl Iterator<Item = i64> {
    (0..used).filter(move |number| (2 * number + 1) * SESSIONS / (2 * used) == session)
}
