//! `explain` of a torch: whether it uses parts faster than the others, what to check, and the age of its
//! O-ring. Parts are explained in `explain`.

use types::{GetTorchWear, ORingAge, TorchPartWear, TorchWear};

use crate::failure::{Failure, exit};
use crate::past::Past;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

/// Tells the wear of a torch as of an instant, if one is given.
pub(crate) async fn explain(
    torch: &str,
    past: &Past,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    if past.known.is_some() {
        let why = "the wear of a torch is told by what is known today; leave out --known";
        return Err(Failure::CommandLine(why.to_owned()));
    }
    let query = GetTorchWear {
        now: past.as_of.clone(),
        explain: Some("1".to_owned()),
        ..GetTorchWear::default()
    };
    let told = shop.client.get_torch_wear(torch, &query).await?;
    shop.output.show_data(&told, &sheet(&told));
    for part in &told.parts {
        say(part, shop);
    }
    for part in &told.cannot_tell {
        shop.output
            .say(&format!("{}: cannot tell: {}.", part.part, part.why));
    }
    if let Some(ORingAge { says, .. }) = &told.o_ring {
        shop.output.say(says);
    }
    for caution in &told.cautions {
        shop.output.caution(caution);
    }
    let is_alarm = told.parts.iter().any(|part| part.state == "alarm");
    Ok(if is_alarm {
        exit::TO_ORDER
    } else if told.parts.is_empty() && !told.cannot_tell.is_empty() {
        exit::UNKNOWN
    } else {
        exit::DONE
    })
}

/// One part: what was found, what to check, and how to redo it where there is something to redo.
fn say(part: &TorchPartWear, shop: &mut Shop<'_, '_>) {
    for (number, sentence) in part.says.iter().enumerate() {
        let begin = if number == 0 {
            format!("{}: ", part.part)
        } else {
            "  ".to_owned()
        };
        shop.output.say(&format!("{begin}{sentence}"));
    }
    if part.checks.is_empty() {
        return;
    }
    shop.output.say("  Check in this order:");
    for check in &part.checks {
        let why = check.because.as_ref();
        let why = why.map_or_else(String::new, |why| format!(" ({why})"));
        shop.output
            .say(&format!("  {}. {}{why}", check.number, check.says));
    }
    if let Some(explained) = &part.explain {
        shop.output.say(&format!("  {}", explained.how));
    }
}

fn sheet(told: &TorchWear) -> Sheet {
    let mut sheet = Sheet::new([
        ("torch", ""),
        ("part", ""),
        ("state", ""),
        ("since", ""),
        ("used", ""),
        ("over", ""),
        ("per", ""),
        ("expected", ""),
        ("tail", ""),
        ("limit", ""),
        ("ratio_low", ""),
        ("ratio_median", ""),
        ("ratio_high", ""),
        ("says", ""),
        ("as_of", ""),
    ]);
    for part in &told.parts {
        sheet.push([
            Cell::from(&told.torch),
            Cell::from(&part.part),
            Cell::from(&part.state),
            Cell::Text(part.since.to_string()),
            Cell::Whole(part.used),
            Cell::mean(part.over),
            Cell::from(&part.per),
            Cell::mean(part.expected),
            real(part.tail),
            real(part.limit),
            Cell::mean(part.ratio.low),
            Cell::mean(part.ratio.median),
            Cell::mean(part.ratio.high),
            Cell::Text(part.says.join(" ")),
            Cell::Text(told.as_of.to_rfc3339()),
        ]);
    }
    sheet
}

/// A small chance, which would be nothing with two places.
fn real(value: f64) -> Cell {
    let shown = format!("{value:.5}");
    Cell::Real { value, shown }
}
