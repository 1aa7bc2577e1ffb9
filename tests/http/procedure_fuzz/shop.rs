//! The shop of the random requests: what was told to the service, and beside it what that means.

use chrono::{DateTime, Duration, Utc};
use tigstock_tests::builders::assuming;
use tigstock_tests::crash::dice::Dice;
use tigstock_tests::procedure::of_class;
use tigstock_tests::{TestServer, instant};
use types::{
    ListAllocations, NewEquivalence, NewJob, NewOffer, NewPart, NewProcedure, NewReceipt,
    NewRevision, NewSite, NewSupplier, NewWithdrawal, ProcedureRequirement, Site,
};

use super::rules::{self, CLASSES, PARTS, Part, Revision, SIZES, Signed, Word};
use super::{Seen, is_refused, note};

/// The service with one procedure and one job that is done by it.
pub(super) struct Shop {
    pub(super) server: TestServer,
    pub(super) revisions: Vec<Revision>,
    pub(super) signed: Vec<Signed>,
    /// The revision that the job is done by.
    pub(super) job: usize,
    pub(super) drafts: Vec<(i64, &'static Part)>,
    pub(super) step: usize,
    barred: Vec<&'static str>,
    keys: u32,
    seed: u64,
    now: DateTime<Utc>,
}

impl Shop {
    /// Thirty of each part, with a lot and an offer, and a job that needs more than the drawer has.
    pub(super) async fn open(seed: u64, dice: &mut Dice) -> Self {
        let now = "2026-06-15T08:00:00-03:00";
        let server = TestServer::at(now).await;
        let seller = NewSupplier {
            code: "quayhead".to_owned(),
            name: None,
            currency: "CAD".to_owned(),
            freight_minor: 0,
            lead_time_days: 1,
            cut_off: None,
            ..NewSupplier::default()
        };
        server
            .owner
            .create_supplier(&seller)
            .await
            .expect("a supplier");
        for part in &PARTS {
            let new = NewPart {
                marking: part.marking.map(str::to_owned),
                grade: part.grade.map(str::to_owned),
                ..of_class(part.code, part.class, part.size)
            };
            // Ten used in ten arc hours: a job of 40 needs more than thirty.
            server.part(assuming(new, "arc-hour", 10.0, 10.0)).await;
            let receipt = NewReceipt {
                part: part.code.to_owned(),
                quantity: 30,
                lot: Some(format!("L-{}", part.code)),
                ..NewReceipt::default()
            };
            let received = server.owner.record_receipt(&receipt, part.code).await;
            received.expect("a receipt");
            let offer = NewOffer {
                supplier: "quayhead".to_owned(),
                part: part.code.to_owned(),
                pack_size: 10,
                price_minor: 4200,
                ..NewOffer::default()
            };
            server.owner.create_offer(&offer).await.expect("an offer");
        }
        server
            .torch("T1", &[PARTS[dice.below(PARTS.len())].code])
            .await;
        let first = written(dice);
        let procedure = NewProcedure {
            code: "PROC-1".to_owned(),
            requires: requires(&first),
            ..NewProcedure::default()
        };
        server
            .owner
            .create_procedure(&procedure)
            .await
            .expect("a procedure");
        let shop = Self {
            server,
            revisions: vec![first],
            signed: Vec::new(),
            job: 0,
            drafts: Vec::new(),
            step: 0,
            barred: Vec::new(),
            keys: 0,
            seed,
            now: instant(now),
        };
        shop.server.owner.create_job(&job(0)).await.expect("a job");
        shop
    }

    /// Which run and step this is, and what holds.
    pub(super) fn told(&self) -> String {
        format!(
            "seed {}, step {}, job by rev {}, barred {:?}, {:?}, {:?}",
            self.seed, self.step, self.job, self.barred, self.revisions, self.signed
        )
    }

    /// A key that no request had before.
    pub(super) fn key(&mut self) -> String {
        self.keys += 1;
        format!("key-{}", self.keys)
    }

    /// A minute later.
    pub(super) fn tick(&mut self) {
        self.now += Duration::minutes(1);
        self.server.set_clock(&self.now.to_rfc3339());
    }

    /// Whether a revision permits a part, with what is signed for it.
    pub(super) fn permits(&self, part: &Part, revision: usize) -> bool {
        let signed = self
            .signed
            .iter()
            .any(|it| it.holds && it.revision == revision && it.part == part);
        rules::is_permitted(part, &self.revisions[revision], signed)
    }

    /// Whether the site bars a part: by its class, or because it might be of one that is barred.
    pub(super) fn is_barred(&self, part: &Part) -> bool {
        let unsure = ["unidentified", "WG"].contains(&part.class);
        !self.barred.is_empty() && (unsure || self.barred.contains(&part.class))
    }

    /// Whether a part may be planned for the job.
    pub(super) fn may_plan(&self, part: &Part) -> bool {
        self.permits(part, self.job) && !self.is_barred(part)
    }

    /// What the job is promised of a part.
    pub(super) async fn promised(&self, part: &str) -> i64 {
        let query = ListAllocations {
            part: Some(part.to_owned()),
            ..ListAllocations::default()
        };
        let page = self
            .server
            .owner
            .list_allocations(&query)
            .await
            .expect("a page");
        page.allocations.iter().map(|row| row.quantity).sum()
    }

    /// Enters a new revision.
    pub(super) async fn revise(&mut self, dice: &mut Dice) {
        let next = written(dice);
        let new = NewRevision {
            requires: requires(&next),
            ..NewRevision::default()
        };
        let made = self.server.owner.create_revision("PROC-1", &new).await;
        let number = made.expect("a revision").revision;
        assert_eq!(usize::try_from(number), Ok(self.revisions.len()));
        self.revisions.push(next);
    }

    /// Signs that the marking of some part is what that part is; refused if the revision does not list
    /// it.
    pub(super) async fn sign(&mut self, dice: &mut Dice, seen: &mut Seen) {
        let marked: Vec<&'static Part> = PARTS.iter().filter(|it| it.marking.is_some()).collect();
        let part = marked[dice.below(marked.len())];
        let revision = dice.below(self.revisions.len());
        let new = NewEquivalence {
            marking: part.marking.expect("it has one").to_owned(),
            class: part.class.to_owned(),
            diameter: part.size.to_owned(),
            grade: part.grade.map(str::to_owned),
            signed_by: "owner".to_owned(),
            ..NewEquivalence::default()
        };
        let number = i64::try_from(revision).expect("a few");
        let answer = self
            .server
            .owner
            .sign_equivalence("PROC-1", number, &new)
            .await;
        let refused = is_refused(&answer, self);
        let listed = rules::is_listed(part, &self.revisions[revision]);
        assert_eq!(!refused, listed, "{}: {part:?}", self.told());
        if let Ok(signed) = answer {
            self.signed.push(Signed {
                revision,
                id: signed.equivalence,
                part,
                holds: true,
            });
        }
        note(seen, !refused, "signed", "signature refused");
    }

    /// Withdraws a signature.
    pub(super) async fn withdraw(&mut self, dice: &mut Dice) {
        let held: Vec<usize> = (0..self.signed.len())
            .filter(|it| self.signed[*it].holds)
            .collect();
        if held.is_empty() {
            return;
        }
        let signed = &mut self.signed[held[dice.below(held.len())]];
        signed.holds = false;
        let new = NewWithdrawal {
            withdrawn_by: "owner".to_owned(),
            why: None,
        };
        let of = ("PROC-1", i64::try_from(signed.revision).expect("a few"));
        let gone = self
            .server
            .owner
            .withdraw_equivalence(of, &signed.id, &new)
            .await;
        gone.expect("it held");
    }

    /// Bars other classes at the site, or none.
    pub(super) async fn bar(&mut self, dice: &mut Dice) {
        let rules: [&[&str]; 4] = [&[], &["WTh20"], &["WCe20"], &["WLa20", "WTh20"]];
        self.barred = rules[dice.below(rules.len())].to_vec();
        let site: Site = self.server.owner.get_site("shop").await.expect("a site");
        let version = site.version;
        let new = NewSite {
            barred: self.barred.iter().map(|it| (*it).to_owned()).collect(),
            ..site.into_new()
        };
        let ruled = self.server.owner.replace_site("shop", &new, version).await;
        ruled.expect("a rule");
    }

    /// Moves the job to another revision; refused if that does not permit what the job is promised.
    pub(super) async fn follow(&mut self, dice: &mut Dice, seen: &mut Seen) {
        let revision = dice.below(self.revisions.len());
        let mut off = false;
        for part in &PARTS {
            off |= self.promised(part.code).await != 0 && !self.permits(part, revision);
        }
        let held = self.server.owner.get_job("R-1").await.expect("a job");
        let new = job(revision);
        let answer = self
            .server
            .owner
            .replace_job("R-1", &new, held.version)
            .await;
        let refused = is_refused(&answer, self);
        assert_eq!(refused, off, "{}", self.told());
        if !refused {
            self.job = revision;
        }
        note(seen, !refused, "followed", "follow refused");
    }
}

fn job(revision: usize) -> NewJob {
    NewJob {
        code: "R-1".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(40 * 60),
        start: "2026-07-01".parse().expect("a day"),
        procedure: Some(format!("PROC-1 rev {revision}")),
        ..NewJob::default()
    }
}

/// A revision as chance writes it.
fn written(dice: &mut Dice) -> Revision {
    fn some(dice: &mut Dice, words: &[Word]) -> Vec<Word> {
        let count = dice.up_to(2) + 1;
        (0..count).map(|_| words[dice.below(words.len())]).collect()
    }
    Revision {
        classes: some(dice, &CLASSES),
        sizes: some(dice, &SIZES),
        general: dice.up_to(2) == 0,
        substitution: dice.up_to(1) == 0,
    }
}

fn requires(revision: &Revision) -> ProcedureRequirement {
    let words = |words: &[Word]| Some(words.iter().map(|word| word.1.to_owned()).collect());
    ProcedureRequirement {
        classes: words(&revision.classes),
        diameters: words(&revision.sizes),
        grades: revision.general.then(|| vec!["Tri 9".to_owned()]),
        substitution: revision.substitution,
        ..ProcedureRequirement::default()
    }
}
