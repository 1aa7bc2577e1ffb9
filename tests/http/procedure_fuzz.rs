//! Random requests against the service, one after another: whatever is revised, signed, withdrawn,
//! barred, promised, issued, ordered or asked, no part that the procedure or the site does not permit
//! ever comes out as usable, offered, promised, issued or ordered. What is permitted is worked out
//! beside the service, in `rules`, by names alone. The seed of a run is in every message.

use std::collections::BTreeMap;

use client::Error;
use tigstock_tests::crash::dice::Dice;
use types::{
    DraftOrders, GetMatch, GetNeeds, NewAllocation, NewMovement, NewOrder, NewOrderLine, NewUsage,
    ProblemKind,
};

mod rules;
mod shop;

use rules::PARTS;
use shop::Shop;

/// Runs, each with a seed of its own, and the requests of each.
const RUNS: u64 = 8;
const STEPS: usize = 90;

/// How often each kind of thing happened, so that a run in which nothing happened is seen.
type Seen = BTreeMap<&'static str, u32>;

fn note(seen: &mut Seen, accepted: bool, yes: &'static str, no: &'static str) {
    *seen.entry(if accepted { yes } else { no }).or_default() += 1;
}

/// A refusal must be one by a rule, and not a fault.
fn is_refused<T>(answer: &Result<T, Error>, shop: &Shop) -> bool {
    let Err(error) = answer else { return false };
    let known = [ProblemKind::Invalid, ProblemKind::WrongState];
    let is_known = known.into_iter().any(|kind| error.is(kind));
    assert!(is_known, "{}: {error}", shop.told());
    true
}

/// Promises a part to the job.
async fn promise(shop: &mut Shop, dice: &mut Dice, seen: &mut Seen) {
    let part = &PARTS[dice.below(PARTS.len())];
    let new = NewAllocation {
        job: "R-1".to_owned(),
        part: part.code.to_owned(),
        quantity: dice.quantity(3),
        ..NewAllocation::default()
    };
    let before = shop.promised(part.code).await;
    let key = shop.key();
    let answer = shop.server.owner.record_allocation(&new, &key).await;
    let refused = is_refused(&answer, shop);
    if !refused && new.quantity > before {
        assert!(shop.may_plan(part), "{}: promised {part:?}", shop.told());
    }
    note(seen, !refused, "promised", "promise refused");
}

/// Hands a part out for the job.
async fn issue(shop: &mut Shop, dice: &mut Dice, seen: &mut Seen) {
    let part = &PARTS[dice.below(PARTS.len())];
    let new = NewMovement {
        part: part.code.to_owned(),
        kind: "issue".to_owned(),
        quantity: 1,
        job: Some("R-1".to_owned()),
        lot: Some(format!("L-{}", part.code)),
        ..NewMovement::default()
    };
    let key = shop.key();
    let answer = shop.server.owner.record_movement(&new, &key).await;
    let refused = is_refused(&answer, shop);
    if !refused {
        assert!(shop.may_plan(part), "{}: issued {part:?}", shop.told());
    }
    note(seen, !refused, "issued", "issue refused");
}

/// Drafts an order for the job, and places one that was drafted before.
async fn order(shop: &mut Shop, dice: &mut Dice, seen: &mut Seen) {
    let part = &PARTS[dice.below(PARTS.len())];
    let new = NewOrder {
        supplier: "quayhead".to_owned(),
        job: Some("R-1".to_owned()),
        lines: vec![NewOrderLine {
            part: part.code.to_owned(),
            pack_size: 10,
            packs: 1,
        }],
        ..NewOrder::default()
    };
    let key = shop.key();
    let answer = shop.server.owner.create_order(&new, &key).await;
    let refused = is_refused(&answer, shop);
    if let Ok(order) = answer {
        assert!(shop.may_plan(part), "{}: drafted {part:?}", shop.told());
        shop.drafts.push((order.number, part));
    }
    note(seen, !refused, "drafted", "draft refused");
    if shop.drafts.is_empty() || dice.up_to(1) == 0 {
        return;
    }
    let which = dice.below(shop.drafts.len());
    let (number, part) = shop.drafts.swap_remove(which);
    let answer = shop.server.owner.place_order(number).await;
    let refused = is_refused(&answer, shop);
    if !refused {
        assert!(shop.may_plan(part), "{}: placed {part:?}", shop.told());
    }
    note(seen, !refused, "placed", "place refused");
}

/// A fact is never refused, whatever it is of.
async fn take(shop: &mut Shop, dice: &mut Dice, seen: &mut Seen) {
    let part = &PARTS[dice.below(PARTS.len())];
    let new = NewUsage {
        what: Some("took".to_owned()),
        part: Some(part.code.to_owned()),
        job: Some("R-1".to_owned()),
        ..NewUsage::default()
    };
    let key = shop.key();
    let told = shop.server.owner.record_usage(&new, &key).await;
    let told = told.unwrap_or_else(|error| panic!("{}: {error}", shop.told()));
    let off = told.says.contains("tell the person responsible.");
    assert_eq!(
        off,
        !shop.permits(part, shop.job),
        "{}: {}",
        shop.told(),
        told.says
    );
    note(seen, off, "told off the procedure", "taken");
}

/// What the service says is usable under any revision, and what it offers and would order for the job.
async fn ask(shop: &mut Shop, dice: &mut Dice, seen: &mut Seen) {
    let revision = dice.below(shop.revisions.len());
    let query = GetMatch {
        revision: i64::try_from(revision).ok(),
        need: Some(dice.quantity(30)),
        ..GetMatch::default()
    };
    let found = shop.server.owner.match_procedure("PROC-1", &query).await;
    let found = found.unwrap_or_else(|error| panic!("{}: {error}", shop.told()));
    for row in &found.rows {
        let part = rules::find(row.part.as_deref().expect("no stub was made"));
        let may = shop.permits(part, revision) && !shop.is_barred(part);
        let matches = row.verdict == "matches";
        // Both ways round: nothing that is not permitted, and all that is.
        assert_eq!(matches, may, "{}: {row:?}", shop.told());
        assert!(matches || row.usable == 0, "{}: {row:?}", shop.told());
        note(seen, matches, "row matches", "row does not");
    }
    for code in &found.to_order {
        let part = rules::find(code);
        assert!(
            shop.permits(part, revision) && !shop.is_barred(part),
            "{}",
            shop.told()
        );
    }
    let needs = shop
        .server
        .owner
        .get_job_needs("R-1", &GetNeeds::default())
        .await;
    let needs = needs.unwrap_or_else(|error| panic!("{}: {error}", shop.told()));
    let under = needs.procedure.expect("a procedure");
    for allowed in &under.allowed {
        assert!(
            shop.may_plan(rules::find(&allowed.part)),
            "{}: {allowed:?}",
            shop.told()
        );
        note(seen, true, "offered", "");
    }
    for line in needs.lines.iter().filter(|line| line.part != "collet") {
        let may = shop.may_plan(rules::find(&line.part));
        assert!(
            may || (line.order.is_none() && line.available == 0),
            "{}: {line:?}",
            shop.told()
        );
    }
    let query = DraftOrders::default();
    let key = shop.key();
    let drafted = shop
        .server
        .owner
        .draft_job_orders("R-1", &query, &key)
        .await;
    let drafted = drafted.unwrap_or_else(|error| panic!("{}: {error}", shop.told()));
    // Drafting for the job cancels what was drafted for it before.
    shop.drafts.clear();
    for line in drafted.orders.iter().flat_map(|order| &order.lines) {
        assert!(
            shop.may_plan(rules::find(&line.part)),
            "{}: {line:?}",
            shop.told()
        );
        note(seen, true, "ordered for the job", "");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_request_yields_a_part_that_is_barred_or_not_on_the_procedure() {
    let mut seen = Seen::new();
    for seed in 0..RUNS {
        let mut dice = Dice::new(seed);
        let mut shop = Shop::open(seed, &mut dice).await;
        for step in 0..STEPS {
            shop.step = step;
            shop.tick();
            match dice.up_to(11) {
                0 => shop.revise(&mut dice).await,
                1 | 2 => shop.sign(&mut dice, &mut seen).await,
                3 => shop.withdraw(&mut dice).await,
                4 => shop.bar(&mut dice).await,
                5 => shop.follow(&mut dice, &mut seen).await,
                6 | 7 => promise(&mut shop, &mut dice, &mut seen).await,
                8 => issue(&mut shop, &mut dice, &mut seen).await,
                9 => order(&mut shop, &mut dice, &mut seen).await,
                10 => take(&mut shop, &mut dice, &mut seen).await,
                _ => ask(&mut shop, &mut dice, &mut seen).await,
            }
        }
    }
    for kind in [
        "signed",
        "signature refused",
        "followed",
        "promised",
        "promise refused",
        "issued",
        "issue refused",
        "drafted",
        "draft refused",
        "placed",
        "told off the procedure",
        "taken",
        "row matches",
        "row does not",
        "offered",
        "ordered for the job",
    ] {
        assert!(seen.contains_key(kind), "{kind} never happened: {seen:?}");
    }
}
