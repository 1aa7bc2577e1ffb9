//! `take`, `return` and `broke`: parts that leave the drawer for a torch, or come back unused.

use clap::{Args, ValueEnum};
use domain::ledger::MovementKind;
use types::{NewMovement, NewUsage, What};

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::movement::movement;
use crate::shop::Shop;

const TAKE_EXAMPLES: &str = "\
Examples:
  tigstock take T1 electrode        a new one of the electrode that is fitted in T1
  tigstock take WLa20-2.4 2         two of a part, by its code
  tigstock take T1 electrode --why dipped";

const RETURN_EXAMPLES: &str = "\
Examples:
  tigstock return T1 electrode      one electrode of T1, unused, back in the drawer
  tigstock return cup-7-gas-lens 2
  tigstock return WTh20-2.4 10 --to-supplier --site tarnbridge";

const BROKE_EXAMPLES: &str = "\
Examples:
  tigstock broke T1 cup             the cup of T1 broke, and a new one was taken
  tigstock broke cup-7-gas-lens --why dropped";

/// Take a new part; the old one is worn out
#[derive(Debug, Args)]
#[command(after_help = TAKE_EXAMPLES)]
pub(crate) struct Take {
    #[command(flatten)]
    what: Parts,
    /// Why the old one is worn out
    #[arg(long, value_enum)]
    why: Option<Why>,
    #[command(flatten)]
    options: EntryOptions,
}

/// Put an unused part back in the drawer, or send pieces back to the supplier
#[derive(Debug, Args)]
#[command(after_help = RETURN_EXAMPLES)]
pub(crate) struct Return {
    #[command(flatten)]
    what: Parts,
    /// Send it back to the supplier instead: by the code of the part, from the drawer
    #[arg(long)]
    to_supplier: bool,
    #[command(flatten)]
    options: EntryOptions,
}

/// Say that a part broke; a new one was taken
#[derive(Debug, Args)]
#[command(after_help = BROKE_EXAMPLES)]
pub(crate) struct Broke {
    #[command(flatten)]
    what: Parts,
    /// Why it broke
    #[arg(long, value_enum)]
    why: Option<Why>,
    #[command(flatten)]
    options: EntryOptions,
}

#[derive(Debug, Args)]
struct Parts {
    /// TORCH KIND [N], such as T1 electrode; or PART [N], such as WLa20-2.4 2
    #[arg(required = true, num_args = 1..=3, value_name = "WHAT")]
    words: Vec<String>,
}

/// Why a part had to be changed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Why {
    // The electrode touched the pool or the rod.
    Dipped,
    // It was used up.
    Worn,
    // It fell.
    Dropped,
}

impl Why {
    const fn as_str(self) -> &'static str {
        match self {
            Self::Dipped => "dipped",
            Self::Worn => "worn",
            Self::Dropped => "dropped",
        }
    }
}

/// What the words after the command mean.
#[derive(Debug, PartialEq, Eq)]
struct Meant {
    torch: Option<String>,
    part: String,
    quantity: i64,
}

/// A whole number in second place is a quantity, so the first word is a part; any other second word
/// is a part or a kind, so the first one is a torch.
fn understand(words: &[String]) -> Result<Meant, Failure> {
    let meant = |torch: Option<&String>, part: &String, quantity| Meant {
        torch: torch.cloned(),
        part: part.clone(),
        quantity,
    };
    match words {
        [part] => Ok(meant(None, part, 1)),
        [first, second] => Ok(match second.parse() {
            Ok(quantity) => meant(None, first, quantity),
            Err(_) => meant(Some(first), second, 1),
        }),
        [torch, part, quantity] => match quantity.parse() {
            Ok(quantity) => Ok(meant(Some(torch), part, quantity)),
            Err(_) => Err(Failure::CommandLine(format!(
                "\"{quantity}\" is not how many; write {torch} {part} 2 for two"
            ))),
        },
        _ => Err(Failure::CommandLine(
            "write a torch and a kind, or the code of a part".into(),
        )),
    }
}

impl Parts {
    fn usage(
        &self,
        what: What,
        why: Option<Why>,
        options: EntryOptions,
        shop: &Shop<'_, '_>,
    ) -> Result<NewUsage, Failure> {
        let meant = understand(&self.words)?;
        let mut usage = options.usage(shop)?;
        usage.what = Some(what.as_str().to_owned());
        usage.why = why.map(|why| why.as_str().to_owned());
        usage.torch = meant.torch;
        usage.part = Some(meant.part);
        usage.qty = Some(meant.quantity);
        Ok(usage)
    }
}

impl Parts {
    fn to_supplier(
        &self,
        options: EntryOptions,
        shop: &Shop<'_, '_>,
    ) -> Result<NewMovement, Failure> {
        let meant = understand(&self.words)?;
        if let Some(torch) = meant.torch {
            return Err(Failure::CommandLine(format!(
                "a supplier takes nothing back from {torch}; give the code of the part: tigstock \
                 return {} --to-supplier",
                meant.part
            )));
        }
        let pieces = (meant.part, meant.quantity);
        movement(pieces, MovementKind::SupplierReturn, options, shop)
    }
}

impl Take {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let usage = self.what.usage(What::Took, self.why, self.options, shop)?;
        shop.record(Entry::Usage(Box::new(usage))).await
    }
}

impl Return {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if self.to_supplier {
            let sent = self.what.to_supplier(self.options, shop)?;
            return shop.record(Entry::Movement(sent)).await;
        }
        let usage = self.what.usage(What::PutBack, None, self.options, shop)?;
        shop.record(Entry::Usage(Box::new(usage))).await
    }
}

impl Broke {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let usage = self.what.usage(What::Broke, self.why, self.options, shop)?;
        shop.record(Entry::Usage(Box::new(usage))).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meant(line: &str) -> Result<(Option<String>, String, i64), String> {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        understand(&words)
            .map(|meant| (meant.torch, meant.part, meant.quantity))
            .map_err(|failure| failure.to_string())
    }

    #[test]
    fn one_word_is_a_part() {
        assert_eq!(meant("WLa20-2.4"), Ok((None, "WLa20-2.4".to_owned(), 1)));
    }

    #[test]
    fn a_number_in_second_place_is_how_many() {
        assert_eq!(meant("WLa20-2.4 2"), Ok((None, "WLa20-2.4".to_owned(), 2)));
    }

    #[test]
    fn a_word_in_second_place_makes_the_first_a_torch() {
        assert_eq!(
            meant("T1 electrode"),
            Ok((Some("T1".to_owned()), "electrode".to_owned(), 1))
        );
        assert_eq!(
            meant("T1 WLa20-2.4 3"),
            Ok((Some("T1".to_owned()), "WLa20-2.4".to_owned(), 3))
        );
    }

    #[test]
    fn a_word_where_a_quantity_belongs_is_refused() {
        let told = meant("T1 cup two").expect_err("two is no figure");
        assert!(told.contains("write T1 cup 2"), "{told}");
    }
}
