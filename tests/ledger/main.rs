//! The ledger below the API: any order of the same entries gives the same levels, and a rebuild agrees.
