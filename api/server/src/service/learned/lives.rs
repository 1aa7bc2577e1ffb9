//! What follows from the lives of an electrode: from one change at a torch to the next, as its shop logged them. Use
//! at random is in the parent.

use std::collections::{BTreeMap, BTreeSet};

use domain::exposure::Driver;
use domain::forecast::{Target, need};
use domain::ledger::MovementKind;
use domain::part::PartKind;
use domain::predictive::CountTable;
use domain::wear::gamma_life::{GammaLife, Happened, Lives, Position, Regularity, lives};
use sea_orm::ConnectionTrait;
use types::ForecastLives;

use super::{Learned, Whose, short};
use crate::service::Error;
use crate::store::entity::parts as part_rows;
use crate::store::past::{self, Change, ExposedAt};

/// So many of the newest changes are read.
const CHANGES_MAX: u64 = 201;
/// And so many entries of work since, of all torches together: enough for the lives of years where work is logged by
/// the day, and no more to read after a million entries than after a thousand.
const ENTRIES_MAX: u64 = 1_000;

/// Use by lives that are more regular than chance.
#[derive(Clone, Debug)]
pub struct ByLives {
    life: GammaLife,
    age: f64,
    /// Use over the work.
    pub uses: CountTable,
}

/// What the lives of an electrode say, whether or not they are gone by.
#[derive(Clone, Debug)]
pub struct Known {
    /// What is told of them.
    pub told: ForecastLives,
    /// Where they are gone by.
    pub by_lives: Option<ByLives>,
    /// Whether there is older work that was not read.
    is_cut: bool,
}

/// What is on record of a part.
struct Record {
    /// The whole lives.
    lives: Lives,
    /// The age of what is in each torch.
    ages: BTreeMap<i64, f64>,
    /// Whether there is older work that was not read.
    is_cut: bool,
}

impl ByLives {
    /// Use over so much of the driver by the torch of the work, from now on.
    ///
    /// # Errors
    /// A fault of ours: figures that no check lets in.
    pub fn over(&self, exposure: f64) -> Result<CountTable, Error> {
        let position = Position {
            age: self.age,
            exposure,
        };
        let uses = self.life.over(&[position]);
        uses.map_err(|error| Error::Internal(error.to_string()))
    }
}

/// What the lives of a part say of the work, which they are gone by if its torch is named; nothing of a part that is
/// no electrode, that goes by the week, or that was never changed at a torch.
///
/// # Errors
/// A failure of the store, or a fault of ours.
pub async fn of(
    db: &impl ConnectionTrait,
    (part, learned): (&part_rows::Model, &Learned),
    whose: Whose<'_>,
    torch: Option<i64>,
) -> Result<Option<Known>, Error> {
    let is_electrode = part.kind == PartKind::Electrode.as_str();
    let by_work = matches!(learned.driver, Driver::ArcTime | Driver::Grinds);
    if !is_electrode || !by_work {
        return Ok(None);
    }
    let record = read(db, (part.id, whose), learned.driver).await?;
    if record.lives.whole() == 0 && !record.is_cut {
        return Ok(None);
    }
    Known::learned((&record, torch), learned).map(Some)
}

/// The lives on record, as far back as is read.
async fn read(
    db: &impl ConnectionTrait,
    (part, whose): (i64, Whose<'_>),
    driver: Driver,
) -> Result<Record, Error> {
    let kinds = MovementKind::ALL
        .iter()
        .filter(|kind| kind.wear_events(1) != 0);
    let kinds: Vec<&str> = kinds.map(|kind| kind.as_str()).collect();
    let facts = whose.view.facts();
    let found = past::changes(db, (part, whose.site), &kinds, (facts, CHANGES_MAX)).await?;
    let Some(since) = found.last().map(|change| change.happened_at) else {
        return Ok(Record {
            lives: Lives::NONE,
            ages: BTreeMap::new(),
            is_cut: false,
        });
    };
    let torches: BTreeSet<i64> = found.iter().filter_map(|change| change.torch_id).collect();
    let limit = ENTRIES_MAX / u64::try_from(torches.len()).unwrap_or(1).max(1);
    let (mut exposed, mut first) = (Vec::new(), since);
    for torch in torches {
        let rows = past::exposed_since(db, (part, torch), since, (facts, limit)).await?;
        if rows.len() as u64 >= limit {
            // What is older than the entries that were read would seem to have done nothing.
            first = rows.last().map_or(first, |row| first.max(row.happened_at));
        }
        exposed.extend(rows);
    }
    let happened = in_order(&found, &exposed, (driver, first))?;
    let (lives, ages) = lives(happened).map_err(|error| Error::Internal(error.to_string()))?;
    Ok(Record {
        lives,
        ages,
        is_cut: first > since || found.len() as u64 >= CHANGES_MAX,
    })
}

/// What happened since the first of what was read, oldest first; the work that was logged with a change was done
/// before it.
fn in_order(
    changes: &[Change],
    exposed: &[ExposedAt],
    (driver, first): (Driver, i64),
) -> Result<Vec<Happened>, Error> {
    // Rows of one instant are put together, so that what was taken back is gone.
    let mut used: BTreeMap<(i64, Option<i64>), i64> = BTreeMap::new();
    for change in changes.iter().filter(|change| change.happened_at >= first) {
        let kind = MovementKind::parse(&change.kind);
        let kind = kind.map_err(|error| Error::Internal(error.to_string()))?;
        let used = used
            .entry((change.happened_at, change.torch_id))
            .or_default();
        *used += kind.wear_events(change.quantity);
    }
    let mut worked: BTreeMap<(i64, i64), f64> = BTreeMap::new();
    for row in exposed.iter().filter(|row| row.happened_at >= first) {
        *worked.entry((row.happened_at, row.torch_id)).or_default() += match driver {
            Driver::Grinds => real(row.grinds),
            Driver::ArcTime | Driver::Weeks | Driver::StudentDays => {
                real(row.arc_seconds) / 3_600.0
            }
        };
    }
    let used = used.into_iter().filter(|(_, pieces)| *pieces != 0);
    let used = used.map(|((at, torch), pieces)| {
        let happened = match (pieces, torch) {
            (1, Some(position)) => Happened::Changed { position },
            (_, position) => Happened::Unknown { position },
        };
        (at, 1, happened)
    });
    let worked = worked.into_iter().map(|((at, position), exposure)| {
        let exposure = exposure.max(0.0);
        (at, 0, Happened::Exposed { position, exposure })
    });
    let mut all: Vec<(i64, u8, Happened)> = used.chain(worked).collect();
    all.sort_by_key(|(at, after, _)| (*at, *after));
    Ok(all.into_iter().map(|(_, _, happened)| happened).collect())
}

impl Known {
    fn learned((record, torch): (&Record, Option<i64>), learned: &Learned) -> Result<Self, Error> {
        let lives = &record.lives;
        let age = torch.and_then(|torch| record.ages.get(&torch).copied());
        let fault = |error: &dyn std::error::Error| Error::Internal(error.to_string());
        let in_use: Vec<Position> = age
            .map(|age| Position { age, exposure: 0.0 })
            .into_iter()
            .collect();
        let (life, regularity) = GammaLife::learned(&learned.assumption, lives, &in_use)
            .map_err(|error| fault(&error))?;
        let mut told = ForecastLives {
            whole: i64::try_from(lives.whole()).unwrap_or(i64::MAX),
            over: lives.exposure(),
            age,
            shape: regularity.shape(),
            bayes_factor: match regularity {
                Regularity::TooFewLives { .. } => None,
                Regularity::NotSupported { bayes_factor }
                | Regularity::Learned { bayes_factor, .. } => Some(bayes_factor),
            },
            counts: false,
            says: regularity.sentence(),
        };
        let is_learned = matches!(regularity, Regularity::Learned { .. });
        let Some(age) = age.filter(|_| is_learned) else {
            if is_learned {
                let why = if torch.is_some() {
                    "how long the one in the torch has been in is not on record"
                } else {
                    "name the torch of the work to go by that"
                };
                told.says = format!("{} Use counts as random all the same: {why}.", told.says);
            }
            if record.is_cut {
                told.says = format!("{} {}", told.says, older_left_out());
            }
            return Ok(Self {
                told,
                by_lives: None,
                is_cut: record.is_cut,
            });
        };
        told.counts = true;
        let position = Position {
            age,
            exposure: learned.to_come,
        };
        let uses = life.over(&[position]).map_err(|error| fault(&error))?;
        Ok(Self {
            told,
            by_lives: Some(ByLives { life, age, uses }),
            is_cut: record.is_cut,
        })
    }
}

impl Learned {
    /// The same with what is known of lives.
    #[must_use]
    pub fn with_lives(mut self, known: Option<Known>) -> Self {
        self.lives = known.map(Box::new);
        self
    }

    /// Use by lives, where that is gone by.
    pub fn by_lives(&self) -> Option<&ByLives> {
        self.lives.as_ref()?.by_lives.as_ref()
    }

    /// Expected use over the work, in pieces.
    pub fn expected(&self) -> f64 {
        self.by_lives()
            .map_or_else(|| self.uses.mean(), |known| known.uses.mean())
    }

    /// The chance that so many are enough for the work.
    pub fn enough(&self, pieces: u64) -> f64 {
        self.by_lives()
            .map_or_else(|| self.uses.cdf(pieces), |known| known.uses.cdf(pieces))
    }

    /// How many are enough for the work with a chance.
    pub fn needed(&self, target: Target) -> u64 {
        self.by_lives().map_or_else(
            || need(&self.uses, target),
            |known| known.uses.quantile(target.get()),
        )
    }

    /// What lives say of the work, in words; nothing where they are not gone by.
    pub fn says_of_lives(&self, target: Target) -> String {
        let Some(told) = self.lives.as_ref().map(|known| &known.told) else {
            return String::new();
        };
        let (by_lives, at_random) = (self.needed(target), need(&self.uses, target));
        if !told.counts {
            return String::new();
        }
        let compared = if by_lives == at_random {
            "as many are needed as if they failed at random".to_owned()
        } else {
            format!("so {by_lives} instead of {at_random} are enough")
        };
        let says = told.says.trim_end_matches('.');
        format!(" {says}, from {} whole lives: {compared}.", told.whole)
    }
}

impl Known {
    /// How to redo what follows from lives.
    pub(super) fn how(&self) -> String {
        let Some(known) = &self.by_lives else {
            return self.told.says.clone();
        };
        let law = known.life.known();
        format!(
            "Lives are gamma of shape k = {}; their rate is Gamma(a, b) with a = k (assumed + {}) = {} and b = \
             assumed + {} = {}. Of one that is fresh j or more are used over T with the chance I(T / (b + T); j k, a), \
             the regularised incomplete beta function; the one in the torch has done {}, and ends by what is left of \
             such a life.{}",
            short(known.life.shape()),
            self.told.whole,
            short(law.shape()),
            short(self.told.over),
            short(law.rate()),
            short(known.age),
            if self.is_cut {
                format!(" {}", older_left_out())
            } else {
                String::new()
            },
        )
    }
}

/// What is said where not all of a long record is read.
fn older_left_out() -> String {
    format!(
        "Lives are read from the newest {} changes and the newest {ENTRIES_MAX} entries of work at their torches; \
         older ones are left out.",
        CHANGES_MAX - 1
    )
}

fn real(number: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    let number = number as f64;
    number
}
