//! What the clients tell: use, movements, counts and receipts, each under a key of its own that is
//! its note as well. Each makes one row of movements or counts.

use client::{Client, Error};
use types::{NewCount, NewMovement, NewReceipt, NewUsage, ProblemKind};
use uuid::Uuid;

use super::dice::Dice;
use super::shop::{ORDERED, PARTS, TORCH};

/// One entry.
#[derive(Clone, Debug)]
pub enum Told {
    /// Use at the torch, and one part taken.
    Usage(Box<NewUsage>),
    /// A movement.
    Movement(Box<NewMovement>),
    /// A count.
    Count(Box<NewCount>),
    /// Goods that came in, some of them for the order.
    Receipt(Box<NewReceipt>),
}

/// An entry that was sent.
#[derive(Clone, Debug)]
pub struct Sent {
    /// Its key.
    pub key: String,
    /// What was told.
    pub told: Told,
    /// The entry that the answer named; nothing while it is not acknowledged.
    pub entry: Option<Uuid>,
    /// What the service answered instead, if it answered.
    pub refusal: Option<String>,
}

impl Told {
    /// Anything.
    pub fn any(dice: &mut Dice, key: &str) -> Self {
        let part = PARTS[dice.below(PARTS.len())].to_owned();
        let note = Some(key.to_owned());
        match dice.up_to(9) {
            0..=3 => Self::Usage(Box::new(NewUsage {
                torch: Some(TORCH.to_owned()),
                what: Some("took".to_owned()),
                part: Some(part),
                arc_minutes: Some(dice.quantity(90)),
                grinds: Some(dice.quantity(4)),
                note,
                ..NewUsage::default()
            })),
            4..=5 => Self::Movement(Box::new(NewMovement {
                part,
                kind: ["issue", "return", "scrap", "hold"][dice.below(4)].to_owned(),
                quantity: dice.quantity(5),
                note,
                ..NewMovement::default()
            })),
            6 => Self::Count(Box::new(NewCount {
                part,
                counted: dice.quantity(200),
                note,
                ..NewCount::default()
            })),
            _ => {
                let ordered = dice.up_to(1) == 0;
                Self::Receipt(Box::new(NewReceipt {
                    part: if ordered { ORDERED.0.to_owned() } else { part },
                    quantity: dice.quantity(10),
                    order: ordered.then_some(ORDERED.1),
                    note,
                    ..NewReceipt::default()
                }))
            }
        }
    }

    /// Tells it; gives the entry that the answer names.
    ///
    /// # Errors
    /// The service is away, or refuses it.
    pub async fn tell(&self, client: &Client, key: &str) -> Result<Uuid, Error> {
        Ok(match self {
            Self::Usage(told) => client.record_usage(told, key).await?.entry,
            Self::Movement(told) => client.record_movement(told, key).await?.entry,
            Self::Count(told) => client.record_count(told, key).await?.entry,
            Self::Receipt(told) => client.record_receipt(told, key).await?.entry,
        })
    }
}

/// Tells one entry after the other until one is not acknowledged.
pub(super) async fn tell_on(client: Client, mut dice: Dice, name: String) -> Vec<Sent> {
    let mut all = Vec::new();
    loop {
        let key = format!("{name}-{}", all.len());
        let told = Told::any(&mut dice, &key);
        let answer = told.tell(&client, &key).await;
        let refusal = answer.as_ref().err().map(|error| {
            let is_away = matches!(error, Error::Transport(_));
            assert!(
                is_away || error.is(ProblemKind::Unavailable),
                "{key} was refused: {error:?}"
            );
            error.to_string()
        });
        let sent = Sent {
            key,
            told,
            entry: answer.ok(),
            refusal,
        };
        let acknowledged = sent.entry.is_some();
        all.push(sent);
        if !acknowledged {
            return all;
        }
    }
}
