//! The cautions that go with entries: at which moments an entry is read, and which parts it is
//! about. Which hazard is told of then is the domain's.

use domain::class::ElectrodeClass;
use domain::ledger::MovementKind;
use domain::part::PartKind;
use domain::safety::{About, Moment, cautions_at};
use types::{NewUsage, StubMove, What};

use crate::store::entity::parts;

/// The cautions of those moments, for those parts.
pub(super) fn of_parts(moments: &[Moment], parts: &[&parts::Model]) -> Vec<String> {
    let kinds = parts.iter();
    let kinds = kinds.filter_map(|part| PartKind::parse(&part.kind).ok());
    let classes = parts.iter().filter_map(|part| part.class.as_deref());
    let about = About {
        kinds: kinds.collect(),
        classes: classes
            .filter_map(|class| ElectrodeClass::parse(class).ok())
            .collect(),
        conditions: Vec::new(),
    };
    cautions_at(moments, &about)
}

/// The moments of an entry of use. Arc time alone is none: nobody has a part in hand.
pub(super) fn of_use(usage: &NewUsage, what: Option<What>, ground: bool) -> Vec<Moment> {
    let done = what.map(|what| match what {
        What::Ground => Moment::Grinding,
        What::Took => Moment::Taking,
        What::PutBack => Moment::PuttingBack,
        What::Broke | What::Lost => Moment::BrokeOrLost,
        What::Stub => Moment::StubAdded,
    });
    let ground = ground.then_some(Moment::Grinding);
    let swapped = usage.cylinder.as_ref().map(|_| Moment::CylinderSwap);
    done.into_iter().chain(ground).chain(swapped).collect()
}

/// The moments of a movement. Pieces that are only set aside, or promised, are in nobody's hands.
pub(super) fn of_movement(kind: MovementKind) -> &'static [Moment] {
    match kind {
        MovementKind::Receipt => &[Moment::Receiving],
        MovementKind::Issue => &[Moment::Taking],
        MovementKind::Return => &[Moment::PuttingBack],
        MovementKind::Scrap => &[Moment::Scrapping],
        MovementKind::Transfer | MovementKind::SupplierReturn => &[Moment::Moving],
        MovementKind::Adjustment
        | MovementKind::Hold
        | MovementKind::Release
        | MovementKind::UnloggedUse
        | MovementKind::Allocation => &[],
    }
}

/// The cautions that go with stubs of a class, put into the jar or taken out of it.
pub(super) fn of_stubs(what: StubMove, class: ElectrodeClass) -> Vec<String> {
    let moment = match what {
        StubMove::Add => Moment::StubAdded,
        StubMove::Take => Moment::StubTaken,
        StubMove::Scrap => Moment::Scrapping,
    };
    cautions_at(&[moment], &About::classes([class]))
}
