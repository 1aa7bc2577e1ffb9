//! What goes with a diameter: cup, argon, stickout and tip, each figure with its table or rule.

use domain::advice::{self, Polarity};
use domain::size::{CupNumber, Diameter};
use types::{
    ArgonFlow, CupBore, CupTableAdvice, DiameterAdvice, ElectrodeQuestion, MinimumCup, Stickout,
    Taper, TipAdvice,
};

/// What goes with a diameter.
pub(super) fn of(diameter: Diameter, asked: &ElectrodeQuestion) -> DiameterAdvice {
    let guides = advice::cup_guides(diameter, asked.metal);
    DiameterAdvice {
        diameter: diameter.to_string(),
        cups: guides.iter().map(cups).collect(),
        minimum_cup: advice::minimum_cup(diameter).map(minimum_cup),
        stickout: Stickout {
            mm: mm(advice::stickout_um(diameter)),
            gas_lens_mm: mm(advice::stickout_lens_um(diameter)),
            rule: advice::STICKOUT_RULE.to_owned(),
        },
        tapers: advice::TAPERS.map(|length| taper(diameter, length)).into(),
        tips: tips(diameter, asked),
    }
}

fn cups(guide: &advice::CupGuide) -> CupTableAdvice {
    let cup = |cup: &CupNumber| CupBore {
        number: i64::from(cup.get()),
        inch: cup.inch(),
        bore_mm: mm(cup.bore_um()),
    };
    let flow = |flow: &advice::Flow| {
        let (low, high) = (f64::from(flow.low), f64::from(flow.high));
        ArgonFlow {
            metal: flow.metal.map(|metal| metal.as_str().to_owned()),
            litres_per_minute_low: low,
            litres_per_minute_high: high,
            cubic_feet_per_hour_low: tenth(advice::cfh(low)),
            cubic_feet_per_hour_high: tenth(advice::cfh(high)),
        }
    };
    CupTableAdvice {
        table: guide.table.to_owned(),
        cups: guide.cups.iter().map(cup).collect(),
        flows: guide.flows.iter().map(flow).collect(),
    }
}

fn minimum_cup(cup: CupNumber) -> MinimumCup {
    let usual = advice::next_usual_cup(cup).filter(|usual| *usual != cup);
    MinimumCup {
        number: i64::from(cup.get()),
        inch: cup.inch(),
        usually_sold: usual.map(|usual| i64::from(usual.get())),
        rule: advice::CUP_RULE.to_owned(),
    }
}

fn taper(diameter: Diameter, (length, usual): (f64, bool)) -> Taper {
    Taper {
        diameters: length,
        // To the hundredth: finer than anybody grinds.
        mm: (length * mm(diameter.um()) * 100.0).round() / 100.0,
        angle_degrees: tenth(advice::included_angle_degrees(length)),
        usual,
        rule: advice::TAPER_RULE.to_owned(),
    }
}

/// The table by angle and flat is for DCEN only.
fn tips(diameter: Diameter, asked: &ElectrodeQuestion) -> Vec<TipAdvice> {
    if asked.setting.polarity() != Polarity::Dcen {
        return Vec::new();
    }
    let rows = advice::tip_rows(diameter).into_iter();
    rows.map(|row| TipAdvice {
        table: advice::TIP_TABLE.to_owned(),
        flat_mm: row.flat_mm,
        angle_degrees: row.angle_degrees,
        amps_low: row.low,
        amps_high: row.high,
        position: row.position(asked.current).as_str().to_owned(),
    })
    .collect()
}

fn mm(um: i64) -> f64 {
    f64::from(i32::try_from(um).unwrap_or(i32::MAX)) / 1_000.0
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
