//! The measures in which the end of a piece of work is told: which of them it has, and what of a sum is not on
//! record yet.

use types::NewClosing;

use crate::service::Error;
use crate::store::work::Of;

/// Refuses a measure that work of the kind does not have, since it would be left out in silence.
pub(super) fn check(new: &NewClosing, of: Of) -> Result<(), Error> {
    let (noun, has, odd) = match of {
        Of::Job(_) => (
            "job",
            "its arc time, its grinds",
            [("/student_days", new.student_days, "student-days")].to_vec(),
        ),
        Of::Course(_) => (
            "course",
            "its student-days",
            [
                ("/arc_minutes", new.arc_minutes, "arc time"),
                ("/grinds", new.grinds, "grinds"),
            ]
            .to_vec(),
        ),
    };
    match odd.into_iter().find(|(_, told, _)| told.is_some()) {
        None => Ok(()),
        Some((pointer, _, what)) => Err(Error::invalid(
            pointer,
            format!("a {noun} is not measured in {what}; give {has} and what it used"),
        )),
    }
}

/// What is left of a sum that was told in all.
pub(super) fn rest(pointer: &str, all: i64, (logged, unit): (i64, &str)) -> Result<i64, Error> {
    if all >= logged {
        return Ok(all - logged);
    }
    let why = format!(
        "{all} is less than the {logged} {unit} that are logged for it; take back what is wrong, or give \
         the whole"
    );
    Err(Error::invalid(pointer, why))
}
