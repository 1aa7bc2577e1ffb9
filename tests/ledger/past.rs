//! The past: what was answered at a moment is answered again when asked as of that moment, whatever
//! came in since; and what is known now of an instant is what the model makes of all that happened by
//! then.

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use server::service::known::View;
use server::service::{self, Context};
use tigstock_tests::instant;
use types::{
    Forecasts, GetForecasts, GetNeeds, GetStock, ListStock, Needs, NewJob, SetUpJob, Stock,
    StockExplanation,
};

use crate::history::{History, step};
use crate::shop::{NOW, PARTS, SITES, SLOTS, Shop, at, cases, run};
use crate::told::{Label, Place, Told, take_back};

/// The job of the shop; T1 is fitted anew in the middle of all that is told.
const JOB: &str = "R-1";

/// Everything that can be asked as of an instant.
#[derive(Debug, PartialEq)]
struct Answers {
    stock: Vec<Stock>,
    explained: StockExplanation,
    forecasts: Forecasts,
    needs: Needs,
}

fn rfc3339(at: DateTime<Utc>) -> String {
    at.to_rfc3339()
}

/// Asks everything; as of an instant, or now.
async fn ask(context: &Context, past: Option<(DateTime<Utc>, &str)>) -> Answers {
    let as_of = past.map(|(at, _)| rfc3339(at));
    let known = past.map(|(_, known)| known.to_owned());
    let mut stock = Vec::new();
    for site in SITES {
        let query = ListStock {
            site: Some(site.to_owned()),
            as_of: as_of.clone(),
            known: known.clone(),
            ..ListStock::default()
        };
        let page = service::stock::list(context, &query).await.expect("stock");
        assert_eq!(page.stands_for.is_some(), past.is_some());
        stock.extend(page.stock);
    }
    let query = GetStock {
        site: None,
        as_of: as_of.clone(),
        known: known.clone(),
    };
    let explained = service::stock::explain(context, PARTS[0], &query).await;
    let query = GetForecasts {
        part: Some(PARTS.join(",")),
        arc: Some("10h".to_owned()),
        grinds: Some(20),
        weeks: Some(2.0),
        as_of: as_of.clone(),
        known: known.clone(),
        ..GetForecasts::default()
    };
    let forecasts = service::forecasts::get(context, &query).await;
    let query = GetNeeds {
        as_of,
        known,
        now: None,
    };
    let needs = service::needs::get(context, JOB, &query).await;
    Answers {
        stock,
        explained: explained.expect("an explanation"),
        forecasts: forecasts.expect("forecasts"),
        needs: needs.expect("needs"),
    }
}

/// The same without the words that say what past they are of.
fn unlabelled(mut answers: Answers) -> Answers {
    assert!(answers.explained.stands_for.take().is_some());
    let said = answers.forecasts.stands_for.take();
    assert_eq!(Some(answers.needs.assumes.remove(0)), said);
    answers
}

async fn job(context: &Context) {
    let job = NewJob {
        code: JOB.to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        grinds: Some(20),
        weeks: Some(2.0),
        start: "2026-06-20".parse().expect("a day"),
        ..NewJob::default()
    };
    service::jobs::create(context, job, &SetUpJob::default())
        .await
        .expect("a job");
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn what_was_answered_at_a_moment_is_the_answer_as_of_that_moment(
        steps in prop::collection::vec(step(), 1..16),
    ) {
        run(async {
            let mut history = History::begin_with_order().await?;
            let context = history.shop.context.clone();
            job(&context).await;
            let mut now = instant(NOW);
            let mut answered = Vec::new();
            for step in &steps {
                now += TimeDelta::seconds(7);
                context.clock.set(now);
                history.take(step).await?;
                answered.push((now, ask(&context, None).await));
            }
            context.clock.set(now + TimeDelta::days(3));
            for (at, was) in answered {
                let is = unlabelled(ask(&context, Some((at, "then"))).await);
                prop_assert_eq!(is, was, "as of {}", at);
            }
            Ok(())
        })?;
    }

    #[test]
    fn what_is_known_now_of_an_instant_is_what_happened_by_then(
        steps in prop::collection::vec(step(), 1..24),
    ) {
        run(async {
            let mut history = History::begin_with_order().await?;
            for step in &steps {
                history.take(step).await?;
            }
            let History { shop, model, .. } = &history;
            let present = shop.context.clock.now();
            for slot in 0..SLOTS {
                let as_of = rfc3339(at(slot).to_utc());
                let view = View::asked(Some(&as_of), Some("now"), present).expect("a view");
                let expected = model.up_to(slot);
                prop_assert_eq!(shop.levels_in(view).await, expected.levels(), "slot {}", slot);
                prop_assert_eq!(shop.wear_in(view).await, expected.wear(), "slot {}", slot);
            }
            // Nothing had been received by then.
            let as_of = rfc3339(at(SLOTS).to_utc());
            let view = View::asked(Some(&as_of), Some("then"), present).expect("a view");
            prop_assert!(shop.levels_in(view).await.is_empty());
            prop_assert!(shop.wear_in(view).await.is_empty());
            Ok(())
        })?;
    }
}

const PLACE: Place = Place {
    part: 0,
    site: 0,
    slot: 3,
};

/// What is on hand of the first part at the first site, as of an instant.
async fn on_hand(shop: &Shop, past: Option<(DateTime<Utc>, &str)>) -> i64 {
    let query = GetStock {
        as_of: past.map(|(at, _)| rfc3339(at)),
        known: past.map(|(_, known)| known.to_owned()),
        site: None,
    };
    let stock = service::stock::get(&shop.context, PARTS[0], &query).await;
    stock.expect("stock").on_hand
}

#[tokio::test(flavor = "multi_thread")]
async fn a_late_entry_changes_what_is_known_now_and_not_what_was_known_then() {
    let shop = Shop::open().await;
    let told = Told::Receive(PLACE, 10, None).tell(&shop, "K1").await;
    told.expect("a receipt");
    let then = instant(NOW);
    shop.context.clock.set(then + TimeDelta::hours(5));
    // Somebody comes back with two that were taken before.
    let late = Told::Move(Place { slot: 4, ..PLACE }, "issue", 2, Label::default());
    late.tell(&shop, "K2").await.expect("an issue");
    assert_eq!(on_hand(&shop, Some((then, "then"))).await, 10);
    assert_eq!(on_hand(&shop, Some((then, "now"))).await, 8);
    assert_eq!(on_hand(&shop, None).await, 8);
    // Before it happened, neither knows of it.
    let before = at(3).to_utc();
    assert_eq!(on_hand(&shop, Some((before, "now"))).await, 10);
    assert_eq!(on_hand(&shop, Some((before, "then"))).await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_that_was_taken_back_later_still_counts_for_what_was_known() {
    let shop = Shop::open().await;
    let mut entries = Vec::new();
    for (key, told) in [
        ("K1", Told::Receive(PLACE, 10, None)),
        ("K2", Told::Count(Place { slot: 5, ..PLACE }, 7)),
    ] {
        let answer = told.tell(&shop, key).await.expect("an entry");
        entries.push(crate::shop::entry(&answer));
    }
    let then = instant(NOW);
    for (entry, key, left) in [(entries[1], "K3", 10), (entries[0], "K4", 0)] {
        shop.context
            .clock
            .set(shop.context.clock.now() + TimeDelta::hours(1));
        take_back(&shop, entry, key)
            .await
            .expect("it is taken back");
        assert_eq!(on_hand(&shop, None).await, left);
    }
    assert_eq!(on_hand(&shop, Some((then, "then"))).await, 7);
    assert_eq!(on_hand(&shop, Some((then, "now"))).await, 0);
    let between = then + TimeDelta::minutes(90);
    assert_eq!(on_hand(&shop, Some((between, "then"))).await, 10);
}
