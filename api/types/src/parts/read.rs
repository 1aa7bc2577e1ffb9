//! From the flat fields of the wire to the specification of the domain, with every fault named.

use domain::class::ElectrodeClass;
use domain::code::Code;
use domain::named::ParseNameError;
use domain::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, PartSpec};
use domain::size::{CupNumber, Diameter, RodLength};

use super::NewPart;
use crate::{Checker, Violation};

const ARRANGEMENTS: &str = "standard, gas-lens, large-gas-lens or short-nose";

impl NewPart {
    /// The specification, or everything that is wrong with it.
    ///
    /// # Errors
    /// One violation a field.
    pub fn spec(&self) -> Result<PartSpec, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("part", &self.code));
        checker.text("marking", self.marking.as_deref(), 80);
        checker.text("grade", self.grade.as_deref(), 120);
        checker.text("note", self.note.as_deref(), 400);
        checker.text("composition", self.composition.as_deref(), 80);
        for (field, value, max) in [
            ("renew_months", self.renew_months, 600),
            ("renew_removals", self.renew_removals, 100_000),
        ] {
            if let Some(value) = value {
                checker.range(field, value, 1, max);
            }
        }
        for (index, assumption) in self.starting_assumptions.iter().enumerate() {
            checker.take(&format!("starting_assumptions/{index}"), assumption.gamma());
        }
        let spec = checker
            .take("kind", PartKind::parse(&self.kind))
            .and_then(|kind| {
                Reader {
                    part: self,
                    kind,
                    checker: &mut checker,
                }
                .spec()
            })
            .and_then(|spec| checker.take("arrangement", spec.validated()));
        checker.finish()?;
        spec.ok_or_else(|| vec![Violation::new("/kind", "is missing")])
    }
}

/// Reads the fields of one part, noting what is wrong.
struct Reader<'r> {
    part: &'r NewPart,
    kind: PartKind,
    checker: &'r mut Checker,
}

impl Reader<'_> {
    fn spec(&mut self) -> Option<PartSpec> {
        self.refuse_foreign_fields();
        match self.kind {
            PartKind::Electrode => self.electrode(),
            PartKind::Collet => self.collet(),
            PartKind::ColletBody => {
                let (diameter, arrangement, family) = self.body("standard");
                Some(PartSpec::ColletBody {
                    diameter: diameter?,
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::GasLens => {
                let (diameter, arrangement, family) = self.body("gas-lens");
                Some(PartSpec::GasLens {
                    diameter: diameter?,
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::Cup => self.cup(),
            PartKind::BackCap => {
                let length = self.part.length.as_deref();
                let length = self.word("length", length, "short, medium or long", CapLength::parse);
                let family = self.family();
                Some(PartSpec::BackCap {
                    length: length?,
                    family: family?,
                })
            }
            PartKind::ORing => Some(PartSpec::ORing {
                family: self.family()?,
            }),
            PartKind::Insulator => {
                let (arrangement, family) = (self.arrangement("standard"), self.family());
                Some(PartSpec::Insulator {
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::ShieldingGas => {
                let mixture = self.composition("give the mixture, such as \"argon\"");
                Some(PartSpec::ShieldingGas { mixture: mixture? })
            }
            PartKind::FillerRod => {
                let classification = self.composition("give the classification on the packet");
                let diameter = self.diameter();
                Some(PartSpec::FillerRod {
                    classification: classification?,
                    diameter: diameter?,
                })
            }
            PartKind::TungstenWheel => Some(PartSpec::TungstenWheel),
        }
    }

    fn electrode(&mut self) -> Option<PartSpec> {
        let length = self.part.length.as_deref();
        let length = self.checker.take_opt("length", length, RodLength::parse);
        let class = self.part.class.as_deref();
        let class = self.checker.need(
            "class",
            class,
            "give the class, such as WLa20, or unidentified",
        );
        let class =
            class.and_then(|class| self.checker.take("class", ElectrodeClass::parse(class)));
        if self.part.grade.is_some() && class.is_some_and(|class| class != ElectrodeClass::Wg) {
            let why = "only the general class WG has a grade that its maker declares; leave it out";
            self.checker.note("grade", why);
        }
        let diameter = self.diameter();
        Some(PartSpec::Electrode {
            class: class?,
            diameter: diameter?,
            length,
        })
    }

    fn collet(&mut self) -> Option<PartSpec> {
        let length = self.part.length.as_deref().or(Some("standard"));
        let length = self.word("length", length, "standard or short", ColletLength::parse);
        let (diameter, family) = (self.diameter(), self.family());
        Some(PartSpec::Collet {
            diameter: diameter?,
            length: length?,
            family: family?,
        })
    }

    fn body(&mut self, usual: &str) -> (Option<Diameter>, Option<Arrangement>, Option<BodyFamily>) {
        (self.diameter(), self.arrangement(usual), self.family())
    }

    fn cup(&mut self) -> Option<PartSpec> {
        let number = self.cup_number();
        let seat = self.part.seat.as_deref();
        let seat = self.word(
            "seat",
            seat,
            "standard, gas-lens or large-gas-lens",
            CupSeat::parse,
        );
        let family = self.family();
        Some(PartSpec::Cup {
            number: number?,
            seat: seat?,
            family: family?,
        })
    }

    /// The number that is given, or that of the bore; both must mean the same cup.
    fn cup_number(&mut self) -> Option<CupNumber> {
        let bore = self.part.bore.as_deref();
        let by_bore = self.checker.take_opt("bore", bore, CupNumber::from_bore);
        let Some(number) = self.part.cup_number else {
            let remedy = "give the number of the cup, such as 7, or its bore, such as \"7/16 in\"";
            return match bore {
                None => self.checker.need("cup_number", None, remedy),
                Some(_) => by_bore,
            };
        };
        let number = self.checker.take("cup_number", CupNumber::new(number));
        if let (Some(number), Some(by_bore), Some(bore)) = (number, by_bore, bore)
            && number != by_bore
        {
            let why = format!("{bore} is cup no. {by_bore}, not no. {number}; give one of the two");
            self.checker.note("bore", why);
        }
        number
    }

    fn diameter(&mut self) -> Option<Diameter> {
        let diameter = self.part.diameter.as_deref();
        let diameter = self.checker.need(
            "diameter",
            diameter,
            "give a named diameter, such as \"2.4 mm\"",
        )?;
        self.checker.take("diameter", Diameter::parse(diameter))
    }

    fn family(&mut self) -> Option<BodyFamily> {
        self.word(
            "family",
            self.part.family.as_deref(),
            "small or large",
            BodyFamily::parse,
        )
    }

    fn arrangement(&mut self, usual: &str) -> Option<Arrangement> {
        let arrangement = self.part.arrangement.as_deref().or(Some(usual));
        self.word("arrangement", arrangement, ARRANGEMENTS, Arrangement::parse)
    }

    fn composition(&mut self, remedy: &str) -> Option<String> {
        self.checker
            .need("composition", self.part.composition.clone(), remedy)
    }

    fn word<T>(
        &mut self,
        field: &str,
        value: Option<&str>,
        choices: &str,
        parse: impl FnOnce(&str) -> Result<T, ParseNameError>,
    ) -> Option<T> {
        let word = self
            .checker
            .need(field, value, &format!("give {choices}"))?;
        self.checker.take(field, parse(word))
    }

    /// A field of another kind is a mistake that would otherwise be lost in silence.
    fn refuse_foreign_fields(&mut self) {
        use PartKind as K;
        let part = self.part;
        let bodies = [K::Collet, K::ColletBody, K::GasLens];
        let fitted = [K::Cup, K::BackCap, K::ORing, K::Insulator];
        let is = |kinds: &[K]| kinds.contains(&self.kind);
        let foreign = [
            ("class", part.class.is_some(), is(&[K::Electrode])),
            ("grade", part.grade.is_some(), is(&[K::Electrode])),
            (
                "diameter",
                part.diameter.is_some(),
                is(&bodies) || is(&[K::Electrode, K::FillerRod]),
            ),
            (
                "length",
                part.length.is_some(),
                is(&[K::Electrode, K::Collet, K::BackCap]),
            ),
            ("family", part.family.is_some(), is(&bodies) || is(&fitted)),
            (
                "arrangement",
                part.arrangement.is_some(),
                is(&[K::ColletBody, K::GasLens, K::Insulator]),
            ),
            ("cup_number", part.cup_number.is_some(), is(&[K::Cup])),
            ("bore", part.bore.is_some(), is(&[K::Cup])),
            ("seat", part.seat.is_some(), is(&[K::Cup])),
            ("renew_months", part.renew_months.is_some(), is(&[K::ORing])),
            (
                "renew_removals",
                part.renew_removals.is_some(),
                is(&[K::ORing]),
            ),
            (
                "composition",
                part.composition.is_some(),
                is(&[K::ShieldingGas, K::FillerRod]),
            ),
        ];
        for (field, given, belongs) in foreign {
            if given && !belongs {
                self.checker.note(
                    field,
                    format!("a {} has no {field}; leave it out", self.kind.noun()),
                );
            }
        }
    }
}
