//! What a job needs: will it run without a stop, and if not, which order fixes it, and by when?

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use domain::part::Unit;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Rung, WorkSize};

/// For which instant the needs are asked.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetNeeds {
    /// The instant to plan from; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
    /// The instant that the figures are to stand for, not later than now; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub as_of: Option<String>,
    /// With `as_of`: `then` for what had been received by that instant, `now` for all that is known
    /// today of what happened by it; `now` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "then")]
    pub known: Option<String>,
}

/// For which instant the orders of a job or a course are drafted.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct DraftOrders {
    /// The instant to plan from; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
}

/// What a job needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Needs {
    /// The code of the job, or of the course.
    pub job: String,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
    /// The day it starts.
    pub start: NaiveDate,
    /// The local time at which it starts on that day; what comes during the day comes too late.
    #[schema(example = "07:00")]
    pub start_time: String,
    /// The chance that is wanted.
    pub target: f64,
    /// The chance that the job runs without a stop with what there is now.
    pub chance_now: f64,
    /// The same after the order.
    pub chance_after: f64,
    /// Whether the chance after the order reaches the target.
    pub target_met: bool,
    /// One line a part.
    pub lines: Vec<NeedLine>,
    /// What to order, one a supplier.
    pub orders: Vec<ProposedOrder>,
    /// The cost of all orders in minor units; absent if they are in several currencies.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_minor: Option<i64>,
    /// The currency of the cost.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What it costs to bring every part alone to the target, and what the whole then comes to; the
    /// order above brings the whole to the target. Absent if nothing is offered in time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub each_alone: Option<EachAlone>,
    /// How much cheaper an order that reaches the target might be at most, in minor units; 0 if the
    /// one above is proven to be the cheapest.
    pub gap_minor: i64,
    /// Which one more piece would help most after the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_best: Option<NextBest>,
    /// The single purchase that buys the most chance for the money beside the order; absent where
    /// nothing that is offered in time gains anything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_purchase: Option<NextPurchase>,
    /// How far a job is that has begun; all other figures are of what is still to come.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under_way: Option<UnderWay>,
    /// Parts of which nothing can be said, and what to do about it; the chance is without them.
    pub cannot_tell: Vec<CannotTell>,
    /// Codes of parts that the job leaves out of the chance.
    pub left_out: Vec<String>,
    /// What the procedure of the job permits instead of what is short; absent if it is done by none
    /// that is entered here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub procedure: Option<NeedsProcedure>,
    /// Codes of the parts that the job's torch lent to others, and wants before the start.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lent: Vec<String>,
    /// The answer in plain words, what to do next among them.
    pub says: Vec<String>,
    /// What the chance assumes.
    pub assumes: Vec<String>,
    /// The cautions that go with the job.
    pub cautions: Vec<String>,
}

/// What a job needs of one part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NeedLine {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// What its amounts are counted in: `piece`, `ml` at normal conditions, or `g`.
    #[serde(default = "piece")]
    #[schema(example = "piece")]
    pub unit: String,
    /// Mean use.
    pub expected: f64,
    /// The least stock with which the chance of enough of this part alone is at least the target.
    pub need: i64,
    /// Available now.
    pub available: i64,
    /// Why nothing of it is available and nothing is bought: the site, or the procedure of the job,
    /// does not permit it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "not permitted at Tarnbridge")]
    pub held_because: Option<String>,
    /// On order now.
    pub on_order: i64,
    /// Of those, what is expected to come only after the start.
    pub on_order_late: i64,
    /// When the first of what comes too late is expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub late_arrives: Option<NaiveDate>,
    /// Need less available and what comes in time, not below 0.
    pub short: i64,
    /// Parts that may be used in its place, and count with it in the chance.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pooled: Vec<PooledPart>,
    /// What to order; absent if nothing is short, or if nobody offers it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<NeedOrder>,
    /// Further packs of it, where one kind of pack or one supplier is not the cheapest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub more: Vec<NeedOrder>,
    /// When it would come, where what is short cannot come in time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub late: Option<TooLate>,
    /// Until when it can be ordered at all to come in time, where it is short or to be bought; absent if
    /// nobody who offers it could have delivered in time, and of a job that is under way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_order: Option<LastOrder>,
    /// Available after the order, and after what is on order came.
    pub after: i64,
    /// The chance of enough of this part alone, now.
    pub chance_now: f64,
    /// The same after the order.
    pub chance_after: f64,
    /// What is left when the job is done: one time in twenty fewer.
    pub left_low: i64,
    /// What is left when the job is done: one time in twenty more.
    pub left_high: i64,
    /// The rung of evidence it stands on.
    pub rung: Rung,
    /// The share of the shop's own data, 0 to 1.
    pub own_share: f64,
    /// Why, and what to do.
    pub why: String,
}

fn piece() -> String {
    Unit::Piece.as_str().to_owned()
}

/// The last time at which an order of a part comes in time, whoever of its suppliers takes it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LastOrder {
    /// The supplier who can be asked last.
    pub supplier: String,
    /// Until when, in local time of the site.
    #[schema(value_type = String, example = "2026-12-17T12:00:00")]
    pub at: NaiveDateTime,
}

/// What the procedure of a job permits in the place of electrodes that are short.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NeedsProcedure {
    /// The code of the procedure.
    #[schema(example = "PROC-11")]
    pub procedure: String,
    /// The revision that the job is done by.
    pub revision: i64,
    /// The newest revision.
    pub newest_revision: i64,
    /// Whether one permitted part may take the place of another.
    pub substitution: bool,
    /// Permitted electrodes in stock other than those that are short.
    pub allowed: Vec<AllowedPart>,
    /// Electrodes in stock that may not be used, and why.
    pub not_offered: Vec<NotOffered>,
}

/// A permitted electrode that could take the place of one that is short.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct AllowedPart {
    /// The code of the part that is short.
    pub instead_of: String,
    /// The code of the part.
    #[schema(example = "WCe20-2.4")]
    pub part: String,
    /// The part in words.
    pub name: String,
    /// On hand.
    pub on_hand: i64,
    /// To which other jobs it is promised.
    pub allocated: Vec<PromisedTo>,
    /// What is left of it for this job.
    pub available: i64,
    /// With what there is of the part that is short.
    pub together: i64,
    /// How many the job needs.
    pub need: i64,
    /// Whether that is enough.
    pub covers: bool,
}

/// What another job is promised.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PromisedTo {
    /// The code of the job.
    pub job: String,
    /// How many.
    pub quantity: i64,
}

/// An electrode in stock that may not be used for a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NotOffered {
    /// The code of the part that is short.
    pub instead_of: String,
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// On hand.
    pub on_hand: i64,
    /// Why not.
    #[schema(example = "class not on the procedure")]
    pub reason: String,
}

/// What to order of one part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NeedOrder {
    /// From whom.
    pub supplier: String,
    /// How many packs.
    pub packs: i64,
    /// How many one pack holds.
    pub pack_size: i64,
    /// Packs times pack size.
    pub pieces: i64,
    /// Price of the packs in minor units, without freight.
    pub cost_minor: i64,
    /// ISO 4217 code of the currency.
    pub currency: String,
}

/// A part that may be used in the place of another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PooledPart {
    /// The code of the part.
    #[schema(example = "WCe20-2.4")]
    pub part: String,
    /// What there is of it for this job.
    pub available: i64,
}

/// Every part alone at the target.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EachAlone {
    /// Goods and freight of all suppliers, in minor units.
    #[schema(example = 16930)]
    pub cost_minor: i64,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// The chance of the whole after that order.
    #[schema(example = 0.9282)]
    pub chance: f64,
}

/// When a part would come that cannot come in time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TooLate {
    /// By supplier, if it is ordered now, the first first.
    pub earliest: Vec<EarliestArrival>,
    /// The last local time at which an order would have come before the start; absent if there was
    /// none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "2026-12-17T12:00:00")]
    pub last_order_by: Option<NaiveDateTime>,
    /// How far what there is lasts until the first of it comes, by the arc time a day of the job.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lasts: Vec<Lasts>,
}

/// When a supplier would deliver.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EarliestArrival {
    /// The code of the supplier.
    pub supplier: String,
    /// The day.
    pub arrives: NaiveDate,
}

/// How far what there is lasts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Lasts {
    /// Until when: `Thursday morning`.
    #[schema(example = "Thursday morning")]
    pub until: String,
    /// The arc time up to then, in minutes.
    #[schema(example = 720)]
    pub arc_minutes: i64,
    /// The chance that it lasts.
    #[schema(example = 0.76)]
    pub chance: f64,
}

/// One line of an order to one supplier.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ProposedLine {
    /// The code of the part.
    pub part: String,
    /// How many packs.
    pub packs: i64,
    /// How many one pack holds.
    pub pack_size: i64,
    /// Packs times pack size.
    pub pieces: i64,
    /// Price of the packs in minor units, without freight.
    pub cost_minor: i64,
}

/// One order to one supplier.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ProposedOrder {
    /// To whom.
    pub supplier: String,
    /// Codes of the parts.
    pub parts: Vec<String>,
    /// What is ordered of them.
    pub lines: Vec<ProposedLine>,
    /// Price of the goods in minor units.
    pub goods_minor: i64,
    /// Freight in minor units.
    pub freight_minor: i64,
    /// Goods and freight together.
    pub cost_minor: i64,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// The latest local time to order, so that it is here the day before the start. It counts the
    /// supplier's open days: Monday to Friday without its closures.
    #[schema(value_type = String, example = "2026-06-24T12:00:00")]
    pub order_by: NaiveDateTime,
    /// The day it comes if it is ordered now.
    pub arrives: NaiveDate,
    /// Whether it comes in time if it is ordered now.
    pub in_time: bool,
    /// The open days that are planned with.
    #[schema(example = 5)]
    pub lead_time_days: i64,
    /// What they were learned from; absent if they are those that the supplier states.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead_time_says: Option<String>,
}

/// The one more piece that would help most.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NextBest {
    /// The code of the part.
    pub part: String,
    /// The chance of the job with one more of it.
    pub chance: f64,
}

/// One more purchase beside the order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NextPurchase {
    /// The code of the part.
    #[schema(example = "gas-lens-2.4")]
    pub part: String,
    /// From whom.
    #[schema(example = "quayhead")]
    pub supplier: String,
    /// How many packs more.
    pub packs: i64,
    /// How many one pack holds.
    pub pack_size: i64,
    /// Packs times pack size.
    pub pieces: i64,
    /// How much more everything costs with it, goods and freight, in minor units; below 0 where it
    /// reaches a price break, or saves freight, that is worth more than it.
    pub cost_minor: i64,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// The day it comes if it is ordered now.
    pub arrives: NaiveDate,
    /// The chance of the job with it.
    pub chance: f64,
}

/// How far a job is that has begun.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct UnderWay {
    /// Its size as planned.
    pub planned: WorkSize,
    /// What is logged on it.
    pub logged: WorkSize,
    /// What is still to come.
    pub to_come: WorkSize,
    /// The chance for all that is to come, if what there is lasts until what is ordered comes; absent
    /// if nothing is ordered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_once_here: Option<f64>,
    /// The same in one line.
    #[schema(example = "R-118 is under way: 12 of 34 arc hours logged, 22 to come.")]
    pub says: String,
}

/// A part of which nothing can be said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CannotTell {
    /// The code of the part.
    pub part: String,
    /// Why, and what to do.
    pub why: String,
}
