//! Queries on sites.

use super::coded::coded;

coded!(sites);
