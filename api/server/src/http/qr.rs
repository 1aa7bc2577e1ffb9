//! A text as a QR code (ISO/IEC 18004), drawn as SVG. What text it is, and where the picture stands, is
//! decided by whoever draws it.

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// The white frame that a reader needs around the symbol, in modules, by the standard.
const QUIET: usize = 4;

/// The symbol of a text, or nothing if it is longer than a symbol holds. A smudge of a tenth of it does
/// no harm (level M restores 15 %).
pub(super) fn of(text: &str) -> Option<Markup> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let side = code.width();
    let modules = code.into_colors();
    let dark = modules.iter().enumerate();
    let dark = dark.filter(|(_, it)| **it == Color::Dark);
    let squares = dark.map(|(place, _)| {
        let (across, down) = (place % side + QUIET, place / side + QUIET);
        format!("M{across} {down}h1v1h-1z")
    });
    let path: Vec<String> = squares.collect();
    let whole = side + 2 * QUIET;
    let view = format!("0 0 {whole} {whole}");
    Some(html! {
        svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox=(view) role="img"
            aria-label=(format!("QR code: {text}")) shape-rendering="crispEdges" {
            rect width=(whole) height=(whole) fill="#ffffff" {}
            path d=(path.concat()) fill="#000000" {}
        }
    })
}
