//! `allocate`: promising pieces to a job.

use clap::Args;
use client::every;
use types::{Allocation, AllocationPage, ListAllocations, NewAllocation};
use uuid::Uuid;

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const EXAMPLES: &str = "\
The number is what the job is promised in all; 0 frees it. What is issued for the job comes off.

Examples:
  tigstock allocate R-118 WLa20-2.4 8
  tigstock allocate R-118 WLa20-2.4 0      free them
  tigstock allocate R-118                  what R-118 is promised
  tigstock allocate                        what all jobs are promised";

/// Promise pieces to a job, so that no other job counts on them; or show what is promised
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Allocate {
    /// The job
    job: Option<String>,
    /// The code of the part
    #[arg(requires = "quantity")]
    part: Option<String>,
    /// How many
    quantity: Option<i64>,
    /// Who promises
    #[arg(long, value_name = "NAME", requires = "quantity")]
    by: Option<String>,
    /// A note
    #[arg(long, value_name = "TEXT", requires = "quantity")]
    note: Option<String>,
}

impl Allocate {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let (Some(job), Some(part), Some(quantity)) = (&self.job, &self.part, self.quantity) else {
            return list(self.job, shop).await;
        };
        let new = NewAllocation {
            job: job.clone(),
            part: part.clone(),
            quantity,
            site: shop.site.clone(),
            by: self.by,
            note: self.note,
        };
        let key = Uuid::now_v7().to_string();
        let allocated = shop.client.record_allocation(&new, &key).await?;
        let mut sheet = Sheet::new([
            ("job", ""),
            ("part", ""),
            ("site", ""),
            ("quantity", ""),
            ("available", ""),
        ]);
        sheet.push([
            Cell::from(&allocated.job),
            Cell::from(&allocated.stock.part),
            Cell::from(&allocated.site),
            Cell::Whole(allocated.quantity),
            Cell::Whole(allocated.stock.available),
        ]);
        shop.output.show_said(&allocated, &allocated.says, &sheet);
        Ok(exit::DONE)
    }
}

async fn list(job: Option<String>, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    let query = ListAllocations {
        job,
        part: None,
        limit: Some(types::page::PAGE_MAX),
        after: None,
    };
    let client = &shop.client;
    let allocations = every(query, async |query| client.list_allocations(&query).await).await?;
    let sheet = sheet(&allocations, shop);
    let page = AllocationPage {
        allocations,
        next: None,
    };
    if page.allocations.is_empty() {
        shop.output.show_said(&page, "Nothing is promised.", &sheet);
    } else {
        shop.output.show(&page, &sheet);
    }
    Ok(exit::DONE)
}

fn sheet(allocations: &[Allocation], shop: &Shop<'_, '_>) -> Sheet {
    let mut sheet = Sheet::new([
        ("job", "Job"),
        ("part", "Part"),
        ("site", "Site"),
        ("quantity", "Promised"),
        ("changed_at", "Since"),
    ]);
    for row in allocations {
        sheet.push([
            Cell::from(&row.job),
            Cell::from(&row.part),
            Cell::from(&row.site),
            Cell::Whole(row.quantity),
            Cell::Shown {
                value: row.changed_at.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(&row.changed_at)),
            },
        ]);
    }
    sheet
}
