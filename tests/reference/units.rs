//! Conversions by definition: the inch of 25.4 mm (international yard and pound, 1959), hours and
//! seconds (SI brochure), minor units of currencies (ISO 4217).

use domain::exposure::ArcTime;
use domain::quantity::{Currency, Money};
use domain::size::RodLength;

#[test]
fn seven_inches_and_175_millimetres_differ_by_2_8_millimetres() {
    let inches = RodLength::parse("7 in").expect("a length").um();
    let metric = RodLength::parse("175 mm").expect("a length").um();
    assert_eq!(inches - metric, 2_800);
}

#[test]
fn an_hour_has_3600_seconds() {
    for (text, seconds) in [
        ("1h", 3_600),
        ("75m", 4_500),
        ("1h20", 4_800),
        ("1.5h", 5_400),
    ] {
        assert_eq!(ArcTime::parse(text).map(ArcTime::seconds), Ok(seconds));
    }
    let time = ArcTime::parse("34h").expect("arc time");
    assert!((time.hours() - 34.0).abs() < f64::EPSILON);
}

#[test]
fn minor_units_are_those_of_iso_4217() {
    for (code, digits, shown) in [
        ("CAD", 2, "12.34 CAD"),
        ("EUR", 2, "12.34 EUR"),
        ("JPY", 0, "1234 JPY"),
        ("KWD", 3, "1.234 KWD"),
    ] {
        let currency = Currency::parse(code).expect("a currency");
        assert_eq!(currency.minor_digits(), digits);
        let money = Money::new(1_234, currency).expect("money");
        assert_eq!(money.to_string(), shown);
    }
}
