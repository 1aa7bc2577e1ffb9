//! The drawer of scenario S1, and a procedure that permits one thing in it. All names and figures are
//! invented.

use types::{
    Equivalence, GetMatch, NewEquivalence, NewPart, NewProcedure, NewReceipt, ProcedureMatch,
    ProcedureRequirement,
};

use crate::TestServer;
use crate::builders::electrode;

/// The electrode that is marked in inches.
pub const INCH: &str = "EWLa-2-3-32";
/// The one that is a tenth of a millimetre thicker.
pub const THICKER: &str = "WLa20-2.5";
/// The one of another class.
pub const CERIATED: &str = "WCe20-2.4";
/// The loose ones, whose band is ground off.
pub const LOOSE: &str = "loose-2.4";

/// A list of texts.
pub fn texts(texts: &[&str]) -> Option<Vec<String>> {
    Some(texts.iter().map(|text| (*text).to_owned()).collect())
}

/// Class and diameter as the procedure has them, and no substitution.
pub fn requires(classes: &[&str], diameters: &[&str]) -> ProcedureRequirement {
    ProcedureRequirement {
        classes: texts(classes),
        diameters: texts(diameters),
        ..ProcedureRequirement::default()
    }
}

/// PROC-07 rev 2 of scenario S1.
pub fn proc_07() -> NewProcedure {
    NewProcedure {
        code: "PROC-07".to_owned(),
        revision: Some(2),
        responsible: Some("owner".to_owned()),
        requires: ProcedureRequirement {
            tip_angle: Some(30),
            cups: texts(&["7"]),
            ..requires(&["WLa20"], &["2.4 mm"])
        },
        ..NewProcedure::default()
    }
}

/// EQ-1 of scenario S1.
pub fn eq_1() -> NewEquivalence {
    NewEquivalence {
        equivalence: None,
        marking: "3/32 in EWLa-2".to_owned(),
        class: "WLa20".to_owned(),
        diameter: "2.4 mm".to_owned(),
        signed_by: "owner".to_owned(),
        ..NewEquivalence::default()
    }
}

/// An electrode of that class.
pub fn of_class(code: &str, class: &str, diameter: &str) -> NewPart {
    NewPart {
        class: Some(class.to_owned()),
        ..electrode(code, diameter)
    }
}

/// The drawer of scenario S1 on 1 February 2026, with PROC-07 and nothing signed.
pub async fn drawer() -> TestServer {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    server.zone("America/Halifax").await;
    let marked = NewPart {
        marking: Some("3/32 in EWLa-2".to_owned()),
        ..electrode(INCH, "3/32 in")
    };
    server.part(marked).await;
    let receipt = NewReceipt {
        part: INCH.to_owned(),
        quantity: 9,
        lot: Some("L-2231".to_owned()),
        ..NewReceipt::default()
    };
    let received = server.owner.record_receipt(&receipt, "lot").await;
    received.expect("a receipt");
    for (part, counted) in [
        (electrode(THICKER, "2.5 mm"), 6),
        (of_class(CERIATED, "WCe20", "2.4 mm"), 12),
        (of_class(LOOSE, "unidentified", "2.4 mm"), 4),
    ] {
        server.stocked(part, counted).await;
    }
    let entered = server.owner.create_procedure(&proc_07()).await;
    entered.expect("a procedure");
    server
}

impl TestServer {
    /// Signs EQ-1 for PROC-07 rev 2 on 12 February 2026.
    pub async fn sign_eq_1(&self) -> Equivalence {
        self.set_clock("2026-02-12T09:00:00-04:00");
        let signed = self.owner.sign_equivalence("PROC-07", 2, &eq_1()).await;
        signed.expect("a signature")
    }

    /// The stock against a procedure, for so many electrodes.
    pub async fn matched(&self, procedure: &str, need: i64) -> ProcedureMatch {
        let query = GetMatch {
            need: Some(need),
            ..GetMatch::default()
        };
        let found = self.owner.match_procedure(procedure, &query).await;
        found.expect("a match")
    }
}
