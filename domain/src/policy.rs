//! Order policies of textbook inventory control: reorder points by cycle service and by fill rate, base
//! stock, one-period stock, (r, Q) and (s, S), economic order quantities, and when stock runs out over a
//! schedule. Exact for the distribution at hand; nothing here approximates by a normal one.

mod demand;
mod quantity;
mod replenish;
mod run_out;
mod service;

pub use demand::{Demand, DemandError};
pub use quantity::{Breaks, Quantity, QuantityError, economic, with_all_units, with_increments};
pub use replenish::{Costs, Lot, UpTo, lot, lot_cost, up_to};
pub use run_out::{RunOutSchedule, run_out};
pub use service::{
    OnePeriod, expected_short, fill_rate, one_period, point_by_cycle, point_by_fill,
};
