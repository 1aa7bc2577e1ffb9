//! The entities and the schema are equal. The entities make their own tables in an empty database,
//! and the database tells the columns of both.

use migrations::{Migrator, MigratorTrait};
use sea_orm::{ConnectionTrait, DatabaseConnection, EntityTrait, Schema};
use server::store::entity;
use tigstock_tests::database::Scratch;

use crate::schema::{columns, connect, tables, unique_columns};

/// A database as the migrations make it, and one as the entities would.
struct Both {
    migrated: DatabaseConnection,
    sketched: DatabaseConnection,
    _scratches: [Scratch; 2],
}

impl Both {
    async fn new() -> Self {
        let scratches = [Scratch::empty().await, Scratch::empty().await];
        let migrated = connect(&scratches[0]).await;
        Migrator::up(&migrated, None).await.expect("it goes up");
        Self {
            migrated,
            sketched: connect(&scratches[1]).await,
            _scratches: scratches,
        }
    }

    async fn sketch<E: EntityTrait>(&self, entity: E) -> String {
        let table =
            Schema::new(self.sketched.get_database_backend()).create_table_from_entity(entity);
        self.sketched.execute(&table).await.expect("a table");
        entity.table_name().to_owned()
    }

    /// Makes the tables of all entities; their names, in order.
    async fn sketch_all(&self) -> Vec<String> {
        macro_rules! sketch {
            ($($module:ident)*) => {
                vec![$(self.sketch(entity::$module::Entity).await,)*]
            };
        }
        let mut names = sketch! {
        borrowings counts course_exercises course_left_out courses current_bands deliveries digests drawer_parts drawer_photos drawers entries
        equivalence_withdrawals equivalences events job_gas job_left_out job_welds jobs
        keys kit_alternatives kit_lines kits
        levels link_keys looks lulls mail_addresses movements offer_breaks offers order_lines orders parts procedure_revisions procedures questions
        replies seats set_up_parts set_ups
        sites starting_assumptions stubs supplier_closures suppliers term_changes torches warning_messages warnings watches wear wear_currents wear_days webhooks
            };
        names.sort();
        names
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_table_has_an_entity_and_every_entity_a_table() {
    let both = Both::new().await;
    let entities = both.sketch_all().await;
    assert_eq!(tables(&both.migrated).await, entities);
}

#[tokio::test(flavor = "multi_thread")]
async fn columns_have_the_same_names_types_and_keys_and_the_same_may_be_absent() {
    let both = Both::new().await;
    for table in both.sketch_all().await {
        let laid_down = columns(&both.migrated, &table).await;
        assert!(!laid_down.is_empty(), "{table}");
        assert_eq!(laid_down, columns(&both.sketched, &table).await, "{table}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_columns_are_unique() {
    let both = Both::new().await;
    let mut count = 0;
    for table in both.sketch_all().await {
        let laid_down = unique_columns(&both.migrated, &table).await;
        let sketched = unique_columns(&both.sketched, &table).await;
        assert_eq!(laid_down, sketched, "{table}");
        count += laid_down.len();
    }
    assert!(count > 0, "no column is unique");
}
