//! The rules of one dimension each: what a requirement says of a class, a size or a list of names.

use super::marking::{Marking, System, Written, squeezed};
use super::requirement::Requirement;
use super::verdict::Reason;
use crate::class::ElectrodeClass;
use crate::size::Diameter;

/// What is wrong with a class, if anything.
///
/// An unidentified electrode is wrong under every procedure, and one of the general class unless its
/// own grade is permitted: neither is known by what it is called.
pub(super) fn class(
    requirement: &Requirement,
    class: ElectrodeClass,
    grade: Option<&str>,
) -> Option<Reason> {
    if class == ElectrodeClass::Unidentified {
        return Some(Reason::ClassUnknown);
    }
    if class == ElectrodeClass::Wg {
        let grades = requirement.grades.as_deref().unwrap_or_default();
        let Some(grade) = grade else {
            return Some(Reason::GradeUnknown);
        };
        return (!is_among(grade, grades)).then_some(Reason::Grade);
    }
    let mut permitted = requirement.classes.iter().flatten();
    let is_permitted = permitted.any(|written| written.value == class);
    (requirement.fixes_class() && !is_permitted).then_some(Reason::Class)
}

/// What is wrong with a diameter, if anything.
pub(super) fn diameter(requirement: &Requirement, diameter: Diameter) -> Option<Reason> {
    let permitted = requirement.diameters.as_deref()?;
    let is_permitted = permitted.iter().any(|written| written.value == diameter);
    (!is_permitted).then(|| {
        let mut permitted: Vec<Diameter> = permitted.iter().map(|written| written.value).collect();
        permitted.sort_unstable();
        permitted.dedup();
        Reason::Size {
            is: diameter,
            permitted,
        }
    })
}

/// What a marking says against a class and a diameter: the text that differs.
pub(super) fn contradiction(
    marking: &Marking,
    class: ElectrodeClass,
    diameter: Diameter,
) -> Option<String> {
    if let Some(odd) = marking.odd_size() {
        return Some(odd.to_owned());
    }
    let size = marking.sizes().iter().find(|size| size.value != diameter);
    if let Some(size) = size {
        return Some(size.value.to_string());
    }
    let read = marking.classes().iter().find(|read| read.value != class);
    read.map(|read| read.value.to_string())
}

/// Whether a thing is named as the procedure names it: in one of the systems in which it permits it.
/// What is not printed is named as it was set up, which is in millimetres and by ISO 6848.
pub(super) fn is_named_alike<T: PartialEq + Copy>(
    permitted: Option<&Vec<Written<T>>>,
    (value, printed): (T, &[Written<T>]),
) -> bool {
    let Some(permitted) = permitted else {
        return true;
    };
    let is_permitted = |system: System| permitted.contains(&Written { value, system });
    match printed {
        [] => is_permitted(System::Metric),
        printed => printed.iter().any(|printed| is_permitted(printed.system)),
    }
}

/// Whether a text is among others, but for blanks and case.
pub(super) fn is_among(text: &str, permitted: &[String]) -> bool {
    let text = squeezed(text);
    permitted
        .iter()
        .any(|permitted| squeezed(permitted) == text)
}
