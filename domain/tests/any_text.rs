//! Whatever is typed: a reader of text answers with a value or an error, and what it prints it
//! reads back.

use proptest::prelude::*;
use tigstock_domain::class::ElectrodeClass;
use tigstock_domain::code::Code;
use tigstock_domain::exposure::{ArcTime, Driver, Grinds};
use tigstock_domain::ledger::MovementKind;
use tigstock_domain::part::PartKind;
use tigstock_domain::quantity::{Currency, Money};

/// Any printable text, and text of the characters that the readers know.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "\\PC{0,24}",
        "[0-9]{0,3}[hmgs.]{0,2}[0-9 ]{0,3}[hmin]{0,3}",
        "E?W[A-Za-z]{0,3}-?[0-9.]{0,3}",
        "[a-z-]{0,12}",
        "[0-9]{0,20}[.,]?[0-9]{0,4}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn a_text_is_read_or_refused_and_what_is_printed_reads_back(text in text()) {
        if let Ok(class) = ElectrodeClass::parse(&text) {
            prop_assert_eq!(ElectrodeClass::parse(&class.to_string()), Ok(class));
        }
        if let Ok(code) = Code::parse("part", &text) {
            prop_assert_eq!(Code::parse("part", code.as_str()), Ok(code));
        }
        if let Ok(time) = ArcTime::parse(&text) {
            prop_assert_eq!(ArcTime::parse(&time.to_string()), Ok(time));
        }
        if let Ok(grinds) = Grinds::parse(&text) {
            prop_assert_eq!(Grinds::parse(&format!("{}g", grinds.get())), Ok(grinds));
        }
        if let Ok(kind) = PartKind::parse(&text) {
            prop_assert_eq!(PartKind::parse(kind.as_str()), Ok(kind));
        }
        if let Ok(kind) = MovementKind::parse(&text) {
            prop_assert_eq!(MovementKind::parse(kind.as_str()), Ok(kind));
        }
        if let Ok(driver) = Driver::parse(&text) {
            prop_assert_eq!(Driver::parse(driver.as_str()), Ok(driver));
        }
    }

    #[test]
    fn an_amount_that_is_read_is_printed_with_its_digits(text in text()) {
        let cad = Currency::parse("CAD").expect("a currency");
        if let Ok(money) = Money::parse(&text, cad) {
            let printed = money.to_string();
            let figure = printed.trim_end_matches(" CAD");
            prop_assert_eq!(Money::parse(figure, cad), Ok(money));
        }
    }
}
