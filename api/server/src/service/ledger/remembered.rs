//! Torches, sites and parts that were looked up before, for as long as nothing but plain entries is written: these
//! change none of them. What is not found is not remembered, so that it grows no larger than the shop.

use std::collections::{BTreeSet, HashMap};

use sea_orm::ConnectionTrait;

use crate::service::Error;
use crate::store;
use crate::store::entity::{parts, set_ups, sites, torches};

/// A torch, its site, and the set-ups that it ever had, oldest first.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) torch: torches::Model,
    pub(super) site: sites::Model,
    pub(super) set_ups: Vec<set_ups::Model>,
}

/// What was looked up before, by the keys of codes and by ids.
#[derive(Debug, Default)]
pub struct Remembered {
    torches: HashMap<String, Placed>,
    sites: HashMap<String, sites::Model>,
    parts: HashMap<String, parts::Model>,
    /// The parts of set-ups, rear to tip.
    fitted: HashMap<i64, Vec<parts::Model>>,
}

/// The codes of which nothing is remembered.
fn unknown<V>(remembered: &HashMap<String, V>, codes: &[&str]) -> BTreeSet<String> {
    codes
        .iter()
        .map(|code| super::names::key(code))
        .filter(|key| !remembered.contains_key(key))
        .collect()
}

impl Remembered {
    /// Looks up what those codes name, unless it did before; what there is not is left out.
    pub(super) async fn torches(
        &mut self,
        db: &impl ConnectionTrait,
        codes: &[&str],
    ) -> Result<Vec<Placed>, Error> {
        let new = unknown(&self.torches, codes);
        let placed = store::torches::find_many_placed(db, new.iter().map(String::as_str)).await?;
        let ids = placed.iter().map(|(torch, _)| torch.id);
        let set_ups = store::torches::set_ups(db, ids).await?;
        for (torch, site) in placed {
            let of_torch = set_ups.iter().filter(|set_up| set_up.torch_id == torch.id);
            let placed = Placed {
                set_ups: of_torch.cloned().collect(),
                site,
                torch,
            };
            self.torches.insert(placed.torch.code_key.clone(), placed);
        }
        Ok(found(&self.torches, codes))
    }

    /// The same of sites.
    pub(super) async fn sites(
        &mut self,
        db: &impl ConnectionTrait,
        codes: &[&str],
    ) -> Result<Vec<sites::Model>, Error> {
        let new = unknown(&self.sites, codes);
        for site in store::sites::find_many(db, new.iter().map(String::as_str)).await? {
            self.sites.insert(site.code_key.clone(), site);
        }
        Ok(found(&self.sites, codes))
    }

    /// The same of parts.
    pub(super) async fn parts(
        &mut self,
        db: &impl ConnectionTrait,
        codes: &[&str],
    ) -> Result<Vec<parts::Model>, Error> {
        let new = unknown(&self.parts, codes);
        for part in store::parts::find_many(db, new.iter().map(String::as_str)).await? {
            self.parts.insert(part.code_key.clone(), part);
        }
        Ok(found(&self.parts, codes))
    }

    /// The parts of set-ups, rear to tip.
    pub(super) async fn fitted(
        &mut self,
        db: &impl ConnectionTrait,
        set_ups: &BTreeSet<i64>,
    ) -> Result<impl Iterator<Item = (i64, parts::Model)>, Error> {
        let new = set_ups.iter().filter(|id| !self.fitted.contains_key(id));
        let new: Vec<i64> = new.copied().collect();
        for (row, part) in store::torches::fitted_parts(db, new).await? {
            self.fitted.entry(row.set_up_id).or_default().push(part);
        }
        let fitted = set_ups.iter().flat_map(|id| {
            let parts = self.fitted.get(id).into_iter().flatten();
            parts.map(|part| (*id, part.clone()))
        });
        Ok(fitted)
    }
}

/// What there is of those codes, each once.
fn found<V: Clone>(remembered: &HashMap<String, V>, codes: &[&str]) -> Vec<V> {
    let keys: BTreeSet<String> = codes.iter().map(|code| super::names::key(code)).collect();
    let found = keys.iter().filter_map(|key| remembered.get(key));
    found.cloned().collect()
}
