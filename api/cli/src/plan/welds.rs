//! The weld list and the gas of a job, as `plan` takes them.

use clap::Args;
use client::every;
use domain::size::Diameter;
use types::{NewJob, Page};

use crate::failure::Failure;
use crate::shop::Shop;
use crate::weld::{self, Written};

/// The kind of part that a filler is.
const FILLER: &str = "filler-rod";

/// The welds of a job and its gas; what is not given stays as it is.
#[derive(Debug, Args)]
#[command(next_help_heading = "Size a job by its welds")]
pub(super) struct WeldEdit {
    /// A weld; give it once for each. The list replaces the one before, and the arc time of the job
    /// follows from it unless --arc is given too
    #[arg(long, value_name = "WELD", value_parser = weld::parse)]
    weld: Vec<Written>,
    /// The shielding gas
    #[arg(long, value_name = "PART")]
    gas: Option<String>,
    /// Its flow, with its unit: 8L/min, 17cfh
    #[arg(long, value_name = "FLOW")]
    flow: Option<String>,
    /// Gas before each arc; 0.5s unless told
    #[arg(long, value_name = "TIME", value_parser = weld::milliseconds)]
    pre_flow: Option<i64>,
    /// Gas after each arc; 8s unless told
    #[arg(long, value_name = "TIME", value_parser = weld::milliseconds)]
    post_flow: Option<i64>,
    /// Gas for purging: 200L
    #[arg(long, value_name = "VOLUME", value_parser = weld::litres)]
    purge: Option<i64>,
}

impl WeldEdit {
    /// Whether nothing is given.
    pub(super) fn is_empty(&self) -> bool {
        let Self {
            weld,
            gas,
            flow,
            pre_flow,
            post_flow,
            purge,
        } = self;
        weld.is_empty()
            && [gas, flow].iter().all(|text| text.is_none())
            && [pre_flow, post_flow, purge]
                .iter()
                .all(|number| number.is_none())
    }

    /// Finds the filler of each weld that tells only its diameter.
    pub(super) async fn name_fillers(&mut self, shop: &Shop<'_, '_>) -> Result<(), Failure> {
        if self.weld.iter().all(|one| one.filler_diameter.is_none()) {
            return Ok(());
        }
        let list = async |page: Page| shop.client.list_parts(&page).await;
        let mut rods = every(Page::default(), list).await?;
        rods.retain(|part| part.kind == FILLER);
        for written in &mut self.weld {
            let Some(told) = &written.filler_diameter else {
                continue;
            };
            let diameter = Diameter::parse(told)
                .map_err(|error| Failure::CommandLine(format!("{told} of filler: {error}")))?;
            let is_of = |part: &&types::Part| {
                let own = part.diameter.as_deref();
                own.and_then(|own| Diameter::parse(own).ok()) == Some(diameter)
            };
            let of_size: Vec<&str> = rods.iter().filter(is_of).map(|part| &*part.code).collect();
            match of_size[..] {
                [only] => written.line.filler = Some(only.to_owned()),
                [] => {
                    let why = format!("there is no filler rod of {diameter}; set it up first");
                    return Err(Failure::CommandLine(why));
                }
                _ => {
                    let several = of_size.join(", ");
                    let why = format!(
                        "there are several filler rods of {diameter}: {several}; name the one with the \
                         word with"
                    );
                    return Err(Failure::CommandLine(why));
                }
            }
        }
        Ok(())
    }

    /// Puts what is given into a job.
    pub(super) fn apply(self, job: &mut NewJob) {
        if !self.weld.is_empty() {
            job.welds = self.weld.into_iter().map(|written| written.line).collect();
            job.arc_minutes = None;
        }
        for (place, value) in [(&mut job.gas, self.gas), (&mut job.gas_flow, self.flow)] {
            if value.is_some() {
                *place = value;
            }
        }
        for (place, value) in [
            (&mut job.pre_flow_ms, self.pre_flow),
            (&mut job.post_flow_ms, self.post_flow),
            (&mut job.purge_litres, self.purge),
        ] {
            if value.is_some() {
                *place = value;
            }
        }
    }
}
