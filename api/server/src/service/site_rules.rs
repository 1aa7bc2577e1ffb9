//! What the rule of a site means for a part or a stub there, and how it is told. The rule itself is
//! the domain's; that held goods count as none is the level's.

use domain::class::ElectrodeClass;
use domain::site_rule::{Barred, SiteRule, Verdict};

use super::Error;
use crate::store::entity::{parts, sites};

/// The state of a part, none of which may be used because somebody set it aside.
pub const HELD: &str = "held";
/// The state of a part that the rule of the site bars.
pub const NOT_PERMITTED: &str = "not permitted here";

/// The rule of a site. One that cannot be read bars everything, so that a fault never lets in what
/// was meant to stay out.
pub fn rule(site: &sites::Model) -> SiteRule {
    let words = site.barred.as_deref().unwrap_or_default();
    let words = words
        .split(',')
        .map(str::trim)
        .filter(|word| !word.is_empty());
    let everything = || SiteRule::new(ElectrodeClass::ALL.map(Barred::Class));
    SiteRule::parse_all(words).unwrap_or_else(|_| everything())
}

/// What the site's rule says of a class as the database keeps it; a class that cannot be read is not
/// known.
pub fn of_class(site: &sites::Model, class: &str) -> Verdict {
    if site.barred.is_none() {
        return Verdict::Permitted;
    }
    let class = ElectrodeClass::parse(class).unwrap_or(ElectrodeClass::Unidentified);
    rule(site).verdict(class)
}

/// What the site's rule says of a part; only electrodes have a class.
pub fn of_part(site: &sites::Model, part: &parts::Model) -> Verdict {
    let class = part.class.as_deref();
    class.map_or(Verdict::Permitted, |class| of_class(site, class))
}

/// Why something is held by a rule: `not permitted at Tarnbridge`.
pub fn held_because(site: &sites::Model, verdict: Verdict) -> Option<String> {
    match verdict {
        Verdict::Permitted => None,
        Verdict::Barred => Some(format!("not permitted at {}", site.name)),
        Verdict::Unknown => Some(format!("of unknown class, not permitted at {}", site.name)),
    }
}

/// A plan with a part that the site bars is refused; there is no override, only the way out.
///
/// # Errors
/// [`Error::Invalid`] at `pointer`, with part, site, rule and `way_out`.
pub fn check_plan(
    (site, part): (&sites::Model, &parts::Model),
    pointer: impl Into<String>,
    way_out: &str,
) -> Result<(), Error> {
    let Some(because) = held_because(site, of_part(site, part)) else {
        return Ok(());
    };
    let (code, barred) = (&part.code, rule(site));
    let why = format!("{code} is {because}, whose rule bars {barred}; {way_out}");
    Err(Error::invalid(pointer, why))
}
