//! The shop that the crash test tells about: parts, a torch, and an order that never ends. Invented.

use client::Client;
use types::{NewOffer, NewOrder, NewOrderLine, NewSetUp, NewSupplier};

use crate::builders::{collet, electrode, gas_lens, torch};

/// The parts.
pub(super) const PARTS: [&str; 4] = ["WLa20-2.4", "WLa20-1.6", "collet-2.4", "gas-lens-2.4"];
/// The torch.
pub(super) const TORCH: &str = "T1";
/// The part that is on order; the first order has the number 1.
pub(super) const ORDERED: (&str, i64) = ("collet-2.4", 1);

/// Sets it up.
pub(super) async fn set_up(owner: &Client) {
    for part in [
        electrode(PARTS[0], "2.4 mm"),
        electrode(PARTS[1], "1.6 mm"),
        collet(PARTS[2]),
        gas_lens(PARTS[3]),
    ] {
        owner.create_part(&part).await.expect("a part");
    }
    let made = owner.create_torch(&torch(TORCH)).await.expect("a torch");
    let parts = [PARTS[0], PARTS[3]].map(str::to_owned).to_vec();
    owner
        .replace_set_up(TORCH, &NewSetUp { parts }, made.version)
        .await
        .expect("a set-up");
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    owner.create_supplier(&supplier).await.expect("a supplier");
    let (part, number) = ORDERED;
    let offer = NewOffer {
        supplier: supplier.code.clone(),
        part: part.to_owned(),
        pack_size: 100,
        price_minor: 100,
        ..NewOffer::default()
    };
    owner.create_offer(&offer).await.expect("an offer");
    let order = NewOrder {
        supplier: supplier.code,
        lines: vec![NewOrderLine {
            part: part.to_owned(),
            pack_size: 100,
            packs: 10_000,
        }],
        ..NewOrder::default()
    };
    let drafted = owner.create_order(&order, "order").await.expect("an order");
    assert_eq!(drafted.number, number);
    owner.place_order(number).await.expect("it is placed");
}
