//! Parts, and their specification as the domain sees it.

use std::collections::HashMap;

use domain::class::ElectrodeClass;
use domain::exposure::Driver;
use domain::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, PartSpec};
use domain::size::{CupNumber, Diameter, RodLength};
use domain::wear::Gamma;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{NewPart, Page, Part, PartPage, StartingAssumption};

use super::{Context, Error, codes, instant};
use crate::store;
use crate::store::entity::{parts, starting_assumptions};

mod pushed;

/// A page of parts.
pub async fn list(context: &Context, page: &Page) -> Result<PartPage, Error> {
    let db = context.store.read();
    let rows = store::parts::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(PartPage {
        parts: views(db, rows).await?,
        next,
    })
}

/// One part.
pub async fn get(context: &Context, code: &str) -> Result<Part, Error> {
    let db = context.store.read();
    view(db, codes::part(db, code).await?).await
}

/// Sets up a part.
pub async fn create(context: &Context, new: NewPart) -> Result<Part, Error> {
    let now = context.clock.now().timestamp_micros();
    let row = parts::ActiveModel {
        created_at: Set(now),
        ..checked(&new)?
    };
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let taken = codes::taken("part", &new.code);
            let row = store::parts::insert(tx, row).await.map_err(taken)?;
            assume(tx, row.id, &new.starting_assumptions).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces a part.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewPart,
) -> Result<Part, Error> {
    codes::keep_code(code, &new.code)?;
    let row = parts::ActiveModel {
        code: NotSet,
        code_key: NotSet,
        ..checked(&new)?
    };
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::part(tx, &code).await?;
            codes::check_version("part", &old.code, old.version, seen)?;
            store::parts::update(tx, (old.id, old.version), row).await?;
            assume(tx, old.id, &new.starting_assumptions).await?;
            view(tx, codes::part(tx, &code).await?).await
        })
    });
    write.await
}

/// Removes a part that nothing refers to.
pub async fn delete(context: &Context, code: &str, seen: i64) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::part(tx, &code).await?;
            codes::check_version("part", &old.code, old.version, seen)?;
            let remedy = "a part with a history stays on record";
            store::parts::delete(tx, old.id)
                .await
                .map_err(codes::in_use("part", &old.code, remedy))
        })
    });
    write.await
}

async fn assume(
    db: &impl ConnectionTrait,
    part: i64,
    told: &[StartingAssumption],
) -> Result<(), Error> {
    let rows = told.iter().filter_map(|told| {
        let (driver, gamma) = told.gamma().ok()?;
        Some(starting_assumptions::ActiveModel {
            part_id: Set(part),
            driver: Set(driver.as_str().to_owned()),
            shape: Set(gamma.shape()),
            rate: Set(gamma.rate()),
        })
    });
    store::parts::replace_assumptions(db, part, rows.collect())
        .await
        .map_err(|error| {
            if matches!(error, store::Error::Conflict) {
                let why = "a driver is listed twice; give one assumption for each";
                Error::invalid("/starting_assumptions", why)
            } else {
                error.into()
            }
        })
}

fn checked(new: &NewPart) -> Result<parts::ActiveModel, Error> {
    let spec = new.spec()?;
    let told = NewPart::from_spec(&new.code, &spec);
    let electrode = matches!(spec, PartSpec::Electrode { .. });
    let um = |text: &Option<String>| {
        text.as_deref()
            .and_then(|text| Diameter::parse(text).ok())
            .map(Diameter::um)
    };
    let length_um = if let PartSpec::Electrode { length, .. } = &spec {
        length.map(RodLength::um)
    } else {
        None
    };
    Ok(parts::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        kind: Set(told.kind),
        class: Set(told.class),
        diameter_um: Set(um(&told.diameter)),
        length_um: Set(length_um),
        length: Set(told.length.filter(|_| !electrode)),
        family: Set(told.family),
        arrangement: Set(told.arrangement),
        cup_number: Set(told.cup_number),
        seat: Set(told.seat),
        composition: Set(told.composition),
        marking: Set(marking(new)),
        grade: Set(new.grade.as_deref().map(|grade| grade.trim().to_owned())),
        renew_months: Set(new.renew_months),
        renew_removals: Set(new.renew_removals),
        note: Set(new.note.clone()),
        version: Set(1),
        ..Default::default()
    })
}

/// What is printed on the part: as told; else, for an electrode that was named in inches or by
/// AWS A5.12, those words, since a procedure may be written in the other names.
fn marking(new: &NewPart) -> Option<String> {
    let (class, diameter) = (new.class.as_deref(), new.diameter.as_deref());
    let other = class.is_some_and(ElectrodeClass::is_aws_spelling)
        || (class.is_some() && diameter.is_some_and(Diameter::is_inch_marking));
    let told = || Some(format!("{} {}", diameter?.trim(), class?.trim()));
    new.marking.clone().or_else(|| other.then(told).flatten())
}

/// The specification of a part on record.
///
/// # Errors
/// [`Error::Internal`] if the row does not make one, which no check lets in.
pub fn spec(row: &parts::Model) -> Result<PartSpec, Error> {
    read_spec(row).ok_or_else(|| Error::Internal(format!("part {} cannot be read back", row.code)))
}

fn read_spec(row: &parts::Model) -> Option<PartSpec> {
    let diameter = || Diameter::from_um(row.diameter_um?);
    let family = || BodyFamily::parse(row.family.as_deref()?).ok();
    let arrangement = || Arrangement::parse(row.arrangement.as_deref()?).ok();
    let length = || row.length.as_deref();
    Some(match PartKind::parse(&row.kind).ok()? {
        PartKind::Electrode => PartSpec::Electrode {
            class: ElectrodeClass::parse(row.class.as_deref()?).ok()?,
            diameter: diameter()?,
            length: row.length_um.map(RodLength::from_um).transpose().ok()?,
        },
        PartKind::Collet => PartSpec::Collet {
            diameter: diameter()?,
            length: ColletLength::parse(length()?).ok()?,
            family: family()?,
        },
        PartKind::ColletBody => PartSpec::ColletBody {
            diameter: diameter()?,
            arrangement: arrangement()?,
            family: family()?,
        },
        PartKind::GasLens => PartSpec::GasLens {
            diameter: diameter()?,
            arrangement: arrangement()?,
            family: family()?,
        },
        PartKind::Cup => PartSpec::Cup {
            number: CupNumber::new(row.cup_number?).ok()?,
            seat: CupSeat::parse(row.seat.as_deref()?).ok()?,
            family: family()?,
        },
        PartKind::BackCap => PartSpec::BackCap {
            length: CapLength::parse(length()?).ok()?,
            family: family()?,
        },
        PartKind::ORing => PartSpec::ORing { family: family()? },
        PartKind::Insulator => PartSpec::Insulator {
            arrangement: arrangement()?,
            family: family()?,
        },
        PartKind::ShieldingGas => PartSpec::ShieldingGas {
            mixture: row.composition.clone()?,
        },
        PartKind::FillerRod => PartSpec::FillerRod {
            classification: row.composition.clone()?,
            diameter: diameter()?,
        },
        PartKind::TungstenWheel => PartSpec::TungstenWheel,
    })
}

/// The shop's own assumption for a part, if it has one for that driver.
pub fn own_assumption(
    rows: &[starting_assumptions::Model],
    part: i64,
    driver: Driver,
) -> Option<Gamma> {
    let row = rows
        .iter()
        .find(|row| row.part_id == part && row.driver == driver.as_str())?;
    Gamma::new(row.shape, row.rate).ok()
}

/// Parts as the contract shows them.
pub async fn views(db: &impl ConnectionTrait, rows: Vec<parts::Model>) -> Result<Vec<Part>, Error> {
    let mut assumed: HashMap<i64, Vec<StartingAssumption>> = HashMap::new();
    for row in store::parts::assumptions(db, rows.iter().map(|row| row.id)).await? {
        let told = StartingAssumption {
            per: row.driver,
            shape: row.shape,
            rate: row.rate,
        };
        assumed.entry(row.part_id).or_default().push(told);
    }
    let mut views = Vec::with_capacity(rows.len());
    for row in rows {
        let spec = spec(&row)?;
        let new = NewPart {
            marking: row.marking,
            grade: row.grade,
            renew_months: row.renew_months,
            renew_removals: row.renew_removals,
            note: row.note,
            starting_assumptions: assumed.remove(&row.id).unwrap_or_default(),
            ..NewPart::from_spec(&row.code, &spec)
        };
        let unit = spec.kind().unit().as_str().to_owned();
        let created_at = instant::from_micros(row.created_at);
        views.push(new.into_view(spec.describe(), unit, created_at, row.version));
    }
    Ok(views)
}

async fn view(db: &impl ConnectionTrait, row: parts::Model) -> Result<Part, Error> {
    let lost = || Error::Internal("a part was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
