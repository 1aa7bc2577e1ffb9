//! An offer from a row of a sheet: of the same part in the same packs by the same supplier it is the new price.

use chrono::{DateTime, NaiveDate, Utc};
use domain::quantity::{Currency, Money};
use sea_orm::{DatabaseTransaction, NotSet};
use types::{NewOffer, Offer, PriceBreak, Violation};

use super::{break_prices, row, taken, view};
use crate::service::pushed::{Became, SetUp};
use crate::service::{Error, codes, terms};
use crate::store::{self, entity::offers};

/// An offer as a row tells it: its prices are read in the currency of the supplier.
#[derive(Clone, Debug, Default)]
pub struct OfferRow {
    /// The code of the supplier.
    pub supplier: String,
    /// The code of the part.
    pub part: String,
    /// How many of the part's unit one pack holds.
    pub pack_size: i64,
    /// The price of a pack, with a full stop.
    pub price: String,
    /// The currency, if it is told.
    pub currency: Option<String>,
    /// From so many packs on, each at that price; none if the sheet does not say.
    pub breaks: Option<Vec<(i64, String)>>,
    /// The supplier has none before this day; none if the sheet does not say.
    pub none_until: Option<Option<NaiveDate>>,
}

impl SetUp for OfferRow {
    async fn set_up(&self, tx: &DatabaseTransaction, now: DateTime<Utc>) -> Result<Became, Error> {
        let supplier = codes::named_supplier(tx, "/supplier", &self.supplier).await?;
        let part = codes::named_part(tx, "/part", &self.part).await?;
        let currency = self.currency(&supplier.code, &supplier.currency)?;
        let known = store::offers::of_parts(tx, [part.id]).await?;
        let is_same = |it: &offers::Model| {
            it.supplier_id == supplier.id && it.part_id == part.id && it.pack_size == self.pack_size
        };
        let Some(known) = known.into_iter().find(is_same) else {
            let new = self.offer(None, currency)?;
            let made = store::offers::insert(tx, row(tx, &new).await?).await;
            let made = made.map_err(taken(&new))?;
            break_prices(tx, made.id, &new).await?;
            return Ok(Became::SetUp(String::new()));
        };
        let before = view(tx, known.clone()).await?;
        let new = self.offer(Some(&before), currency)?;
        if before.clone().into_new() == new {
            return Ok(Became::Known);
        }
        let changed = offers::ActiveModel {
            id: NotSet,
            ..row(tx, &new).await?
        };
        store::offers::update(tx, (known.id, known.version), changed).await?;
        break_prices(tx, known.id, &new).await?;
        let edited = store::offers::find(tx, known.id).await?;
        if let Some(edited) = edited {
            terms::note_price(tx, (&known, &edited), now).await?;
        }
        Ok(Became::SetUp(changes(&before, &new, currency)))
    }
}

impl OfferRow {
    /// The currency of the supplier, which is the only one that a row may tell.
    fn currency(&self, supplier: &str, code: &str) -> Result<Currency, Error> {
        let currency = Currency::parse(code).map_err(|why| Error::Internal(why.to_string()))?;
        match self.currency.as_deref() {
            Some(told) if !told.eq_ignore_ascii_case(code) => Err(Error::invalid(
                "/currency",
                format!("{told}, but {supplier} sells in {code}; give the price in {code}"),
            )),
            _ => Ok(currency),
        }
    }

    /// The offer: what the row leaves open is as it was before.
    fn offer(&self, before: Option<&Offer>, currency: Currency) -> Result<NewOffer, Error> {
        let price = |field: &str, text: &str| {
            let read = Money::parse(text, currency).map(Money::minor);
            read.map_err(|why| Violation::new(field, why.to_string()))
        };
        let breaks = match &self.breaks {
            Some(told) => told
                .iter()
                .map(|(packs_min, text)| {
                    Ok(PriceBreak {
                        packs_min: *packs_min,
                        price_minor: price("/breaks", text)?,
                    })
                })
                .collect::<Result<_, Violation>>(),
            None => Ok(before.map(|it| it.breaks.clone()).unwrap_or_default()),
        };
        let (price, breaks) = match (price("/price", &self.price), breaks) {
            (Ok(price), Ok(breaks)) => (price, breaks),
            (price, breaks) => {
                return Err(Error::Invalid(
                    [price.err(), breaks.err()].into_iter().flatten().collect(),
                ));
            }
        };
        let new = NewOffer {
            supplier: before.map_or(&self.supplier, |it| &it.supplier).clone(),
            part: before.map_or(&self.part, |it| &it.part).clone(),
            pack_size: self.pack_size,
            price_minor: price,
            breaks,
            none_until: match self.none_until {
                Some(told) => told,
                None => before.and_then(|it| it.none_until),
            },
        };
        new.check()?;
        Ok(new)
    }
}

/// What is new, in words.
fn changes(before: &Offer, new: &NewOffer, currency: Currency) -> String {
    let amount = |minor: i64| {
        let money = Money::new(minor, currency).map(Money::amount);
        money.unwrap_or_default()
    };
    let mut told = Vec::new();
    if before.price_minor != new.price_minor {
        let (old, now) = (amount(before.price_minor), amount(new.price_minor));
        told.push(format!("the price was {old}, now {now}"));
    }
    if before.breaks != new.breaks {
        told.push("the price breaks are new".to_owned());
    }
    match new.none_until {
        now if now == before.none_until => {}
        Some(day) => told.push(format!("the supplier has none until {day}")),
        None => told.push("the supplier has some again".to_owned()),
    }
    told.join("; ")
}
