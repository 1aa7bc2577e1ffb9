//! When a caution is shown, as data: the moments of the work, what a moment is about, and one list of
//! which hazard belongs where. Nothing else decides it, so that no answer picks by hand.

use super::Hazard;
use crate::class::ElectrodeClass;
use crate::named::named;
use crate::part::{PartKind, PartSpec};

named! {
    /// A moment of the work at which an answer is read.
    Moment, "moment" {
        /// Goods come in.
        Receiving = "receiving",
        /// A part is taken or issued.
        Taking = "taking",
        /// A part is put back.
        PuttingBack = "putting-back",
        /// A part is scrapped.
        Scrapping = "scrapping",
        /// Stock is moved to another site, or back to the supplier.
        Moving = "moving",
        /// An electrode is ground.
        Grinding = "grinding",
        /// A gas cylinder was swapped.
        CylinderSwap = "cylinder-swap",
        /// A part broke or was lost.
        BrokeOrLost = "broke-or-lost",
        /// Stubs go into the jar.
        StubAdded = "stub-added",
        /// Stubs come out of the jar.
        StubTaken = "stub-taken",
        /// The stub jar is looked into.
        StubJar = "stub-jar",
        /// A kit is checked.
        KitCheck = "kit-check",
        /// Parts are changed on a torch.
        SetUpChange = "set-up-change",
        /// Parts do not go together.
        Mismatch = "mismatch",
        /// The stock is held against a procedure.
        ProcedureMatch = "procedure-match",
        /// A rule of a site is set.
        SiteRule = "site-rule",
        /// A job is planned.
        JobPlan = "job-plan",
        /// A course is planned.
        CoursePlan = "course-plan",
        /// The sheet of a station is read.
        StationSheet = "station-sheet",
        /// Advice on electrodes is read.
        ElectrodeAdvice = "electrode-advice",
    }
}

named! {
    /// A condition of the work that calls for a caution.
    Condition, "condition of the work" {
        /// The back of the weld is purged.
        Purge = "purge",
        /// In a vessel, a pit or another enclosed place.
        Enclosed = "enclosed",
        /// Stainless steel.
        Stainless = "stainless",
        /// Metal with a coating, plated or painted.
        Coated = "coated",
    }
}

/// What a moment is about.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct About {
    /// The classes of the electrodes that are meant.
    pub classes: Vec<ElectrodeClass>,
    /// The kinds of the parts that are meant.
    pub kinds: Vec<PartKind>,
    /// The conditions of the work.
    pub conditions: Vec<Condition>,
}

impl About {
    /// About parts, with the classes of the electrodes among them.
    pub fn parts<'s>(specs: impl IntoIterator<Item = &'s PartSpec>) -> Self {
        let mut about = Self::default();
        for spec in specs {
            about.kinds.push(spec.kind());
            about.classes.extend(spec.class());
        }
        about
    }

    /// About electrodes of some classes, without parts.
    pub fn classes(classes: impl IntoIterator<Item = ElectrodeClass>) -> Self {
        Self {
            classes: classes.into_iter().collect(),
            ..Self::default()
        }
    }

    /// The same under those conditions.
    #[must_use]
    pub fn under(self, conditions: Vec<Condition>) -> Self {
        Self { conditions, ..self }
    }
}

/// What must be the case at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Nothing more.
    Always,
    /// An electrode is of a thoriated class.
    Thoriated,
    /// An electrode is of a class that does not tell its oxide.
    Unidentified,
    /// A part is of one of these kinds.
    Kinds(&'static [PartKind]),
    /// The work is of one of these conditions.
    Conditions(&'static [Condition]),
}

impl When {
    fn holds(self, about: &About) -> bool {
        match self {
            Self::Always => true,
            Self::Thoriated => about.classes.iter().any(|class| is_thoriated(*class)),
            Self::Unidentified => about.classes.iter().any(|class| is_unidentified(*class)),
            Self::Kinds(kinds) => kinds.iter().any(|kind| about.kinds.contains(kind)),
            Self::Conditions(any) => any.iter().any(|one| about.conditions.contains(one)),
        }
    }

    /// The case in words; nothing for always.
    pub fn says(self) -> Option<String> {
        match self {
            Self::Always => None,
            Self::Thoriated => Some("an electrode of a thoriated class".to_owned()),
            Self::Unidentified => {
                Some("an electrode of unknown class, or of the general class".to_owned())
            }
            Self::Kinds(kinds) => {
                let nouns: Vec<&str> = kinds.iter().map(|kind| kind.noun()).collect();
                Some(nouns.join(", "))
            }
            Self::Conditions(any) => {
                let words: Vec<&str> = any.iter().map(|one| one.as_str()).collect();
                Some(format!("work told as {}", words.join(" or ")))
            }
        }
    }
}

fn is_unidentified(class: ElectrodeClass) -> bool {
    matches!(class, ElectrodeClass::Unidentified | ElectrodeClass::Wg)
}

fn is_thoriated(class: ElectrodeClass) -> bool {
    class.is_possibly_thoriated() && !is_unidentified(class)
}

/// Where a hazard is told of.
#[derive(Debug, Clone, Copy)]
pub struct Context {
    /// The hazard.
    pub hazard: Hazard,
    /// At any of these moments,
    pub moments: &'static [Moment],
    /// if this is the case.
    pub when: When,
}

/// Moments at which an electrode is in somebody's hands, or is about to be.
const AT_HAND: &[Moment] = &[
    Moment::Receiving,
    Moment::Taking,
    Moment::PuttingBack,
    Moment::Scrapping,
    Moment::Moving,
    Moment::Grinding,
    Moment::BrokeOrLost,
    Moment::StubAdded,
    Moment::StubTaken,
    Moment::StubJar,
    Moment::KitCheck,
    Moment::SetUpChange,
    Moment::ProcedureMatch,
    Moment::JobPlan,
    Moment::CoursePlan,
    Moment::ElectrodeAdvice,
];

/// Which hazard is told of where, in the order in which they are told.
pub const CONTEXTS: &[Context] = &[
    Context {
        hazard: Hazard::ArcRadiation,
        moments: &[
            Moment::CoursePlan,
            Moment::StationSheet,
            Moment::ElectrodeAdvice,
        ],
        when: When::Always,
    },
    Context {
        hazard: Hazard::LiveTorch,
        moments: &[Moment::SetUpChange, Moment::KitCheck, Moment::JobPlan],
        when: When::Always,
    },
    Context {
        hazard: Hazard::WrongPart,
        moments: &[Moment::Mismatch],
        when: When::Always,
    },
    Context {
        hazard: Hazard::Grinding,
        moments: &[
            Moment::Grinding,
            Moment::CoursePlan,
            Moment::ElectrodeAdvice,
        ],
        when: When::Always,
    },
    Context {
        hazard: Hazard::Unidentified,
        moments: AT_HAND,
        when: When::Unidentified,
    },
    Context {
        hazard: Hazard::Thoriated,
        moments: AT_HAND,
        when: When::Thoriated,
    },
    Context {
        hazard: Hazard::Thoriated,
        moments: &[Moment::SiteRule],
        when: When::Thoriated,
    },
    Context {
        hazard: Hazard::HotParts,
        moments: &[Moment::BrokeOrLost],
        when: When::Kinds(&[
            PartKind::Cup,
            PartKind::Collet,
            PartKind::ColletBody,
            PartKind::GasLens,
        ]),
    },
    Context {
        hazard: Hazard::HotParts,
        moments: &[Moment::CoursePlan],
        when: When::Always,
    },
    // Gas that comes in or is taken is a cylinder that is swapped.
    Context {
        hazard: Hazard::Cylinders,
        moments: &[Moment::Receiving, Moment::Taking, Moment::Moving],
        when: When::Kinds(&[PartKind::ShieldingGas]),
    },
    Context {
        hazard: Hazard::Argon,
        moments: &[Moment::Receiving, Moment::Taking],
        when: When::Kinds(&[PartKind::ShieldingGas]),
    },
    Context {
        hazard: Hazard::Cylinders,
        moments: &[Moment::CylinderSwap],
        when: When::Always,
    },
    Context {
        hazard: Hazard::Argon,
        moments: &[Moment::CylinderSwap],
        when: When::Always,
    },
    Context {
        hazard: Hazard::Argon,
        moments: &[Moment::JobPlan],
        when: When::Conditions(&[Condition::Purge, Condition::Enclosed]),
    },
    Context {
        hazard: Hazard::Fume,
        moments: &[Moment::JobPlan],
        when: When::Conditions(&[Condition::Stainless, Condition::Coated]),
    },
];

/// The hazards of those moments, for what they are about, each once and in the order of
/// [`CONTEXTS`].
pub fn hazards_at(moments: &[Moment], about: &About) -> Vec<Hazard> {
    let mut hazards = Vec::new();
    for context in CONTEXTS {
        let is_now = context.moments.iter().any(|one| moments.contains(one));
        if is_now && context.when.holds(about) && !hazards.contains(&context.hazard) {
            hazards.push(context.hazard);
        }
    }
    hazards
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything that a moment could be about.
    fn everything() -> About {
        About {
            classes: ElectrodeClass::ALL.to_vec(),
            kinds: PartKind::ALL.to_vec(),
            conditions: Condition::ALL.to_vec(),
        }
    }

    // The rows are the places that a shop's own list of cautions names, written out again.
    #[test]
    fn each_hazard_is_told_of_where_it_belongs_and_nowhere_else() {
        let on_hand = "receiving taking putting-back scrapping moving grinding broke-or-lost \
                       stub-added stub-taken stub-jar kit-check set-up-change procedure-match \
                       job-plan course-plan electrode-advice";
        let thoriated = format!("{on_hand} site-rule");
        for (hazard, moments) in [
            (
                Hazard::ArcRadiation,
                "course-plan station-sheet electrode-advice",
            ),
            (Hazard::LiveTorch, "set-up-change kit-check job-plan"),
            (Hazard::WrongPart, "mismatch"),
            (Hazard::Grinding, "grinding course-plan electrode-advice"),
            (Hazard::Unidentified, on_hand),
            (Hazard::Thoriated, &thoriated),
            (Hazard::HotParts, "broke-or-lost course-plan"),
            (Hazard::Cylinders, "receiving taking moving cylinder-swap"),
            (Hazard::Argon, "receiving taking cylinder-swap job-plan"),
            (Hazard::Fume, "job-plan"),
        ] {
            for moment in Moment::ALL {
                let told = hazards_at(&[*moment], &everything()).contains(&hazard);
                let expected = moments.split(' ').any(|name| name == moment.as_str());
                assert_eq!(told, expected, "{hazard:?} at {moment:?}");
            }
        }
    }

    #[test]
    fn a_course_and_a_station_have_their_cautions_without_an_answer_of_their_own() {
        let course = hazards_at(&[Moment::CoursePlan], &About::default());
        assert_eq!(
            course,
            [Hazard::ArcRadiation, Hazard::Grinding, Hazard::HotParts]
        );
        let station = hazards_at(&[Moment::StationSheet], &About::default());
        assert_eq!(station, [Hazard::ArcRadiation]);
    }

    #[test]
    fn what_a_moment_is_about_decides() {
        let at = |moment, about: &About| hazards_at(&[moment], about);
        let pure = About::classes([ElectrodeClass::WLa20]);
        assert!(at(Moment::Taking, &pure).is_empty());
        let thoriated = About::classes([ElectrodeClass::WTh10]);
        assert_eq!(at(Moment::Taking, &thoriated), [Hazard::Thoriated]);
        for unknown in [ElectrodeClass::Unidentified, ElectrodeClass::Wg] {
            let unknown = About::classes([unknown]);
            assert_eq!(at(Moment::StubAdded, &unknown), [Hazard::Unidentified]);
            assert!(at(Moment::SiteRule, &unknown).is_empty());
        }
        let gas = PartSpec::ShieldingGas {
            mixture: "argon".to_owned(),
        };
        let gas = About::parts([&gas]);
        assert_eq!(at(Moment::Taking, &gas), [Hazard::Cylinders, Hazard::Argon]);
        assert!(at(Moment::BrokeOrLost, &gas).is_empty());
        let purged = About::default().under(vec![Condition::Purge]);
        assert_eq!(
            at(Moment::JobPlan, &purged),
            [Hazard::LiveTorch, Hazard::Argon]
        );
        assert!(at(Moment::Taking, &purged).is_empty());
        assert!(hazards_at(&[], &everything()).is_empty());
    }

    #[test]
    fn every_hazard_has_a_moment_and_every_moment_a_hazard() {
        for hazard in Hazard::ALL {
            assert!(CONTEXTS.iter().any(|it| it.hazard == *hazard), "{hazard:?}");
        }
        for moment in Moment::ALL {
            let has = |it: &Context| it.moments.contains(moment);
            assert!(CONTEXTS.iter().any(has), "{moment:?}");
        }
    }
}
