//! Decimal text as text: its canonical spelling and exact multiples of it. No floating point.

/// The canonical spelling of a non-negative decimal: no needless zeros, a digit before the point.
/// `2.40` becomes `2.4`, `.040` becomes `0.04`; anything else than digits and one point is `None`.
pub(super) fn canonical(text: &str) -> Option<String> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    if !is_digits(whole) || !is_digits(part) || (whole.is_empty() && part.is_empty()) {
        return None;
    }
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let part = part.trim_end_matches('0');
    Some(if part.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{part}")
    })
}

/// `text` times `factor` where that is a whole number within reach of `i64`.
pub(crate) fn exact_multiple(text: &str, factor: i64) -> Option<i64> {
    let canonical = canonical(text)?;
    let (whole, part) = canonical.split_once('.').unwrap_or((&canonical, ""));
    let scale = 10_i64.checked_pow(u32::try_from(part.len()).ok()?)?;
    let digits: i64 = format!("{whole}{part}").parse().ok()?;
    let product = digits.checked_mul(factor)?;
    (product % scale == 0).then_some(product / scale)
}

fn is_digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}
