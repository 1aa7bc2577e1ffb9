//! Sets up what is certain within one transaction: the part, its place in the drawer, its first count.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::drawer_label;
use domain::part::PartSpec;
use sea_orm::DatabaseTransaction;
use types::{NewCount, NewPart};
use uuid::Uuid;

use super::SetUpRow;
use super::rows::{ALREADY_IN, BLANK, Certain, IN, Listed, REFUSED};
use crate::service::drawers::filled;
use crate::service::keys::Caller;
use crate::service::pushed::{Became, SetUp};
use crate::service::{Error, parts, stocktake};
use crate::store;
use crate::store::entity::sites;

/// A drawer list that is set up.
#[derive(Clone, Debug)]
pub(super) struct List {
    pub(super) rows: Vec<Listed>,
    pub(super) site: sites::Model,
    pub(super) by: Option<String>,
    pub(super) sent: (Caller, DateTime<Utc>),
}

/// The parts that there are, and which of them were counted before this list.
struct Known {
    parts: Vec<(i64, String, PartSpec)>,
    /// What each count said.
    counted: HashMap<i64, Vec<i64>>,
}

/// A row whose part is there.
struct Placed {
    part: i64,
    code: String,
    is_new: bool,
    drawer: Option<String>,
}

/// Sets up every row that is certain; each is judged alone.
pub(super) async fn all(tx: &DatabaseTransaction, list: List) -> Result<Vec<SetUpRow>, Error> {
    let mut known = Known::load(tx, &list).await?;
    let (mut told, mut placed) = (Vec::with_capacity(list.rows.len()), Vec::new());
    for (place, row) in list.rows.iter().enumerate() {
        let mut row_told = SetUpRow {
            result: REFUSED,
            what_to_do: String::new(),
            code: None,
            proposal: row.proposal.clone(),
        };
        match &row.part {
            _ if row.is_blank => row_told.result = BLANK,
            Err(why) => row_told.what_to_do.clone_from(why),
            Ok(certain) => match known.place(tx, &list, certain).await? {
                Err(why) => row_told.what_to_do = why,
                Ok(found) => {
                    row_told.result = if found.is_new { IN } else { ALREADY_IN };
                    row_told.what_to_do = certain.notes.join("; ");
                    row_told.code = Some(found.code.clone());
                    placed.push((place, certain, found));
                }
            },
        }
        told.push(row_told);
    }
    let counts = counts(&list, (&placed, &known), &mut told);
    record_counts(tx, &list, counts, &mut told).await?;
    Ok(told)
}

/// The first counts. A part that was counted before this list is not counted anew by it, since the list may be old by
/// then; if it says something else, a person has to.
fn counts(
    list: &List,
    (placed, known): (&[(usize, &Certain, Placed)], &Known),
    told: &mut [SetUpRow],
) -> Vec<(usize, NewCount)> {
    let mut totals: HashMap<i64, i64> = HashMap::new();
    for (_, certain, found) in placed {
        *totals.entry(found.part).or_default() += certain.count.unwrap_or_default();
    }
    let mut counts = Vec::new();
    for (place, certain, found) in placed {
        let (Some(counted), Some(row)) = (certain.count, told.get_mut(*place)) else {
            continue;
        };
        match known.counted.get(&found.part) {
            None => {
                row.result = IN;
                counts.push((*place, first_count(list, found, counted)));
            }
            Some(before)
                if totals
                    .get(&found.part)
                    .is_some_and(|it| before.contains(it)) => {}
            Some(before) => {
                let before: Vec<String> = before.iter().map(ToString::to_string).collect();
                row.result = REFUSED;
                row.what_to_do = format!(
                    "how many: {} was counted before ({}), which stands; count it anew with a sheet of counts",
                    found.code,
                    before.join(", ")
                );
            }
        }
    }
    counts
}

fn first_count(list: &List, found: &Placed, counted: i64) -> NewCount {
    NewCount {
        id: Some(format!("set-up-{}", Uuid::now_v7())),
        part: found.code.clone(),
        counted,
        drawer: found.drawer.clone(),
        site: Some(list.site.code.clone()),
        by: list.by.clone(),
        ..NewCount::default()
    }
}

async fn record_counts(
    tx: &DatabaseTransaction,
    list: &List,
    counts: Vec<(usize, NewCount)>,
    told: &mut [SetUpRow],
) -> Result<(), Error> {
    if counts.is_empty() {
        return Ok(());
    }
    let (places, counts): (Vec<usize>, Vec<NewCount>) = counts.into_iter().unzip();
    let outcomes = stocktake::record_within(tx, list.sent, counts).await?;
    for (place, outcome) in places.into_iter().zip(outcomes) {
        let why = match outcome.result {
            Ok((stocktake::Became::Counted(_), _)) => continue,
            Ok((stocktake::Became::KeptAside(aside), _)) => aside.says,
            Err(Error::Invalid(found)) => {
                let found = found.iter().map(|it| it.detail.clone());
                found.collect::<Vec<_>>().join("; ")
            }
            Err(error) => return Err(error),
        };
        if let Some(row) = told.get_mut(place) {
            row.result = REFUSED;
            row.what_to_do = format!("the part is set up, but not counted: {why}");
        }
    }
    Ok(())
}

impl Known {
    async fn load(tx: &DatabaseTransaction, list: &List) -> Result<Self, Error> {
        let mut all = Vec::new();
        for row in store::parts::all(tx).await? {
            let spec = parts::spec(&row)?;
            all.push((row.id, row.code, spec));
        }
        let mut counted: HashMap<i64, Vec<i64>> = HashMap::new();
        let ever = (i64::MIN, i64::MAX);
        for row in store::counts::standing_at(tx, list.site.id, ever).await? {
            counted.entry(row.part_id).or_default().push(row.counted);
        }
        Ok(Self {
            parts: all,
            counted,
        })
    }

    /// Sets up the part of a row unless it is there, and puts it into its drawer; or says why not.
    async fn place(
        &mut self,
        tx: &DatabaseTransaction,
        list: &List,
        certain: &Certain,
    ) -> Result<Result<Placed, String>, Error> {
        let drawer = match certain.drawer.as_deref().map(filled::code).transpose() {
            Ok(drawer) => drawer,
            Err(why) => return Ok(Err(format!("drawer: {why}"))),
        };
        let (part, code, mut is_new) = match self.part(tx, list, certain).await? {
            Ok(found) => found,
            Err(why) => return Ok(Err(why)),
        };
        if let Some(drawer) = &drawer {
            is_new |= filled::put(tx, list.site.id, (drawer, part)).await?;
        }
        Ok(Ok(Placed {
            part,
            code,
            is_new,
            drawer: drawer.map(|it| it.as_str().to_owned()),
        }))
    }

    /// The part of a row, and whether it is new.
    async fn part(
        &mut self,
        tx: &DatabaseTransaction,
        list: &List,
        certain: &Certain,
    ) -> Result<Result<(i64, String, bool), String>, Error> {
        let same: Vec<&(i64, String, PartSpec)> = self
            .parts
            .iter()
            .filter(|(_, _, spec)| *spec == certain.spec)
            .collect();
        let code = match (&certain.code, same.as_slice()) {
            (None, [(id, code, _)]) => return Ok(Ok((*id, code.clone(), false))),
            (None, [_, _, ..]) => {
                let codes: Vec<&str> = same.iter().map(|it| it.1.as_str()).collect();
                let codes = codes.join(", ");
                return Ok(Err(format!(
                    "code: several parts are this: {codes}; write which"
                )));
            }
            (None, []) => drawer_label::code(&certain.spec),
            (Some(code), _) => code.clone(),
        };
        let known = self
            .parts
            .iter()
            .find(|it| it.1.eq_ignore_ascii_case(code.trim()));
        if let Some((id, code, spec)) = known {
            return Ok(if *spec == certain.spec {
                Ok((*id, code.clone(), false))
            } else {
                Err(format!(
                    "code: {code} is set up as {}; write another code for this row",
                    spec.describe()
                ))
            });
        }
        self.set_up(tx, list, (code, certain)).await
    }

    async fn set_up(
        &mut self,
        tx: &DatabaseTransaction,
        list: &List,
        (code, certain): (String, &Certain),
    ) -> Result<Result<(i64, String, bool), String>, Error> {
        let new = NewPart {
            marking: certain.marking.clone(),
            note: (!certain.label.is_empty()).then(|| format!("On the drawer: {}", certain.label)),
            ..NewPart::from_spec(&code, &certain.spec)
        };
        match new.set_up(tx, list.sent.1).await {
            Ok(Became::SetUp(_) | Became::Known) => {}
            Ok(Became::Refused(why)) => return Ok(Err(why)),
            Err(Error::Invalid(found)) => {
                let found = found
                    .iter()
                    .map(|it| format!("{}: {}", it.pointer.trim_start_matches('/'), it.detail));
                return Ok(Err(found.collect::<Vec<_>>().join("; ")));
            }
            Err(error) => return Err(error),
        }
        let row = store::parts::find(tx, &code).await?;
        let row = row.ok_or_else(|| Error::Internal(format!("the part {code} was lost")))?;
        self.parts
            .push((row.id, row.code.clone(), certain.spec.clone()));
        Ok(Ok((row.id, row.code, true)))
    }
}
