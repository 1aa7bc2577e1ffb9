//! The weld list of a job and its shielding gas: kept, read back, added up, and put into words.

use std::collections::HashMap;

use domain::exposure::ArcTime;
use domain::gas::{GasFlow, GasUse, Starts};
use domain::part::PartKind;
use domain::weld::{Material, WeldWork, rod_g, rods};
use sea_orm::ActiveValue::Set;
use sea_orm::ConnectionTrait;
use types::{NewJob, POST_FLOW_MS, PRE_FLOW_MS, WeldLine};

use crate::service::{Error, codes};
use crate::store;
use crate::store::entity::{job_gas, job_welds, jobs, parts};

/// The rod that amounts of filler are told in, in micrometres: 1 m.
const ROD_UM: i64 = 1_000_000;

/// What a job's weld list and gas come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Takeoff {
    /// The arc time of the list; none without one.
    pub arc: Option<ArcTime>,
    /// The starts of the list.
    pub starts: i64,
    /// Filler by part, in the order of the list.
    pub filler: Vec<Filler>,
    /// The part of the gas, and how much in millilitres for the arc time that the job is sized by.
    pub gas: Option<(i64, i64)>,
    /// How the gas came about, in words.
    pub gas_from: String,
    /// Something is purged.
    pub is_purged: bool,
    /// Some of the welds are stainless.
    pub is_stainless: bool,
}

/// Filler of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Filler {
    /// The part.
    pub part: i64,
    /// In grams.
    pub grams: i64,
    /// What it is made of.
    pub material: Material,
}

/// The gas of a job as it was given.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Gas {
    pub(super) part: Option<String>,
    pub(super) flow: Option<String>,
    pub(super) pre_flow_ms: Option<i64>,
    pub(super) post_flow_ms: Option<i64>,
    pub(super) purge_litres: Option<i64>,
}

/// Replaces the gas of a job.
async fn keep_gas(db: &impl ConnectionTrait, job: i64, new: &NewJob) -> Result<(), Error> {
    let flow = new
        .flow()
        .map_err(|error| Error::invalid("/gas_flow", error.to_string()))?;
    let row = match (&new.gas, flow) {
        (Some(gas), Some(flow)) => {
            let part = codes::named_part(db, "/gas", gas).await?;
            of_kind(&part, PartKind::ShieldingGas, "/gas")?;
            Some(job_gas::ActiveModel {
                job_id: Set(job),
                part_id: Set(part.id),
                flow_ml_per_minute: Set(flow.ml_per_minute()),
                pre_flow_ms: Set(new.pre_flow_ms),
                post_flow_ms: Set(new.post_flow_ms),
                purge_ml: Set(new.purge_litres.map(|litres| litres * 1_000)),
            })
        }
        (None, _) | (_, None) => None,
    };
    Ok(store::jobs::replace_gas(db, job, row).await?)
}

/// Replaces the weld list and the gas of a job.
pub(super) async fn keep(db: &impl ConnectionTrait, job: i64, new: &NewJob) -> Result<(), Error> {
    keep_gas(db, job, new).await?;
    let mut rows = Vec::with_capacity(new.welds.len());
    for (line, position) in new.welds.iter().zip(0_i64..) {
        let pointer = format!("/welds/{position}/filler");
        let filler = match &line.filler {
            None => None,
            Some(filler) => {
                let part = codes::named_part(db, &pointer, filler).await?;
                of_kind(&part, PartKind::FillerRod, &pointer)?;
                Some(part.id)
            }
        };
        rows.push(row(job, position, line, filler));
    }
    Ok(store::jobs::replace_welds(db, job, rows).await?)
}

fn of_kind(part: &parts::Model, kind: PartKind, pointer: &str) -> Result<(), Error> {
    if part.kind == kind.as_str() {
        return Ok(());
    }
    let (code, found) = (&part.code, &part.kind);
    let wanted = kind.as_str();
    let why = format!("{code} is a {found}, not a {wanted}; name a part of that kind");
    Err(Error::invalid(pointer, why))
}

fn row(job: i64, position: i64, line: &WeldLine, filler: Option<i64>) -> job_welds::ActiveModel {
    job_welds::ActiveModel {
        job_id: Set(job),
        position: Set(position),
        joint: Set(line.joint.trim().to_ascii_lowercase()),
        leg_um: Set(line.leg_um),
        thickness_um: Set(line.thickness_um),
        gap_um: Set(line.gap_um),
        root_face_um: Set(line.root_face_um),
        angle_degrees: Set(line.angle_degrees),
        area_um2: Set(line.area_um2),
        length_mm: Set(line.length_mm),
        passes: Set(line.passes),
        speed_mm_per_minute: Set(line.speed_mm_per_minute),
        material: Set(line.material.trim().to_ascii_lowercase()),
        filler_id: Set(filler),
        starts: Set(line.starts),
        over_weld_percent: Set(line.over_weld_percent),
        efficiency_percent: Set(line.efficiency_percent),
    }
}

/// A line as it was given.
fn line(row: &job_welds::Model, parts: &HashMap<i64, String>) -> WeldLine {
    WeldLine {
        joint: row.joint.clone(),
        leg_um: row.leg_um,
        thickness_um: row.thickness_um,
        gap_um: row.gap_um,
        root_face_um: row.root_face_um,
        angle_degrees: row.angle_degrees,
        area_um2: row.area_um2,
        length_mm: row.length_mm,
        passes: row.passes,
        speed_mm_per_minute: row.speed_mm_per_minute,
        material: row.material.clone(),
        filler: row.filler_id.and_then(|id| parts.get(&id).cloned()),
        starts: row.starts,
        over_weld_percent: row.over_weld_percent,
        efficiency_percent: row.efficiency_percent,
    }
}

/// The weld lists of jobs, and their gas.
pub(super) struct Lists {
    rows: Vec<job_welds::Model>,
    gases: Vec<job_gas::Model>,
    /// Fillers and gases.
    parts: HashMap<i64, String>,
}

impl Lists {
    /// Reads those of the jobs.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        jobs: &[jobs::Model],
    ) -> Result<Self, Error> {
        let rows = store::jobs::welds(db, jobs.iter().map(|job| job.id)).await?;
        let fillers = rows.iter().filter_map(|row| row.filler_id);
        let gases = store::jobs::gas(db, jobs.iter().map(|job| job.id)).await?;
        let named = fillers.chain(gases.iter().map(|gas| gas.part_id));
        let parts = store::parts::get_many(db, named).await?;
        let parts = parts.into_iter().map(|part| (part.id, part.code)).collect();
        Ok(Self { rows, gases, parts })
    }

    /// The list of a job as it was given.
    pub(super) fn of(&self, job: i64) -> Vec<WeldLine> {
        let rows = self.rows.iter().filter(|row| row.job_id == job);
        rows.map(|row| line(row, &self.parts)).collect()
    }

    /// The gas of a job as it was given.
    pub(super) fn gas(&self, job: i64) -> Result<Gas, Error> {
        let Some(row) = self.gases.iter().find(|row| row.job_id == job) else {
            return Ok(Gas::default());
        };
        let flow = GasFlow::new(row.flow_ml_per_minute)
            .map_err(|error| Error::Internal(error.to_string()))?;
        Ok(Gas {
            part: self.parts.get(&row.part_id).cloned(),
            flow: Some(flow.to_string()),
            pre_flow_ms: row.pre_flow_ms,
            post_flow_ms: row.post_flow_ms,
            purge_litres: row.purge_ml.map(|ml| ml / 1_000),
        })
    }
}

/// What the weld list and the gas of a job come to.
pub async fn takeoff(db: &impl ConnectionTrait, job: &jobs::Model) -> Result<Takeoff, Error> {
    let lists = Lists::load(db, std::slice::from_ref(job)).await?;
    lists.takeoff(job)
}

impl Lists {
    /// What the weld list and the gas of a job come to.
    pub(super) fn takeoff(&self, job: &jobs::Model) -> Result<Takeoff, Error> {
        let rows: Vec<&job_welds::Model> = self
            .rows
            .iter()
            .filter(|row| row.job_id == job.id)
            .collect();
        let mut sum = Takeoff::default();
        let mut seconds = 0;
        for row in &rows {
            let told = line(row, &self.parts);
            let (weld, work) = told
                .worked()
                .ok_or_else(|| unreadable(job, "a line of the weld list"))?;
            let WeldWork {
                arc,
                starts,
                filler_g,
            } = work;
            seconds += arc.seconds();
            sum.starts += starts;
            sum.is_stainless |= weld.material == Material::Stainless;
            if let Some(part) = row.filler_id {
                sum.add_filler(part, filler_g, weld.material);
            }
        }
        if !rows.is_empty() {
            let arc = ArcTime::from_seconds(seconds);
            sum.arc = Some(arc.map_err(|_| unreadable(job, "the weld list"))?);
        }
        if let Some(gas) = self.gases.iter().find(|gas| gas.job_id == job.id) {
            sum.add_gas(job, gas)?;
        }
        Ok(sum)
    }

    /// What is to be said of the list of a job.
    pub(super) fn says(&self, job: &jobs::Model) -> Result<Vec<String>, Error> {
        let sum = self.takeoff(job)?;
        let Some(arc) = sum.arc else {
            return Ok(Vec::new());
        };
        let filler = sum.filler.iter().map(|filler| {
            let code = self.parts.get(&filler.part).cloned().unwrap_or_default();
            format!(", {} g of {code}", filler.grams)
        });
        let filler: String = filler.collect();
        let mut says = vec![format!(
            "The weld list adds up to {arc} of arc, {} starts{filler}.",
            sum.starts
        )];
        says.extend(given_arc(job, arc)?);
        Ok(says)
    }
}

/// That the arc time that was given goes before that of the list.
pub fn given_arc(job: &jobs::Model, of_list: ArcTime) -> Result<Option<String>, Error> {
    let Some(seconds) = job.arc_seconds else {
        return Ok(None);
    };
    let given = ArcTime::from_seconds(seconds).map_err(|_| unreadable(job, "the arc time"))?;
    Ok(Some(format!(
        "The arc time that was given, {given}, goes before the {of_list} of the weld list."
    )))
}

impl Takeoff {
    fn add_filler(&mut self, part: i64, grams: i64, material: Material) {
        if let Some(there) = self.filler.iter_mut().find(|there| there.part == part) {
            there.grams += grams;
        } else {
            self.filler.push(Filler {
                part,
                grams,
                material,
            });
        }
    }

    fn add_gas(&mut self, job: &jobs::Model, gas: &job_gas::Model) -> Result<(), Error> {
        let fault = |error: domain::gas::GasError| unreadable(job, &error.to_string());
        let given = job.arc_seconds.map(ArcTime::from_seconds).transpose();
        let given = given.map_err(|_| unreadable(job, "the arc time"))?;
        let Some(arc) = given.or(self.arc) else {
            return Ok(());
        };
        let (pre, post) = (
            gas.pre_flow_ms.unwrap_or(PRE_FLOW_MS),
            gas.post_flow_ms.unwrap_or(POST_FLOW_MS),
        );
        let flow = GasFlow::new(gas.flow_ml_per_minute).map_err(fault)?;
        let purge_ml = gas.purge_ml.unwrap_or(0);
        let used = GasUse {
            flow,
            arc,
            starts: Starts::new(self.starts, pre, post).map_err(fault)?,
            purge_ml,
            leaks_ml: 0,
        };
        self.gas = Some((gas.part_id, used.volume_ml().map_err(fault)?));
        self.is_purged = purge_ml > 0;
        let purge = match purge_ml {
            0 => String::new(),
            ml => format!(" and {} L of purging", ml / 1_000),
        };
        let around = match self.starts {
            0 => ", without the gas before and after each arc, since there is no weld list"
                .to_owned(),
            starts => format!(" and {starts} starts of {}", seconds_of(pre + post)),
        };
        self.gas_from = format!("{flow} over {arc} of arc{around}{purge}");
        Ok(())
    }
}

impl Filler {
    /// How it came about, in words; `diameter_um` is that of the rod.
    pub fn from(&self, diameter_um: Option<i64>) -> String {
        let rods = diameter_um.map_or(0, |um| rods(self.grams, rod_g(um, ROD_UM, self.material)));
        match rods {
            0 => "the weld list".to_owned(),
            1 => "the weld list, about 1 rod of 1 m".to_owned(),
            rods => format!("the weld list, about {rods} rods of 1 m"),
        }
    }
}

/// Milliseconds as seconds, as people write them.
fn seconds_of(ms: i64) -> String {
    let text = format!("{}.{:03}", ms / 1_000, ms % 1_000);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{text} s")
}

fn unreadable(job: &jobs::Model, what: &str) -> Error {
    Error::Internal(format!("{what} of job {} cannot be read back", job.code))
}
