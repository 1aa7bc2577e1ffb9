//! Parts fitted on a torch, or tried on it. Whether they go together is decided at their seats, by the
//! domain; here it is told with what is in stock, and done.

use chrono::{DateTime, Utc};
use domain::fit::ways::{Way, ways};
use domain::fit::{self, Fit, State};
use domain::part::{BodyFamily, PartKind, PartSpec};
use domain::safety::{About, Moment, cautions_at};
use domain::seat::Joint;
use sea_orm::ConnectionTrait;
use types::{FitCheck, FitFault, NewFit, Violation};

use super::kit_layout::{Fitting, Stubs};
use super::procedures::InForce;
use super::{Context, Error, codes, site_rules, torches};
use crate::store;
use crate::store::entity::{sites, torches as torch_rows};

pub mod borrowings;
mod faults;
mod shelf;
mod words;

/// A set-up with a part that the site does not permit.
const NOT_PERMITTED: &str = "not permitted";

pub(super) use faults::fault;
pub(super) use shelf::{Shelf, Shelved};
pub(super) use words::{assumed_seats, state};

/// Says whether parts fit on a torch, in the place of what sits there now, and changes nothing.
pub async fn check(context: &Context, torch: &str, new: NewFit) -> Result<FitCheck, Error> {
    new.check()?;
    let db = context.store.read();
    let now = context.clock.now();
    let trial = Trial::load(db, torch, (&new, now)).await?;
    trial.answer(now, false)
}

/// Fits parts on a torch. What does not go together, or is not permitted there, is refused.
pub async fn create(context: &Context, torch: &str, new: NewFit) -> Result<FitCheck, Error> {
    new.check()?;
    let (now, torch) = (context.clock.now(), torch.to_owned());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let trial = Trial::load(tx, &torch, (&new, now)).await?;
            trial.refuse()?;
            let at = now.timestamp_micros();
            let ids = trial
                .set_up
                .iter()
                .map(|part| trial.shelf.parts[*part].row.id);
            let ids: Vec<i64> = ids.collect();
            let renewed = trial.renewed();
            store::torches::insert_set_up(tx, trial.torch.id, at, (&ids, &renewed)).await?;
            torches::touch(tx, &trial.torch).await?;
            let lent = borrowings::follow(tx, &trial, at).await?;
            let mut told = trial.answer(now, true)?;
            told.says.extend(lent);
            Ok(told)
        })
    });
    write.await
}

/// A list of parts must go together on a torch, though it may want some: what a set-up is held against.
///
/// # Errors
/// [`Error::Invalid`] for each part that does not fit.
pub async fn check_set_up(
    db: &impl ConnectionTrait,
    torch: &torch_rows::Model,
    parts: &[i64],
) -> Result<(), Error> {
    let site = torches::site(db, torch).await?;
    let shelf = Shelf::load(db, &site).await?;
    let set_up: Vec<usize> = parts.iter().filter_map(|part| shelf.index(*part)).collect();
    let told = Trial {
        from: None,
        done_by: None,
        tried: set_up.clone(),
        torch: torch.clone(),
        family: torches::family(torch)?,
        stubs: Stubs::load(db, &site, &shelf).await?,
        site,
        shelf,
        displaced: Vec::new(),
        set_up,
    };
    told.refuse()
}

/// What a torch as it is fitted now wants to be whole, by what sits there; nothing of a torch in which
/// nothing was ever fitted.
pub(super) async fn wanting(
    db: &impl ConnectionTrait,
    torch: &torch_rows::Model,
) -> Result<Vec<&'static str>, Error> {
    let fitted = torches::fitted_at(db, &[torch.id], None)
        .await?
        .remove(&torch.id);
    let site = torches::site(db, torch).await?;
    let shelf = Shelf::load(db, &site).await?;
    let pieces = shelf.pieces();
    let fitted = fitted.unwrap_or_default();
    let fitted = fitted
        .iter()
        .filter_map(|part| shelf.index(*part))
        .map(|index| pieces[index]);
    let fitted: Vec<fit::Piece<'_>> = fitted.collect();
    if fitted.is_empty() {
        return Ok(Vec::new());
    }
    let fit = fit::check(shelf.head(torches::family(torch)?)?, &fitted);
    let missing = fit.faults.iter().filter_map(|fault| {
        if let fit::Fault::Vacant { offered, .. } = fault {
            Some(offered.seat.joint().noun())
        } else {
            None
        }
    });
    Ok(missing.collect())
}

/// The codes of parts, of which some may be told by their kind: one like that which is fitted. A part
/// whose code is the word for a kind is told by its code.
async fn by_kind(
    db: &impl ConnectionTrait,
    torch: &torch_rows::Model,
    told: &[String],
) -> Result<Vec<String>, Error> {
    let fitted = torches::fitted_at(db, &[torch.id], None)
        .await?
        .remove(&torch.id);
    let fitted = store::parts::get_many(db, fitted.unwrap_or_default()).await?;
    let mut codes = Vec::with_capacity(told.len());
    for (index, told) in told.iter().enumerate() {
        let kind = PartKind::parse(told).ok();
        let is_code = kind.is_none() || store::parts::find(db, told).await?.is_some();
        let Some(kind) = kind.filter(|_| !is_code) else {
            codes.push(told.clone());
            continue;
        };
        let part = fitted.iter().find(|part| part.kind == kind.as_str());
        let part = part.ok_or_else(|| {
            let (noun, torch) = (kind.noun(), &torch.code);
            let why = format!("{torch} has no {noun} fitted; give the code of a part");
            Error::invalid(format!("/parts/{index}"), why)
        })?;
        codes.push(part.code.clone());
    }
    Ok(codes)
}

/// The job that parts are fitted for, and what it is done by, if that procedure is entered here.
async fn done_by(
    db: &impl ConnectionTrait,
    job: Option<&str>,
    now: DateTime<Utc>,
) -> Result<Option<(String, InForce)>, Error> {
    let Some(job) = job else { return Ok(None) };
    let job = codes::named_job(db, "/job", job).await?;
    let in_force = InForce::of_job(db, &job, now.timestamp_micros()).await?;
    Ok(in_force.map(|in_force| (job.code, in_force)))
}

/// Parts tried on a torch.
struct Trial {
    torch: torch_rows::Model,
    site: sites::Model,
    from: Option<torch_rows::Model>,
    /// The code of the job, and what it is done by.
    done_by: Option<(String, InForce)>,
    family: BodyFamily,
    shelf: Shelf,
    stubs: Stubs,
    /// What is tried, as indices of the shelf, in the order told.
    tried: Vec<usize>,
    /// What comes off for it.
    displaced: Vec<usize>,
    /// The whole set-up with it, rear to tip.
    set_up: Vec<usize>,
}

impl Trial {
    /// The parts that are tried, each in the place of another of its kind or of one like it.
    fn renewed(&self) -> Vec<i64> {
        let rows = self.tried.iter().map(|part| self.shelf.parts[*part].row.id);
        rows.collect()
    }

    async fn load(
        db: &impl ConnectionTrait,
        torch: &str,
        (new, now): (&NewFit, DateTime<Utc>),
    ) -> Result<Self, Error> {
        let torch = codes::torch(db, torch).await?;
        let site = torches::site(db, &torch).await?;
        let from = match &new.from {
            Some(from) => Some(codes::named_torch(db, "/from", from).await?),
            None => None,
        };
        let told = by_kind(db, from.as_ref().unwrap_or(&torch), &new.parts).await?;
        let told: Vec<&str> = told.iter().map(String::as_str).collect();
        let rows = codes::named_parts(db, &told, |index| format!("/parts/{index}")).await?;
        if let Some(from) = &from {
            borrowings::check_lender(db, (&torch, from), &rows).await?;
        }
        let mut shelf = Shelf::load(db, &site).await?;
        let done_by = done_by(db, new.job.as_deref(), now).await?;
        if let Some((_, in_force)) = &done_by {
            shelf.hold_to(in_force)?;
        }
        let tried: Vec<usize> = rows.iter().filter_map(|row| shelf.index(row.id)).collect();
        let fitted = torches::fitted_at(db, &[torch.id], None)
            .await?
            .remove(&torch.id);
        let fitted = fitted.unwrap_or_default();
        let fitted: Vec<usize> = fitted
            .iter()
            .filter_map(|part| shelf.index(*part))
            .collect();
        let joints: Vec<Option<Joint>> = tried
            .iter()
            .map(|part| shelf.parts[*part].joint())
            .collect();
        let stays = |part: &usize| !joints.contains(&shelf.parts[*part].joint());
        let kept = fitted.iter().copied().filter(stays);
        let mut set_up: Vec<usize> = kept.chain(tried.iter().copied()).collect();
        let comes_off = |part: &usize| !set_up.contains(part);
        let displaced = fitted.iter().copied().filter(comes_off).collect();
        set_up.sort_by_key(|part| torches::position(&shelf.parts[*part].row));
        Ok(Self {
            family: torches::family(&torch)?,
            stubs: Stubs::load(db, &site, &shelf).await?,
            torch,
            site,
            from,
            done_by,
            shelf,
            tried,
            displaced,
            set_up,
        })
    }

    fn fit(&self) -> Result<Fit, Error> {
        let pieces = self.shelf.pieces();
        let whole: Vec<fit::Piece<'_>> = self.set_up.iter().map(|part| pieces[*part]).collect();
        Ok(fit::check(self.shelf.head(self.family)?, &whole))
    }

    /// The ways out, with what the site permits.
    fn ways(&self) -> Result<Vec<Way>, Error> {
        let mut pieces = self.shelf.pieces();
        for (piece, shelved) in pieces.iter_mut().zip(&self.shelf.parts) {
            if shelved.held_because.is_some() {
                // What is barred is never offered.
                piece.seats = None;
            }
        }
        let permitted = |part: &usize| self.shelf.parts[*part].held_because.is_none();
        let fitted: Vec<usize> = self.set_up.iter().copied().filter(permitted).collect();
        Ok(ways(self.shelf.head(self.family)?, &pieces, &fitted))
    }

    /// What does not go together, or is not permitted, is not fitted.
    fn refuse(&self) -> Result<(), Error> {
        let way_out = "use a permitted class, or do the work at a site that permits it";
        for (index, part) in self.tried.iter().enumerate() {
            let row = &self.shelf.parts[*part].row;
            let pointer = format!("/parts/{index}");
            site_rules::check_plan((&self.site, row), &*pointer, way_out)?;
            if let Some((job, in_force)) = &self.done_by {
                in_force.check_plan((job, row), pointer, "fit a permitted part")?;
            }
        }
        let fit = self.fit()?;
        // What is borrowed must find its seat: the lender goes without it.
        let is_lent = |fault: &fit::Fault| {
            if let fit::Fault::Loose { part, .. } | fit::Fault::Unknown { part } = fault {
                self.from.is_some() && self.tried.contains(&self.set_up[*part])
            } else {
                false
            }
        };
        let misfits = fit
            .faults
            .iter()
            .filter(|fault| fault.is_misfit() || is_lent(fault));
        let told: Vec<Violation> = misfits.map(|fault| self.violation(fault)).collect();
        if told.is_empty() {
            Ok(())
        } else {
            Err(Error::Invalid(told))
        }
    }

    /// A fault in words. To a rod that is too long for the cap, the stubs are told that are not.
    fn told(&self, fault: &fit::Fault) -> FitFault {
        let mut told = faults::fault(&self.shelf, &self.set_up, (&self.torch.code, fault));
        told.says += &self.stubs(fault).map_or_else(String::new, faults::stubs);
        told
    }

    /// The stubs that go under the cap for which a rod is too long.
    fn stubs(&self, fault: &fit::Fault) -> Option<Fitting> {
        let fit::Fault::RodTooLong {
            electrode, longest, ..
        } = fault
        else {
            return None;
        };
        let PartSpec::Electrode {
            class, diameter, ..
        } = &self.shelf.parts[self.set_up[*electrode]].spec
        else {
            return None;
        };
        let shortest = self.stubs.shortest(self.family);
        Some(self.stubs.fitting(*class, *diameter, (shortest, *longest)))
    }

    fn violation(&self, fault: &fit::Fault) -> Violation {
        let meant = faults::parts(fault)
            .into_iter()
            .map(|index| self.set_up[index]);
        let meant: Vec<usize> = meant.collect();
        let tried = self.tried.iter().position(|part| meant.contains(part));
        let pointer = tried.map_or("/parts".to_owned(), |index| format!("/parts/{index}"));
        let says = self.told(fault).says;
        let remedy = "try it first, and see the ways out";
        Violation::new(pointer, format!("{says} Next: {remedy}."))
    }

    fn answer(&self, now: DateTime<Utc>, fitted: bool) -> Result<FitCheck, Error> {
        let fit = self.fit()?;
        let state = fit.state();
        let barred = self
            .set_up
            .iter()
            .any(|part| self.shelf.parts[*part].held_because.is_some());
        let ways = match state {
            State::Complete if !barred => Vec::new(),
            State::Complete | State::Incomplete | State::DoesNotFit | State::CannotTell => {
                self.ways()?
            }
        };
        let state_words = words::state(state);
        let mut moments = vec![Moment::SetUpChange];
        moments.extend((state == State::DoesNotFit).then_some(Moment::Mismatch));
        let specs = self.set_up.iter();
        let about = About::parts(specs.map(|part| &self.shelf.parts[*part].spec));
        let told = words::Told {
            shelf: &self.shelf,
            set_up: &self.set_up,
            tried: &self.tried,
            torch: &self.torch.code,
            site: &self.site,
            has_stubs: fit
                .faults
                .iter()
                .filter_map(|fault| self.stubs(fault))
                .any(|stubs| stubs.fit > 0),
        };
        let faults: Vec<_> = fit.faults.iter().map(|fault| self.told(fault)).collect();
        let ways: Vec<_> = ways.iter().map(|way| told.way(way)).collect();
        Ok(FitCheck {
            torch: self.torch.code.clone(),
            site: self.site.code.clone(),
            state: if barred { NOT_PERMITTED } else { state_words }.to_owned(),
            fitted,
            parts: self.codes(&self.set_up),
            says: self.with_the_drawers(told.says((&fit, fitted), &faults, &ways), &told, fitted),
            faults,
            ways,
            assumes: assumed_seats(self.shelf.is_unchecked(self.family, &self.set_up)),
            cautions: cautions_at(&moments, &about),
            as_of: now,
        })
    }

    /// What is said of a fit, with what came off for it, and what is not in the drawers.
    fn with_the_drawers(
        &self,
        mut says: Vec<String>,
        told: &words::Told<'_>,
        fitted: bool,
    ) -> Vec<String> {
        if fitted && !self.displaced.is_empty() {
            says.push(format!(
                "Came off: {}.",
                self.codes(&self.displaced).join(", ")
            ));
        }
        if self.from.is_none() {
            says.extend(told.not_in_stock(&self.tried));
        }
        says
    }

    fn codes(&self, parts: &[usize]) -> Vec<String> {
        let code = |part: &usize| self.shelf.parts[*part].row.code.clone();
        parts.iter().map(code).collect()
    }
}
