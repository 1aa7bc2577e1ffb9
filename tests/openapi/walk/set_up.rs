//! What a shop is set up with: sites, parts, torches, kits, drawers, suppliers, procedures.

use client::Client;
use tigstock_tests::builders::{collet, electrode, torch};
use tigstock_tests::procedure::{eq_1, proc_07, requires};
use types::page::Page;
use types::{
    AtSite, FitQuery, GetElectrodeAdvice, GetKitCount, GetTorchWear, KitLine, ListBorrowings,
    ListDrawers, ListLulls, ListPhotos, NewCurrentBand, NewDrawer, NewFit, NewKey, NewKit,
    NewKitCounts, NewLull, NewOffer, NewPart, NewPartSeats, NewRevision, NewRotation, NewSetUp,
    NewSite, NewSupplier, NewWithdrawal, PictureKind, Role, StartingAssumption, TryFit, WantedKits,
};

use super::{COLLET, Done, ELECTRODE};

pub(super) async fn sites(client: &Client) -> Done {
    let new = NewSite {
        code: "school".to_owned(),
        name: None,
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    let made = client.create_site(&new).await?;
    let named = NewSite {
        name: Some("Tarnbridge Community Welding School".to_owned()),
        barred: vec!["thoriated".to_owned()],
        responsible: Some("instructor".to_owned()),
        discard_length: Some("35 mm".to_owned()),
        ..new
    };
    client.replace_site("school", &named, made.version).await?;
    client.get_site("school").await?;
    client.list_sites(&Page::default()).await?;
    Ok(())
}

pub(super) async fn lulls(client: &Client) -> Done {
    let day = |day| chrono::NaiveDate::from_ymd_opt(2026, 12, day).unwrap_or_default();
    let mut new = NewLull {
        site: Some("school".to_owned()),
        first: day(21),
        last: day(31),
        share: 0.0,
        note: None,
    };
    let made = client.create_lull(&new).await?;
    new.note = Some("shut over the holidays".to_owned());
    let made = client.replace_lull(made.id, &new, made.version).await?;
    client.get_lull(made.id).await?;
    let query = ListLulls {
        site: new.site,
        ..ListLulls::default()
    };
    client.list_lulls(&query).await?;
    client.delete_lull(made.id, made.version).await
}

pub(super) async fn keys(client: &Client) -> Done {
    let new = NewKey {
        name: "phone at the bench".to_owned(),
        role: Role::Log,
        expires_at: None,
    };
    let made = client.create_key(&new).await?;
    client.list_keys(&Page::default()).await?;
    let rotated = client
        .rotate_key(made.key.id, &NewRotation::default())
        .await?;
    client.revoke_key(rotated.key.id).await?;
    client.list_keys(&Page::default()).await?;
    Ok(())
}

pub(super) async fn parts(client: &Client) -> Done {
    let mut new = electrode(ELECTRODE, "2.4 mm");
    let made = client.create_part(&new).await?;
    new.starting_assumptions = vec![StartingAssumption {
        per: "arc-hour".to_owned(),
        shape: 2.0,
        rate: 20.0,
    }];
    client.replace_part(ELECTRODE, &new, made.version).await?;
    client.create_part(&collet(COLLET)).await?;
    let wrong = client.create_part(&electrode("typo", "1.6 mm")).await?;
    client.delete_part("typo", wrong.version).await?;
    client.get_part(ELECTRODE).await?;
    client.list_parts(&Page::default()).await?;
    Ok(())
}

pub(super) async fn torches(client: &Client) -> Done {
    let made = client.create_torch(&torch("T1")).await?;
    let mut named = torch("T1");
    named.name = Some("Large body, air-cooled".to_owned());
    let made = client.replace_torch("T1", &named, made.version).await?;
    client.get_set_up("T1").await?;
    let fitted = NewSetUp {
        parts: vec![ELECTRODE.to_owned(), COLLET.to_owned()],
    };
    client.replace_set_up("T1", &fitted, made.version).await?;
    client.get_set_up("T1").await?;
    client.get_torch("T1").await?;
    client.list_torches(&Page::default()).await?;
    client
        .get_torch_wear("T1", &GetTorchWear::default())
        .await?;
    Ok(())
}

pub(super) async fn kits(client: &Client) -> Done {
    let line = |part: &str| KitLine {
        part: part.to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let mut new = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: vec![line(ELECTRODE)],
    };
    let made = client.create_kit(&new).await?;
    new.parts.push(line(COLLET));
    client.replace_kit("K-24", &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_kit(&NewKit { code, ..new }).await?;
    client.delete_kit("typo", wrong.version).await?;
    client.get_kit("K-24").await?;
    client.list_kits(&Page::default()).await?;
    Ok(())
}

pub(super) async fn counts_of_kits(client: &Client) -> Done {
    for (code, kind, also) in [
        ("cap", "back-cap", "long"),
        ("ring", "o-ring", ""),
        ("cup", "cup", ""),
    ] {
        let part = NewPart {
            code: code.to_owned(),
            kind: kind.to_owned(),
            family: Some("large".to_owned()),
            length: (!also.is_empty()).then(|| also.to_owned()),
            cup_number: (kind == "cup").then_some(7),
            seat: (kind == "cup").then(|| "standard".to_owned()),
            ..NewPart::default()
        };
        client.create_part(&part).await?;
    }
    for kind in ["collet-body", "insulator"] {
        let part = NewPart {
            code: kind.to_owned(),
            kind: kind.to_owned(),
            family: Some("large".to_owned()),
            diameter: (kind == "collet-body").then(|| "2.4 mm".to_owned()),
            ..NewPart::default()
        };
        client.create_part(&part).await?;
    }
    let parts = [
        ELECTRODE,
        COLLET,
        "cap",
        "ring",
        "cup",
        "collet-body",
        "insulator",
    ];
    let whole = NewKit {
        code: "K-whole".to_owned(),
        name: None,
        parts: parts
            .iter()
            .map(|part| KitLine {
                part: (*part).to_owned(),
                quantity: 1,
                ..KitLine::default()
            })
            .collect(),
    };
    client.create_kit(&whole).await?;
    client.count_kit("K-whole", &GetKitCount::default()).await?;
    let together = NewKitCounts {
        kits: vec![WantedKits {
            kit: "K-whole".to_owned(),
            wanted: Some(2),
        }],
        site: None,
        one_more: true,
    };
    client.count_kits(&together).await?;
    client.check_kit_sheet("T1", "K-whole").await?;
    client
        .count_kit_sheet("K-whole", &GetKitCount::default())
        .await?;
    let query = TryFit {
        parts: "cup".to_owned(),
        ..TryFit::default()
    };
    client.try_fit_sheet("T1", &query).await?;
    Ok(())
}

pub(super) async fn fits(client: &Client) -> Done {
    let mut new = NewFit {
        parts: vec!["cap".to_owned()],
        ..NewFit::default()
    };
    let only_try = FitQuery { try_only: Some(1) };
    client.create_fit("T1", &new, &only_try).await?;
    client.create_fit("T1", &new, &FitQuery::default()).await?;
    client.create_torch(&torch("T4")).await?;
    new.from = Some("T1".to_owned());
    client.create_fit("T4", &new, &FitQuery::default()).await?;
    client.list_borrowings(&ListBorrowings::default()).await?;
    new.from = Some("T4".to_owned());
    client.create_fit("T1", &new, &FitQuery::default()).await?;
    Ok(())
}

pub(super) async fn seats(client: &Client) -> Done {
    let new = NewPartSeats {
        code: "our-cup".to_owned(),
        part: Some("cup".to_owned()),
        takes: Some("cup: large standard".to_owned()),
        ..NewPartSeats::default()
    };
    let made = client.create_seats(&new).await?;
    let checked = NewPartSeats {
        checked: true,
        ..new
    };
    let made = client
        .replace_seats("our-cup", &checked, made.version)
        .await?;
    client.get_seats("our-cup").await?;
    client.list_seats(&Page::default()).await?;
    client.delete_seats("our-cup", made.version).await
}

pub(super) async fn electrodes(client: &Client) -> Done {
    let mut new = NewCurrentBand {
        diameter: "2.4 mm".to_owned(),
        polarity: "AC".to_owned(),
        wave: Some("balanced".to_owned()),
        amps_min: 60,
        amps_max: 150,
        source: "own trials, invented".to_owned(),
        ..NewCurrentBand::default()
    };
    let made = client.create_current_band(&new).await?;
    new.class = Some("WLa20".to_owned());
    let made = client
        .replace_current_band(made.id, &new, made.version)
        .await?;
    client.get_current_band(made.id).await?;
    client.list_current_bands(&Page::default()).await?;
    let query = GetElectrodeAdvice {
        current: Some("120".to_owned()),
        polarity: Some("AC".to_owned()),
        class: Some("WLa20".to_owned()),
        ..GetElectrodeAdvice::default()
    };
    client.get_electrode_advice(&query).await?;
    client.get_electrode_advice_sheet(&query).await?;
    client.delete_current_band(made.id, made.version).await
}

pub(super) async fn drawers(client: &Client) -> Done {
    let at = AtSite::default();
    let mut new = NewDrawer {
        code: "14".to_owned(),
        name: None,
        site: None,
        parts: vec![COLLET.to_owned()],
    };
    let made = client.create_drawer(&new).await?;
    new.parts.push(ELECTRODE.to_owned());
    client.replace_drawer("14", &at, &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_drawer(&NewDrawer { code, ..new }).await?;
    client.delete_drawer("typo", &at, wrong.version).await?;
    client.get_drawer("14", &at).await?;
    client.list_drawers(&ListDrawers::default()).await?;
    Ok(())
}

pub(super) async fn photos(client: &Client) -> Done {
    let at = AtSite::default();
    // The signature of a PNG is all that is looked at.
    let picture = b"\x89PNG\r\n\x1a\n".to_vec();
    for _ in 0..2 {
        let picture = picture.clone();
        client
            .create_photo("14", &at, PictureKind::Png, picture)
            .await?;
    }
    let page = client.list_photos("14", &ListPhotos::default()).await?;
    let photo = page.photos.first().expect("a photo").id;
    assert_eq!(client.get_photo("14", photo, &at).await?, picture);
    client.delete_photo("14", photo, &at).await
}

pub(super) async fn suppliers(client: &Client) -> Done {
    let mut new = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    let made = client.create_supplier(&new).await?;
    new.name = Some("Quayhead, counter".to_owned());
    client
        .replace_supplier("quayhead", &new, made.version)
        .await?;
    client.get_supplier("quayhead").await?;
    client.list_suppliers(&Page::default()).await?;
    Ok(())
}

pub(super) async fn offers(client: &Client) -> Done {
    let mut new = NewOffer {
        supplier: "quayhead".to_owned(),
        part: ELECTRODE.to_owned(),
        pack_size: 10,
        price_minor: 4_000,
        ..NewOffer::default()
    };
    let made = client.create_offer(&new).await?;
    new.price_minor = 4_200;
    client.replace_offer(made.id, &new, made.version).await?;
    client.get_offer(made.id).await?;
    let part = COLLET.to_owned();
    let other = client.create_offer(&NewOffer { part, ..new }).await?;
    client.delete_offer(other.id, other.version).await?;
    client.list_offers(&Page::default()).await?;
    Ok(())
}

pub(super) async fn procedures(client: &Client) -> Done {
    client.create_procedure(&proc_07()).await?;
    client.get_procedure("PROC-07").await?;
    client.list_procedures(&Page::default()).await?;
    let signed = client.sign_equivalence("PROC-07", 2, &eq_1()).await?;
    let gone = NewWithdrawal {
        withdrawn_by: "owner".to_owned(),
        why: Some("another packet".to_owned()),
    };
    let of = ("PROC-07", 2);
    client
        .withdraw_equivalence(of, &signed.equivalence, &gone)
        .await?;
    client.sign_equivalence("PROC-07", 2, &eq_1()).await?;
    client
        .list_equivalences("PROC-07", 2, &Page::default())
        .await?;
    let revised = NewRevision {
        requires: requires(&["WLa20", "WCe20"], &["2.4 mm"]),
        ..NewRevision::default()
    };
    client.create_revision("PROC-07", &revised).await?;
    client.get_revision("PROC-07", 3).await?;
    client.list_revisions("PROC-07", &Page::default()).await?;
    Ok(())
}
