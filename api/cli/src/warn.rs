//! `warn`: what is watched and what is low. `check`: the same as an exit code, for scripts and timers.

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};
use clap::Args;
use client::every;
use types::{
    ListWarnings, ListWatches, NewLook, NewQuiet, NewWatch, ProblemKind, Warning, WarningPage,
    Watch,
};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const WARN_EXAMPLES: &str = "\
Without a name: what is low or not permitted, and what to do next. With one: sets a watch on it. What can
stop work is watched without that; a watch that is set takes its place.

Examples:
  tigstock warn
  tigstock warn WLa20-1.6 --to mail,calendar
  tigstock warn WLa20-1.6 --limit 4                 or: --limit 'chance 10%', --limit 'cover 14d'
  tigstock warn 'electrode 1.6 WLa20,WCe20'         stock and use taken together
  tigstock warn --kit K-24L --limit 1
  tigstock warn T2 --to mail                        whether the torch uses electrodes faster than the others
  tigstock warn WLa20-1.6 --quiet-until monday      or: 2026-07-01, on-hand=2
  tigstock warn WLa20-1.6 --off 'torch sold'";

/// How long a silence until less is on hand lasts at the most, in days.
const QUIET_DAYS: i64 = 30;

/// Show what is low, watch a part or parts, silence a warning
#[derive(Debug, Args)]
#[command(after_help = WARN_EXAMPLES)]
pub(crate) struct Warn {
    /// A part, a torch, or a kind with sizes and classes in quotes
    #[arg(value_name = "PART", conflicts_with_all = ["kit", "job", "course"])]
    name: Option<String>,
    /// A kit
    #[arg(long, value_name = "KIT", conflicts_with_all = ["job", "course"])]
    kit: Option<String>,
    /// A job
    #[arg(long, value_name = "JOB", conflicts_with = "course")]
    job: Option<String>,
    /// A course
    #[arg(long, value_name = "COURSE")]
    course: Option<String>,
    /// Where to tell it beside the page: mail, webhook, calendar
    #[arg(long, value_name = "CHANNELS", value_delimiter = ',')]
    to: Vec<String>,
    /// From what on it is low: a number, chance 10%, cover 14d, or order point
    #[arg(long, value_name = "LIMIT", allow_hyphen_values = true)]
    limit: Option<String>,
    /// Minutes of arc time in a normal week, where they are stated and not learned
    #[arg(long, value_name = "MINUTES")]
    week_minutes: Option<i64>,
    /// Silence the warning about it: tomorrow, monday, a day, or on-hand=2
    #[arg(long, value_name = "END", conflicts_with_all = ["to", "limit", "week_minutes", "off"])]
    quiet_until: Option<String>,
    /// Hear nothing of it any more, and why
    #[arg(long, value_name = "WHY")]
    off: Option<String>,
    /// Those that are over as well
    #[arg(long)]
    all: bool,
}

impl Warn {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let named = [&self.name, &self.kit, &self.job, &self.course];
        if named.iter().all(|name| name.is_none()) {
            return self.list(shop).await;
        }
        match self.quiet_until.clone() {
            Some(end) => self.quiet(&end, shop).await,
            None => self.watch(shop).await,
        }
    }

    async fn list(&self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let state = if self.all { "all" } else { "open" };
        let warnings = warnings(shop, state, None).await?;
        tell(shop, warnings);
        for line in untold(shop, None).await? {
            shop.output.say(&line);
        }
        Ok(exit::DONE)
    }

    /// What is watched, as the API names it.
    async fn subject(&self, shop: &Shop<'_, '_>) -> Result<NewWatch, Failure> {
        let (mut part, filter) = match &self.name {
            Some(name) if name.trim().contains(' ') => (None, Some(name.clone())),
            name => (name.clone(), None),
        };
        let mut torch = None;
        if let Some(name) = &part
            && is_torch(name, shop).await?
        {
            torch = part.take();
        }
        Ok(NewWatch {
            part,
            filter,
            torch,
            kit: self.kit.clone(),
            job: self.job.clone(),
            course: self.course.clone(),
            ..NewWatch::default()
        })
    }

    async fn watch(&self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let wanted = self.subject(shop).await?;
        let known = known(shop, &wanted).await?;
        let mut new = match &known {
            Some(watch) => watch.clone().into_new(),
            None => wanted,
        };
        new.site.clone_from(&shop.site);
        if !self.to.is_empty() {
            new.channels.clone_from(&self.to);
        }
        if self.limit.is_some() {
            new.limit.clone_from(&self.limit);
        }
        new.week_minutes = self.week_minutes.or(new.week_minutes);
        new.off = self.off.is_some();
        new.off_because.clone_from(&self.off);
        let watch = match known.and_then(|watch| Some((watch.id?, watch.version))) {
            Some((id, version)) => shop.client.replace_watch(id, &new, version).await?,
            None => shop.client.create_watch(&new).await?,
        };
        shop.output
            .show_said(&watch, &says(&watch), &watch_sheet(&watch));
        for note in &watch.notes {
            shop.output.say(note);
        }
        Ok(exit::DONE)
    }

    async fn quiet(&self, end: &str, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let name = [&self.name, &self.kit, &self.job, &self.course];
        let name = name.into_iter().flatten().next().cloned();
        let name = name.unwrap_or_default();
        let mut open = warnings(shop, "open", None).await?;
        open.retain(|it| it.subject.eq_ignore_ascii_case(name.trim()));
        let Some(warning) = open.first() else {
            return Err(Failure::CommandLine(format!(
                "there is no warning about {name} to silence; see: tigstock warn"
            )));
        };
        let quiet = quiet(end, shop.env.now)?;
        let told = shop.client.quiet_warning(warning.id, &quiet).await?;
        let until = told.quiet_until.map_or_else(String::new, |until| {
            format!(" until {}", local_time(shop.env.zone.clock(&until)))
        });
        let says = format!("{}: silent{until}.", told.subject);
        let sheet = sheet(std::slice::from_ref(&told), shop);
        shop.output.show_said(&told, &says, &sheet);
        Ok(exit::DONE)
    }
}

/// The watch on the same that was set or is there by itself.
async fn known(shop: &Shop<'_, '_>, wanted: &NewWatch) -> Result<Option<Watch>, Failure> {
    let query = ListWatches {
        site: shop.site.clone(),
        limit: Some(types::page::PAGE_MAX),
        after: None,
    };
    let watches = shop.client.list_watches(&query).await?.watches;
    let same = |a: &Option<String>, b: &Option<String>| match (a, b) {
        (Some(a), Some(b)) => a.trim().eq_ignore_ascii_case(b.trim()),
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => false,
    };
    let found = watches.into_iter().find(|it| {
        same(&it.part, &wanted.part)
            && same(&it.filter, &wanted.filter)
            && same(&it.kit, &wanted.kit)
            && same(&it.job, &wanted.job)
            && same(&it.course, &wanted.course)
            && same(&it.torch, &wanted.torch)
    });
    Ok(found)
}

/// Whether a name is that of a torch, and of no part.
async fn is_torch(name: &str, shop: &Shop<'_, '_>) -> Result<bool, Failure> {
    let is_there = |error: client::Error| match error {
        none if none.is(ProblemKind::NotFound) => Ok(false),
        other => Err(other),
    };
    let is_part = shop.client.get_part(name.trim()).await;
    if is_part.map(|_| true).or_else(is_there)? {
        return Ok(false);
    }
    let is_torch = shop.client.get_torch(name.trim()).await;
    Ok(is_torch.map(|_| true).or_else(is_there)?)
}

/// The end of a silence: a word that the service knows, a day, or a number on hand.
fn quiet(end: &str, now: DateTime<FixedOffset>) -> Result<NewQuiet, Failure> {
    let lower = end.trim().to_lowercase();
    if let Some(pieces) = lower.strip_prefix("on-hand=") {
        let pieces = pieces.parse().map_err(|_| {
            let why = format!("\"{pieces}\" is not how many; write on-hand=2");
            Failure::CommandLine(why)
        })?;
        let until = now + TimeDelta::days(QUIET_DAYS);
        return Ok(NewQuiet {
            until: until.to_rfc3339(),
            on_hand: Some(pieces),
        });
    }
    let until = match lower.parse::<NaiveDate>() {
        Ok(day) => format!("{day}T00:00:00{}", now.offset()),
        Err(_) => end.trim().to_owned(),
    };
    Ok(NewQuiet {
        until,
        on_hand: None,
    })
}

fn says(watch: &Watch) -> String {
    let subject = &watch.subject;
    if watch.off {
        let why = watch.off_because.as_deref().unwrap_or_default();
        return format!("{subject}: not watched any more ({why}).");
    }
    let to = watch.channels.join(", ");
    if watch.torch.is_some() {
        return format!("{subject}: checked each week against the other torches; told on {to}.");
    }
    let limit = watch.limit.as_deref().unwrap_or("order point");
    format!("{subject}: watched, low at {limit}; told on {to}.")
}

fn watch_sheet(watch: &Watch) -> Sheet {
    let mut sheet = Sheet::new([
        ("subject", "On"),
        ("limit", "Low at"),
        ("channels", "Told on"),
        ("off", "Off"),
    ]);
    sheet.push([
        Cell::from(&watch.subject),
        Cell::from(watch.limit.as_deref().unwrap_or_default()),
        Cell::from(watch.channels.join(",").as_str()),
        Cell::from(if watch.off { "yes" } else { "no" }),
    ]);
    sheet
}

/// The warnings of the site that was named, or of all.
async fn warnings(
    shop: &Shop<'_, '_>,
    state: &str,
    part: Option<String>,
) -> Result<Vec<Warning>, Failure> {
    let query = ListWarnings {
        site: shop.site.clone(),
        state: Some(state.to_owned()),
        part,
        limit: Some(types::page::PAGE_MAX),
        after: None,
    };
    let client = &shop.client;
    Ok(every(query, async |query| client.list_warnings(&query).await).await?)
}

/// Of what nothing can be said for want of a record, at the site that was named or at all; of a part or of any.
async fn untold(shop: &Shop<'_, '_>, part: Option<String>) -> Result<Vec<String>, Failure> {
    let query = ListWarnings {
        site: shop.site.clone(),
        part,
        limit: Some(1),
        ..ListWarnings::default()
    };
    Ok(shop.client.list_warnings(&query).await?.cannot_tell)
}

/// Shows warnings: to people as sentences, since each says what to do next.
fn tell(shop: &mut Shop<'_, '_>, warnings: Vec<Warning>) {
    let sheet = sheet(&warnings, shop);
    let page = WarningPage {
        warnings,
        cannot_tell: Vec::new(),
        next: None,
    };
    if page.warnings.is_empty() {
        shop.output.show_said(&page, "Nothing is low.", &sheet);
        return;
    }
    shop.output.show_data(&page, &sheet);
    for warning in &page.warnings {
        let state = match warning.state.as_str() {
            "told" => String::new(),
            state => format!(" ({})", state.replace('-', " ")),
        };
        shop.output.say(&format!("{}{state}", warning.says));
    }
}

fn sheet(warnings: &[Warning], shop: &Shop<'_, '_>) -> Sheet {
    let mut sheet = Sheet::new([
        ("warning", ""),
        ("kind", "Kind"),
        ("subject", "About"),
        ("state", "State"),
        ("says", "Warning"),
        ("opened_at", "Since"),
    ]);
    for warning in warnings {
        sheet.push([
            Cell::from(warning.id.to_string().as_str()),
            Cell::from(&warning.kind),
            Cell::from(&warning.subject),
            Cell::from(&warning.state),
            Cell::from(&warning.says),
            Cell::Shown {
                value: warning.opened_at.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(&warning.opened_at)),
            },
        ]);
    }
    sheet
}

const CHECK_EXAMPLES: &str = "\
Exit codes: 0 all enough; 1 something to order; 2 a job is blocked; 3 could not tell, such as of a part
that is not watched, or of which no use is on record for long though its torch ran.

Examples:
  tigstock check
  tigstock check WLa20-1.6 collet-2.4
  tigstock check --now || mail -s 'order something' owner < /dev/null";

/// Say by the exit code whether anything is low
#[derive(Debug, Args)]
#[command(after_help = CHECK_EXAMPLES)]
pub(crate) struct Check {
    /// Only these parts
    #[arg(value_name = "PART")]
    parts: Vec<String>,
    /// Look first, instead of going by the last look
    #[arg(long)]
    now: bool,
}

impl Check {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let look = if self.now {
            let look = NewLook {
                site: shop.site.clone(),
            };
            Some(shop.client.look_at_stock(&look).await?)
        } else {
            None
        };
        let mut cannot_tell = match look {
            // What a look could not tell includes what no use is on record of.
            Some(look) if self.parts.is_empty() => look.cannot_tell,
            None if self.parts.is_empty() => untold(shop, None).await?,
            _ => Vec::new(),
        };
        let warnings = if self.parts.is_empty() {
            warnings(shop, "open", None).await?
        } else {
            let mut all = Vec::new();
            for part in &self.parts {
                let of_part = warnings(shop, "open", Some(part.clone())).await?;
                let wanted = NewWatch {
                    part: Some(part.clone()),
                    ..NewWatch::default()
                };
                if of_part.is_empty() && known(shop, &wanted).await?.is_none_or(|it| it.off) {
                    cannot_tell.push(format!(
                        "Cannot say for {part}: it is not watched. Next: tigstock warn {part}."
                    ));
                }
                cannot_tell.extend(untold(shop, Some(part.clone())).await?);
                all.extend(of_part);
            }
            all
        };
        let code = code(&warnings, &cannot_tell);
        tell(shop, warnings);
        for line in &cannot_tell {
            shop.output.say(line);
        }
        Ok(code)
    }
}

/// What that means for whoever goes by the exit code.
fn code(warnings: &[Warning], cannot_tell: &[String]) -> u8 {
    let is_blocked = |it: &&Warning| it.kind == "kit" && it.job.is_some();
    if warnings.iter().any(|it| is_blocked(&it)) {
        exit::BLOCKED
    } else if !warnings.is_empty() {
        exit::TO_ORDER
    } else if !cannot_tell.is_empty() {
        exit::UNKNOWN
    } else {
        exit::DONE
    }
}
