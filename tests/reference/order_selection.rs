//! The cheapest packs over several suppliers, against three other solvers.

use domain::order::{Goal, Market, Offer, OrderError, Plan, Supplier};
use domain::quantity::Currency;
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    input: Input,
    expected: Expected,
}

#[derive(Deserialize)]
struct Input {
    due_in_days: i64,
    requirements: Vec<Requirement>,
    suppliers: Vec<Seller>,
    offers: Vec<PackOffer>,
}

#[derive(Deserialize)]
struct Requirement {
    part: String,
    required: i64,
}

#[derive(Deserialize)]
struct Seller {
    supplier: String,
    lead_time_days: i64,
    shipping_fee: i64,
    min_order_value: i64,
    free_shipping_over: Option<i64>,
}

#[derive(Deserialize)]
struct PackOffer {
    part: String,
    supplier: String,
    pack_size: i64,
    pack_price: i64,
    min_packs: i64,
    max_packs: Option<i64>,
}

#[derive(Deserialize)]
struct Expected {
    status: String,
    cost: Option<i64>,
}

/// The market of a case, without the suppliers that deliver too late.
fn market(input: &Input) -> Market {
    let currency = Currency::parse("CAD").expect("a currency");
    let sellers: Vec<&Seller> = input
        .suppliers
        .iter()
        .filter(|seller| seller.lead_time_days <= input.due_in_days)
        .collect();
    let suppliers = sellers.iter().map(|seller| Supplier {
        freight_minor: seller.shipping_fee,
        free_over_minor: seller.free_shipping_over,
        minimum_minor: seller.min_order_value,
        currency,
    });
    let offers = input.offers.iter().filter_map(|offer| {
        let supplier = sellers
            .iter()
            .position(|it| it.supplier == offer.supplier)?;
        let part = input
            .requirements
            .iter()
            .position(|it| it.part == offer.part);
        Some(Offer {
            part: part.expect("a part that is required"),
            supplier,
            pack_size: offer.pack_size,
            price_minor: offer.pack_price,
            packs_min: offer.min_packs,
            packs_max: offer.max_packs,
        })
    });
    Market::new(suppliers.collect(), offers.collect()).expect("a market")
}

fn solve(case: &Case) -> (Market, Result<Plan, OrderError>) {
    let market = market(&case.input);
    let wanted = case
        .input
        .requirements
        .iter()
        .map(|it| it.required)
        .collect();
    let plan = market.cheapest(&Goal::pieces(wanted).expect("a goal"));
    (market, plan)
}

#[test]
fn orders_cost_what_three_other_solvers_proved() {
    let text = include_str!("data/order_selection.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    assert_eq!(vectors.cases.len(), 10);
    for case in &vectors.cases {
        let (market, plan) = solve(case);
        let Some(expected) = case.expected.cost else {
            assert_eq!(case.expected.status, "INFEASIBLE", "{}", case.id);
            assert_eq!(plan.unwrap_err(), OrderError::Unreachable, "{}", case.id);
            continue;
        };
        let plan = plan.unwrap_or_else(|error| panic!("{}: {error}", case.id));
        assert_eq!(plan.cost_minor, expected, "{}", case.id);
        assert!(
            plan.is_proven(),
            "{}: {} {expected}",
            case.id,
            plan.at_least_minor
        );
        // The plan is an order that costs this and brings what is required.
        assert_eq!(market.cost(&plan.purchases), Some(expected), "{}", case.id);
        for (part, required) in case.input.requirements.iter().enumerate() {
            assert!(
                plan.pieces(&market, part) >= required.required,
                "{}",
                case.id
            );
        }
    }
}
