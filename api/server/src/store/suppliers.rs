//! Queries on suppliers.

use super::coded::coded;

coded!(suppliers);
