//! Advice on electrodes: which diameter suits a current, and the cup, gas, stickout and tip that go
//! with it. Published guides disagree, so every figure is told with the table or rule it is from,
//! and nothing here forbids anything. What the shop has in stock is elsewhere.

mod cups;
mod current;
mod judge;
mod rules;
mod tables;
#[cfg(test)]
mod tests;
mod tip;

pub use cups::{CupGuide, Flow, Metal, cup_guides};
pub use current::{Band, BandError, Current, CurrentError, Group, Polarity, Setting, Wave};
pub use judge::{Judgement, Position, TableVerdict, Verdict, best, judge};
pub use rules::{
    CFH_IN_LITRES_PER_MINUTE, CUP_RULE, POST_FLOW_RULE, STICKOUT_RULE, cfh, minimum_cup,
    next_usual_cup, post_flow_seconds, stickout_lens_um, stickout_um,
};
pub use tables::{Cell, CurrentTable, TABLES};
pub use tip::{TAPER_RULE, TAPERS, TIP_TABLE, TipRow, included_angle_degrees, tip_rows};
