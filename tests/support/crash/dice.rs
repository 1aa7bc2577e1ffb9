//! Chance that can be had again: numbers that follow from a seed, by the generator `SplitMix64`
//! (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).

/// A source of numbers.
#[derive(Clone, Debug)]
pub struct Dice {
    state: u64,
}

impl Dice {
    /// Dice with a seed.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 to that number, both included.
    pub fn up_to(&mut self, most: u64) -> u64 {
        self.next() % (most + 1)
    }

    /// An index below that length, which is not 0.
    pub fn below(&mut self, length: usize) -> usize {
        let length = u64::try_from(length).expect("a length");
        usize::try_from(self.up_to(length - 1)).expect("it is below a length")
    }

    /// From 1 to that number, as a quantity.
    pub fn quantity(&mut self, most: u32) -> i64 {
        i64::try_from(self.up_to(u64::from(most - 1)) + 1).expect("it is small")
    }

    /// Other dice that follow from these.
    #[must_use]
    pub fn another(&mut self) -> Self {
        Self::new(self.next())
    }
}
