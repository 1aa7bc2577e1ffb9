//! The committed document is what the service makes. A difference is either a mistake or a change of
//! the contract, to be read as a caller would and committed.

const COMMITTED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/tigstock-v1.json");

#[test]
fn the_committed_contract_is_that_of_the_service() {
    let made = server::http::openapi::text();
    if std::env::var("EXPECTORATE").is_ok_and(|wish| wish == "overwrite") {
        std::fs::write(COMMITTED, &made).expect("the document can be written");
    }
    let committed = std::fs::read_to_string(COMMITTED).unwrap_or_default();
    let differs = made
        .lines()
        .zip(committed.lines())
        .position(|(made, kept)| made != kept);
    assert!(
        made == committed,
        "openapi/tigstock-v1.json differs from line {} on. If the change of the contract is meant, run\n\
         EXPECTORATE=overwrite cargo test -p tigstock-tests --test openapi\n\
         and commit the file.",
        differs.unwrap_or_default() + 1,
    );
}
