//! What follows for gas and filler: the paper of a job, and what the shop drew while its arcs burned.
//! Parts that wear in a torch are in the parent.

use domain::amount::{drawn, on_paper};
use domain::assumption;
use domain::exposure::{ArcTime, Driver};
use domain::part::PartKind;
use domain::wear::{Evidence, JobSize, Rung, choose};
use sea_orm::ConnectionTrait;

use super::{Learned, Records, Whose};
use crate::service::Error;
use crate::store;
use crate::store::entity::parts as part_rows;

/// A use as the paper of a job has it.
#[derive(Clone, Debug)]
pub struct Paper {
    /// How much, in the unit of the part.
    pub planned: i64,
    /// Over so much arc.
    pub arc: ArcTime,
    /// How it came about, in words.
    pub from: String,
    /// How much is drawn at a time.
    pub grain: i64,
}

/// How much of a kind is drawn at a time, where no offer tells it: a cylinder of 8 400 L, or a tube of
/// 5 kg. Invented.
pub fn grain_of(kind: &str) -> i64 {
    if kind == PartKind::ShieldingGas.as_str() {
        8_400_000
    } else {
        5_000
    }
}

impl Records {
    /// What follows for a use on paper: the paper, and the shop's own record since the part was first
    /// drawn, over the arc time that its group logged since.
    ///
    /// # Errors
    /// A fault of ours: figures that no check lets in.
    pub async fn learn_amount(
        &self,
        db: &impl ConnectionTrait,
        (part, paper): (&part_rows::Model, &Paper),
        whose: Whose<'_>,
    ) -> Result<Learned, Error> {
        let fault =
            |error: &dyn std::error::Error| Error::Internal(format!("{}: {error}", part.code));
        let (mut evidence, since) = self.evidence(part.id);
        evidence.arc_seconds = match since {
            None => 0,
            Some(since) => {
                let from = (since.timestamp_micros(), whose.view.at.timestamp_micros());
                store::entries::arc_since(db, (whose.site, whose.group), from).await?
            }
        };
        let is_own = evidence.used() > 0 && evidence.arc_seconds > 0;
        if !is_own {
            evidence = Evidence::default();
        }
        let assumption =
            on_paper(paper.planned, paper.arc.hours()).map_err(|error| fault(&error))?;
        let over = evidence.exposure(Driver::ArcTime);
        let wear = drawn(&assumption, evidence.used(), over, paper.grain)
            .map_err(|error| fault(&error))?;
        let to_come = paper.arc.hours();
        let size = JobSize {
            arc: Some(paper.arc),
            ..JobSize::default()
        };
        let rung = choose(&evidence, &size).map_or(Rung::Assumption, |(rung, _)| rung);
        Ok(Learned {
            rung,
            driver: Driver::ArcTime,
            assumption,
            assumption_source: assumption::LABEL,
            evidence,
            since: since.filter(|_| is_own),
            wear,
            to_come,
            uses: wear.predictive(to_come).map_err(|error| fault(&error))?,
            grain: paper.grain,
            paper: Some(paper.from.clone()),
            current: None,
            lives: None,
        })
    }
}
