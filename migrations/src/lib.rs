//! The database schema, as an ordered list of steps. A step is a frozen past: once released it is
//! never edited, and it names no entity of the service. What a step means for data is in its file.

#![expect(
    elided_lifetimes_in_paths,
    reason = "the trait of a step is declared with a hidden lifetime, which cannot be spelled out"
)]

pub use sea_orm_migration::MigratorTrait;
use sea_orm_migration::prelude::*;

mod column;
mod m20261124_000001_create_sites;
mod m20261124_000002_create_keys;
mod m20261124_000003_create_parts;
mod m20261124_000004_create_torches;
mod m20261124_000005_create_kits;
mod m20261124_000006_create_suppliers;
mod m20261124_000007_create_jobs;
mod m20261124_000008_create_orders;
mod m20261124_000009_create_ledger;
mod m20261124_000010_create_levels;
mod m20261124_000011_create_replies;
mod m20261125_000012_create_questions;
mod m20261125_000013_create_drawers;
mod m20261125_000014_site_rules_and_stubs;
mod m20261125_000015_lots_and_allocations;
mod m20261125_000016_orders_cancelled_at;
mod m20261125_000017_create_seats;
mod m20261125_000018_create_kit_alternatives;
mod m20261125_000019_create_borrowings;
mod m20261125_000020_create_current_bands;
mod m20261125_000021_add_conditions_to_jobs;
mod m20261125_000025_create_procedures;
mod m20261130_000022_wear_by_day;
mod m20261130_000026_supplier_conditions;
mod m20261130_000027_offer_conditions;
mod m20261130_000028_pace_of_jobs;
mod m20261130_000030_create_courses;
mod m20261130_000031_create_job_welds;
mod m20261130_000034_close_work;
mod m20261130_000035_create_lulls;
mod m20261201_000036_wear_by_current;
mod m20261201_000037_orders_of_courses;
mod m20261201_000038_create_watches;
mod m20261201_000039_create_events;
mod m20261201_000040_renewed_parts;
mod m20261201_000041_o_ring_limits;
mod m20261201_000042_watches_on_torches;
mod m20261201_000043_create_term_changes;
mod m20261201_000050_keys_that_end;

/// All steps, oldest first.
#[derive(Debug)]
pub struct Migrator;

#[async_trait::async_trait]
impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m20261124_000001_create_sites::Migration),
            Box::new(m20261124_000002_create_keys::Migration),
            Box::new(m20261124_000003_create_parts::Migration),
            Box::new(m20261124_000004_create_torches::Migration),
            Box::new(m20261124_000005_create_kits::Migration),
            Box::new(m20261124_000006_create_suppliers::Migration),
            Box::new(m20261124_000007_create_jobs::Migration),
            Box::new(m20261124_000008_create_orders::Migration),
            Box::new(m20261124_000009_create_ledger::Migration),
            Box::new(m20261124_000010_create_levels::Migration),
            Box::new(m20261124_000011_create_replies::Migration),
            Box::new(m20261125_000012_create_questions::Migration),
            Box::new(m20261125_000013_create_drawers::Migration),
            Box::new(m20261125_000014_site_rules_and_stubs::Migration),
            Box::new(m20261125_000015_lots_and_allocations::Migration),
            Box::new(m20261125_000016_orders_cancelled_at::Migration),
            Box::new(m20261125_000017_create_seats::Migration),
            Box::new(m20261125_000018_create_kit_alternatives::Migration),
            Box::new(m20261125_000019_create_borrowings::Migration),
            Box::new(m20261125_000020_create_current_bands::Migration),
            Box::new(m20261125_000021_add_conditions_to_jobs::Migration),
            Box::new(m20261125_000025_create_procedures::Migration),
            Box::new(m20261130_000022_wear_by_day::Migration),
            Box::new(m20261130_000026_supplier_conditions::Migration),
            Box::new(m20261130_000027_offer_conditions::Migration),
            Box::new(m20261130_000028_pace_of_jobs::Migration),
            Box::new(m20261130_000030_create_courses::Migration),
            Box::new(m20261130_000031_create_job_welds::Migration),
            Box::new(m20261130_000034_close_work::Migration),
            Box::new(m20261130_000035_create_lulls::Migration),
            Box::new(m20261201_000036_wear_by_current::Migration),
            Box::new(m20261201_000037_orders_of_courses::Migration),
            Box::new(m20261201_000038_create_watches::Migration),
            Box::new(m20261201_000039_create_events::Migration),
            Box::new(m20261201_000040_renewed_parts::Migration),
            Box::new(m20261201_000041_o_ring_limits::Migration),
            Box::new(m20261201_000042_watches_on_torches::Migration),
            Box::new(m20261201_000043_create_term_changes::Migration),
            Box::new(m20261201_000050_keys_that_end::Migration),
        ]
    }
}
