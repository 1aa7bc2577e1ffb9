//! Written procedures and their revisions: what a revision fixes or permits. A revision is never
//! changed; another one follows it.

use chrono::{DateTime, Utc};
use domain::class::ElectrodeClass;
use domain::code::Code;
use domain::part::Arrangement;
use domain::procedure::{Requirement, TipAngle, Written};
use domain::size::{CupNumber, Diameter, RodLength};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// The longest list of a requirement.
const LIST_MAX: usize = 32;
/// The highest number of a revision.
const REVISION_MAX: i64 = 9_999;

/// What a revision of a procedure permits. What is left out is not fixed; a list permits what is on it
/// and nothing else. Write sizes and classes as the procedure has them, in millimetres and by ISO 6848
/// or in inches and by AWS A5.12: a marking of the other system needs a signed equivalence.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProcedureRequirement {
    /// Electrode classes, ISO 6848 or AWS A5.12. The general class is permitted by `grades`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = json!(["WLa20"]), max_items = 32)]
    pub classes: Option<Vec<String>>,
    /// Electrodes of the general class WG, by the grade that their maker declares. Each needs a
    /// sign-off besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 32)]
    pub grades: Option<Vec<String>>,
    /// Named electrode diameters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = json!(["2.4 mm"]), max_items = 32)]
    pub diameters: Option<Vec<String>>,
    /// The length of the electrode as delivered, with its unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<String>,
    /// The angle of the ground tip in degrees, included. It is shown, and no part is held against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 30, minimum = 10, maximum = 180)]
    pub tip_angle: Option<i64>,
    /// Cup numbers, or bores as tables print them: `7`, `11 mm`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = json!(["7"]), max_items = 32)]
    pub cups: Option<Vec<String>>,
    /// Arrangements of the front end: `standard`, `gas-lens`, `large-gas-lens`, `short-nose`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 32)]
    pub arrangements: Option<Vec<String>>,
    /// Shielding gases as designated, for instance by ISO 14175.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 32)]
    pub gases: Option<Vec<String>>,
    /// Filler rods by classification.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 32)]
    pub fillers: Option<Vec<String>>,
    /// Whether one permitted part may take the place of another, and a marking of one system of names
    /// that of the other. Not, unless told: then each electrode and filler rod is known by its lot.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub substitution: bool,
}

/// A procedure with its first revision.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewProcedure {
    /// The short name of the procedure.
    #[schema(example = "PROC-07")]
    pub code: String,
    /// What it is for; the code unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The number of the revision that is entered; 0 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 2, minimum = 0, maximum = 9999)]
    pub revision: Option<i64>,
    /// Who answers for the procedure, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub responsible: Option<String>,
    /// What it permits.
    pub requires: ProcedureRequirement,
}

/// A new revision of a procedure.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewRevision {
    /// Its number, above that of the newest; the next one unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 3, minimum = 0, maximum = 9999)]
    pub revision: Option<i64>,
    /// Who answers for it, as the shop calls them; the same as before unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub responsible: Option<String>,
    /// Why it was revised.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// What it permits; nothing is taken over from the revision before, and no signature either.
    pub requires: ProcedureRequirement,
}

/// A revision of a procedure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Revision {
    /// The code of the procedure.
    pub procedure: String,
    /// Its number.
    pub revision: i64,
    /// Who answers for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub responsible: Option<String>,
    /// Why it was revised.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// What it permits, as it was written.
    pub requires: ProcedureRequirement,
    /// When it was entered.
    pub made_at: DateTime<Utc>,
    /// The revision in words.
    #[schema(example = "PROC-07 rev 2: class WLa20, diameter 2.4 mm, no substitution.")]
    pub says: String,
}

/// A procedure with its newest revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Procedure {
    /// The short name of the procedure.
    pub code: String,
    /// What it is for.
    pub name: String,
    /// The newest revision.
    pub newest: Revision,
    /// The numbers of all revisions, oldest first.
    pub revisions: Vec<i64>,
    /// When it was entered.
    pub created_at: DateTime<Utc>,
}

/// A page of procedures.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct ProcedurePage {
    /// The procedures by code.
    pub procedures: Vec<Procedure>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// A page of revisions.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct RevisionPage {
    /// The revisions, oldest first.
    pub revisions: Vec<Revision>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a procedure.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct ProcedurePath {
    /// The code of the procedure.
    pub procedure: String,
}

/// Names a revision of a procedure.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct RevisionPath {
    /// The code of the procedure.
    pub procedure: String,
    /// The number of the revision.
    pub revision: String,
}

impl ProcedureRequirement {
    /// What it means, or everything that is wrong, under the field that holds it.
    fn read(&self, checker: &mut Checker) -> Option<Requirement> {
        let before = checker.noted();
        let requirement = Requirement {
            classes: list(checker, "classes", self.classes.as_deref(), |text| {
                Written::<ElectrodeClass>::parse(text)
            }),
            grades: texts(checker, "grades", self.grades.as_deref()),
            diameters: list(checker, "diameters", self.diameters.as_deref(), |text| {
                Written::<Diameter>::parse(text)
            }),
            length: checker.take_opt("requires/length", self.length.as_deref(), RodLength::parse),
            tip_angle: checker.take_opt(
                "requires/tip_angle",
                self.tip_angle.as_ref(),
                |angle: &i64| TipAngle::new(*angle),
            ),
            cups: list(checker, "cups", self.cups.as_deref(), CupNumber::parse),
            arrangements: list(
                checker,
                "arrangements",
                self.arrangements.as_deref(),
                Arrangement::parse,
            ),
            gases: texts(checker, "gases", self.gases.as_deref()),
            fillers: texts(checker, "fillers", self.fillers.as_deref()),
            substitution: self.substitution,
        };
        if checker.noted() > before {
            return None;
        }
        match requirement.validated() {
            Ok(requirement) => Some(requirement),
            Err(error) => {
                let field = error.field();
                let field =
                    field.map_or_else(|| "requires".to_owned(), |it| format!("requires/{it}"));
                checker.note(&field, error);
                None
            }
        }
    }

    /// What it means.
    ///
    /// # Errors
    /// One violation a field.
    pub fn requirement(&self) -> Result<Requirement, Vec<Violation>> {
        let mut checker = Checker::default();
        let read = self.read(&mut checker);
        checker.finish()?;
        read.ok_or_else(Vec::new)
    }
}

/// A list each of whose entries is read on its own.
fn list<T, E: std::fmt::Display>(
    checker: &mut Checker,
    field: &str,
    told: Option<&[String]>,
    parse: impl Fn(&str) -> Result<T, E>,
) -> Option<Vec<T>> {
    let told = told?;
    if told.len() > LIST_MAX {
        let why = format!("{} entries; give at most {LIST_MAX}", told.len());
        checker.note(&format!("requires/{field}"), why);
    }
    let read = told.iter().enumerate().filter_map(|(index, text)| {
        checker.take(&format!("requires/{field}/{index}"), parse(text))
    });
    Some(read.collect())
}

fn texts(checker: &mut Checker, field: &str, told: Option<&[String]>) -> Option<Vec<String>> {
    list(checker, field, told, |text| {
        Ok::<_, std::convert::Infallible>(text.trim().to_owned())
    })
}

impl NewProcedure {
    /// The number of the revision and what it permits, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(i64, Requirement), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("procedure", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.text("responsible", self.responsible.as_deref(), 80);
        let revision = self.revision.unwrap_or(0);
        checker.range("revision", revision, 0, REVISION_MAX);
        let requirement = self.requires.read(&mut checker);
        checker.finish()?;
        Ok((revision, requirement.ok_or_else(Vec::new)?))
    }
}

impl NewRevision {
    /// What it permits, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<Requirement, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("responsible", self.responsible.as_deref(), 80);
        checker.text("why", self.why.as_deref(), 400);
        if let Some(revision) = self.revision {
            checker.range("revision", revision, 0, REVISION_MAX);
        }
        let requirement = self.requires.read(&mut checker);
        checker.finish()?;
        requirement.ok_or_else(Vec::new)
    }
}
