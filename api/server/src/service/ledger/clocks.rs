//! Clocks of arc time: the arc timer of a power source, and the gas cylinder. What one tells counts from
//! its last reading on the same torch, and less what was logged meanwhile, so that no arc time counts
//! twice. What an entry of use does besides is in `plan`.

use domain::exposure::{ArcSource, ArcTime};
use domain::gas::{GasFlow, Starts, arc_of_swap};
use sea_orm::ConnectionTrait;
use types::{NewCylinderSwap, NewUsage};

use super::placed::Placed;
use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::entries;

/// Whether an entry reads a clock, for which the database has to be asked.
pub(super) fn is_read(usage: &NewUsage) -> bool {
    usage.arc_timer_minutes.is_some() || usage.cylinder.is_some()
}

/// What an entry of use logs once its clock is read, and what is to be said of that.
#[derive(Debug)]
pub(super) struct Read {
    /// The entry, with the arc time that is not logged yet.
    pub(super) usage: NewUsage,
    /// The sentence of the clock; empty without one.
    pub(super) says: String,
}

/// Reads the clock of an entry, if it has one.
pub(super) async fn read(
    db: &impl ConnectionTrait,
    usage: &NewUsage,
    placed: &Placed<'_>,
) -> Result<Read, Error> {
    let nothing = || Read {
        usage: usage.clone(),
        says: String::new(),
    };
    let Some(torch) = placed.torch.map(|torch| torch.row.id) else {
        return Ok(nothing());
    };
    if let Some(minutes) = usage.arc_timer_minutes {
        return timer(db, (usage, minutes), torch, placed).await;
    }
    match &usage.cylinder {
        Some(swap) => cylinder(db, (usage, swap), torch, placed).await,
        None => Ok(nothing()),
    }
}

async fn timer(
    db: &impl ConnectionTrait,
    (usage, minutes): (&NewUsage, i64),
    torch: i64,
    placed: &Placed<'_>,
) -> Result<Read, Error> {
    let stands = span(minutes);
    let Some(last) = store::entries::last_timer(db, torch).await? else {
        let says = format!("Arc timer at {stands}; arc time counts from here. ");
        return Ok(told(usage, (0, ArcSource::Counter), says));
    };
    check_newest("/arc_timer_minutes", &last, placed)?;
    if usage.arc_timer_restarted {
        let says = format!("Arc timer anew at {stands}; arc time counts from here. ");
        return Ok(told(usage, (0, ArcSource::Counter), says));
    }
    let before = last.arc_timer_minutes.unwrap_or_default();
    if minutes < before {
        let why = format!(
            "{stands} is less than the {} of {}; if the timer was reset or changed, say so with \
             arc_timer_restarted",
            span(before),
            day(&last, placed),
        );
        return Err(Error::invalid("/arc_timer_minutes", why));
    }
    let since = minutes - before;
    let logged = logged(db, torch, last.happened_at, placed).await?;
    let says = format!(
        "Arc timer at {stands}, {} since {}. {}",
        span(since),
        day(&last, placed),
        less(since, logged),
    );
    Ok(told(usage, (since - logged, ArcSource::Counter), says))
}

async fn cylinder(
    db: &impl ConnectionTrait,
    (usage, swap): (&NewUsage, &NewCylinderSwap),
    torch: i64,
    placed: &Placed<'_>,
) -> Result<Read, Error> {
    let last = store::entries::last_swap(db, torch).await?;
    if let Some(last) = &last {
        check_newest("/cylinder", last, placed)?;
    }
    let told_starts = match (swap.starts, &last) {
        (Some(starts), _) => starts,
        (None, Some(last)) => {
            let span = (last.happened_at, placed.micros());
            store::entries::worked(db, torch, span).await?.starts
        }
        (None, None) => 0,
    };
    let (flow, starts) = flow_and_starts(swap, told_starts)?;
    let used = (swap.litres - swap.purge_litres.unwrap_or(0)) * 1_000;
    let invalid = |error: domain::gas::GasError| Error::invalid("/cylinder", error.to_string());
    let arc = arc_of_swap(used, flow, starts).map_err(invalid)?.seconds() / 60;
    // Since when the first cylinder was in use nobody knows, so all that was logged may be of it.
    let since = last.as_ref().map_or(i64::MIN, |last| last.happened_at);
    let logged = logged(db, torch, since, placed).await?;
    let counted = match told_starts {
        0 => String::new(),
        1 => " less 1 start".to_owned(),
        many => format!(" less {many} starts"),
    };
    let says = format!(
        "{} L at {flow}{counted} is about {} of arc time. {}Leaks would make it less. ",
        used / 1_000,
        span(arc),
        less(arc, logged),
    );
    let mut read = told(usage, (arc - logged, ArcSource::Cylinder), says);
    let note = format!("cylinder: {} L at {flow}{counted}", used / 1_000);
    read.usage.note.get_or_insert(note);
    Ok(read)
}

fn flow_and_starts(swap: &NewCylinderSwap, starts: i64) -> Result<(GasFlow, Starts), Error> {
    let flow = GasFlow::parse(&swap.flow)
        .map_err(|error| Error::invalid("/cylinder/flow", error.to_string()))?;
    let milliseconds = |seconds: Option<f64>| {
        let whole = (seconds.unwrap_or(0.0) * 1_000.0).round();
        #[expect(
            clippy::cast_possible_truncation,
            reason = "checked to be from 0 to 600 seconds"
        )]
        let whole = whole as i64;
        whole
    };
    let (pre, post) = (swap.pre_flow_seconds, swap.post_flow_seconds);
    let starts = Starts::new(starts, milliseconds(pre), milliseconds(post))
        .map_err(|error| Error::invalid("/cylinder/starts", error.to_string()))?;
    Ok((flow, starts))
}

/// A clock is read forward: an older reading would have to share out what is counted already.
fn check_newest(pointer: &str, last: &entries::Model, placed: &Placed<'_>) -> Result<(), Error> {
    if placed.micros() > last.happened_at {
        return Ok(());
    }
    let why = format!(
        "is not later than the reading of {}, which counts already; log the arc time itself",
        day(last, placed)
    );
    Err(Error::invalid(pointer, why))
}

/// Whole minutes of arc time logged on a torch since an instant.
async fn logged(
    db: &impl ConnectionTrait,
    torch: i64,
    since: i64,
    placed: &Placed<'_>,
) -> Result<i64, Error> {
    let span = (since, placed.micros());
    let worked = store::entries::worked(db, torch, span).await?;
    Ok(worked.arc_seconds.max(0) / 60)
}

/// An entry with the rest of a clock, which is nothing where more was logged than it tells.
fn told(usage: &NewUsage, (rest, source): (i64, ArcSource), says: String) -> Read {
    let usage = NewUsage {
        arc_minutes: Some(rest.max(0)),
        arc_from: Some(source.as_str().to_owned()),
        ..usage.clone()
    };
    Read { usage, says }
}

fn less(clock: i64, logged: i64) -> String {
    if logged == 0 {
        return String::new();
    }
    let told = span(logged);
    if logged > clock {
        let over = span(logged - clock);
        return format!("{told} was logged meanwhile, {over} more than that: nothing is added. ");
    }
    format!("{told} of it was logged already. ")
}

fn span(minutes: i64) -> String {
    let time = ArcTime::from_seconds(minutes * 60);
    time.map_or_else(|_| format!("{minutes} min"), |time| time.to_string())
}

fn day(last: &entries::Model, placed: &Placed<'_>) -> String {
    let zone = instant::site_zone(&placed.site.zone);
    let at = instant::from_micros(last.happened_at).with_timezone(&zone);
    at.format("%-d %b %Y").to_string()
}
