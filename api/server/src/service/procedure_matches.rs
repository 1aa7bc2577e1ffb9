//! What of the stock of a site is what a procedure asks for: candidate by candidate, and how many are
//! usable in all. Nothing here, and no setting, makes anything match that the revision does not permit.

use domain::part::PartKind;
use domain::procedure::{State, whole};
use domain::safety::{About, Moment, cautions_at};
use sea_orm::ConnectionTrait;
use types::{EquivalenceToSign, GetMatch, ProcedureMatch};

use super::equivalences::Names;
use super::procedures::{InForce, find_revision};
use super::{Context, Error, codes, instant, site_rules};
use crate::store;
use crate::store::entity::{parts as part_rows, procedure_revisions, procedures, sites};

mod candidates;
mod words;

use candidates::Held;

/// A revision, and where and for which part its match is asked.
struct Asked {
    procedure: procedures::Model,
    revision: procedure_revisions::Model,
    in_force: InForce,
    site: sites::Model,
    part: Option<part_rows::Model>,
}

/// Holds the stock of a site against a procedure.
pub async fn get(context: &Context, code: &str, query: &GetMatch) -> Result<ProcedureMatch, Error> {
    query.check().map_err(Error::in_query)?;
    let db = context.store.read();
    let now = instant::asked(query.now.as_deref(), context.clock.now())?;
    let asked = asked(db, code, query, now.timestamp_micros()).await?;
    let held = candidates::load(db, &asked).await?;
    let usable = count(&held, State::Matches);
    let pending = count(&held, State::NeedsSignOff);
    let need = query.need.unwrap_or(1);
    let short = (need - usable).max(0);
    let to_sign = to_sign(db, &asked, &held).await?;
    let to_order = if short > 0 {
        to_order(db, &asked).await?
    } else {
        Vec::new()
    };
    let below = held
        .iter()
        .filter(|held| held.is_matching() && held.row.quantity < 0);
    let cannot_tell = below.filter_map(|held| held.row.part.clone()).collect();
    let tip = asked.in_force.requirement.tip_angle;
    let mut answer = ProcedureMatch {
        procedure: asked.in_force.code.clone(),
        revision: asked.in_force.revision,
        newest_revision: asked.in_force.newest,
        site: asked.site.code.clone(),
        state: whole(usable, pending, need).as_str().to_owned(),
        need: query.need,
        usable,
        left: query
            .need
            .filter(|need| usable >= *need)
            .map(|need| usable - need),
        short,
        pending,
        tip_angle: tip.map(|angle| i64::from(angle.degrees())),
        rows: Vec::new(),
        to_sign,
        to_order,
        cannot_tell,
        says: Vec::new(),
        cautions: cautions(&held),
        as_of: now,
    };
    answer.says = words::says(&answer, &asked.in_force, &held);
    answer.rows = held.into_iter().map(|held| held.row).collect();
    Ok(answer)
}

async fn asked(
    db: &impl ConnectionTrait,
    code: &str,
    query: &GetMatch,
    at: i64,
) -> Result<Asked, Error> {
    let (procedure, revision) = match query.revision {
        Some(number) => find_revision(db, code, &number.to_string()).await?,
        None => newest(db, code, at).await?,
    };
    let mut in_force = InForce::load(db, vec![revision.clone()], at).await?;
    let lost = || Error::Internal("a revision was lost while it was read".to_owned());
    Ok(Asked {
        in_force: in_force.remove(&revision.id).ok_or_else(lost)?,
        procedure,
        revision,
        site: codes::site_or_first(db, "?site", query.site.as_deref()).await?,
        part: match query.part.as_deref() {
            Some(code) => Some(codes::named_part(db, "?part", code).await?),
            None => None,
        },
    })
}

/// The newest revision by an instant; a look back to before the first one has the first.
async fn newest(
    db: &impl ConnectionTrait,
    code: &str,
    at: i64,
) -> Result<(procedures::Model, procedure_revisions::Model), Error> {
    let procedure = codes::procedure(db, code).await?;
    let rows = store::procedure_revisions::of_procedures(db, [procedure.id]).await?;
    let by_then = rows.iter().rfind(|row| row.made_at <= at);
    match by_then.or(rows.first()).cloned() {
        Some(newest) => Ok((procedure, newest)),
        None => Err(Error::Internal(format!("procedure {code} has no revision"))),
    }
}

/// How many pieces of that state count: electrodes as delivered, or those of the part that was asked
/// for.
fn count(held: &[Held], state: State) -> i64 {
    let of = held
        .iter()
        .filter(|held| held.counts && held.state == state);
    of.map(|held| held.free).sum()
}

/// The statements that nobody signed, each with the pieces that wait for it.
async fn to_sign(
    db: &impl ConnectionTrait,
    asked: &Asked,
    held: &[Held],
) -> Result<Vec<EquivalenceToSign>, Error> {
    let names = Names::load(db, asked.procedure.id, asked.revision.id).await?;
    let mut to_sign: Vec<EquivalenceToSign> = Vec::new();
    for held in held {
        let Some((marking, thing)) = &held.to_sign else {
            continue;
        };
        let pieces = if held.counts { held.free } else { 0 };
        let class = thing.class.symbol();
        let same = to_sign.iter_mut().find(|row| {
            row.class == class
                && row.diameter == thing.diameter.to_string()
                && row.grade == thing.grade
                && row.marking == *marking
        });
        if let Some(row) = same {
            row.pieces += pieces;
            continue;
        }
        let mut equivalence = names.free(marking, thing);
        let taken = |name: &str| to_sign.iter().any(|row| row.equivalence == name);
        let mut passed = 0;
        while taken(&equivalence) {
            passed += 1;
            equivalence = names.fresh(passed);
        }
        to_sign.push(EquivalenceToSign {
            equivalence,
            marking: marking.clone(),
            class: class.to_owned(),
            diameter: thing.diameter.to_string(),
            grade: thing.grade.clone(),
            pieces,
        });
    }
    Ok(to_sign)
}

/// The matching parts that somebody offers and that the site permits.
async fn to_order(db: &impl ConnectionTrait, asked: &Asked) -> Result<Vec<String>, Error> {
    let parts = match &asked.part {
        Some(part) => vec![part.clone()],
        None => store::parts::of_kinds(db, [PartKind::Electrode.as_str()]).await?,
    };
    let offers = store::offers::of_parts(db, parts.iter().map(|part| part.id)).await?;
    let mut to_order = Vec::new();
    for part in parts {
        let is_offered = offers.iter().any(|offer| offer.part_id == part.id);
        let permitted = site_rules::of_part(&asked.site, &part).is_permitted();
        if is_offered && permitted && asked.in_force.verdict(&part)?.state == State::Matches {
            to_order.push(part.code);
        }
    }
    Ok(to_order)
}

/// The cautions of the electrodes among the candidates; one of another size is not to be forced.
fn cautions(held: &[Held]) -> Vec<String> {
    let mut moments = vec![Moment::ProcedureMatch];
    let other_size = held
        .iter()
        .any(|held| held.class.is_some() && held.is_other_size);
    moments.extend(other_size.then_some(Moment::Mismatch));
    let classes = held.iter().filter_map(|held| held.class);
    cautions_at(&moments, &About::classes(classes))
}
