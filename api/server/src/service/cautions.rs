//! The cautions as data. They are the domain's, and the same for every caller.

use domain::safety::{CLOSING, CONTEXTS, Hazard};
use types::{Caution, CautionContext, CautionList};

/// Every caution, its text, and where it is told of.
pub fn list() -> CautionList {
    let cautions = Hazard::ALL.iter().map(|hazard| Caution {
        hazard: hazard.as_str().to_owned(),
        text: hazard.text().to_owned(),
        shown: shown(*hazard),
    });
    CautionList {
        cautions: cautions.collect(),
        closing: CLOSING.to_owned(),
    }
}

fn shown(hazard: Hazard) -> Vec<CautionContext> {
    let contexts = CONTEXTS.iter().filter(|context| context.hazard == hazard);
    let shown = contexts.map(|context| CautionContext {
        moments: context
            .moments
            .iter()
            .map(|moment| moment.as_str().to_owned())
            .collect(),
        about: context.when.says(),
    });
    shown.collect()
}
