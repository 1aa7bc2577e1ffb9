//! Queries on written procedures.

use super::coded::coded;

coded!(procedures);
