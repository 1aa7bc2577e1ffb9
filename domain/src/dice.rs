//! Dice for tests that draw what the domain computes. They are seeded, so that every run is the same; nothing
//! outside tests may roll them.

/// Dice (`SplitMix64`, as published by Steele, Lea and Flood, 2014).
#[derive(Debug)]
pub(crate) struct Dice(u64);

impl Dice {
    /// Dice that fall in an order of their own for each seed.
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Between 0 and 1, neither of them.
    pub(crate) fn fraction(&mut self) -> f64 {
        let top = u32::try_from(self.roll() >> 32).expect("32 bits");
        (f64::from(top) + 0.5) / 4_294_967_296.0
    }

    /// Standard normal: Box and Muller, *Annals of Mathematical Statistics* 29, 1958.
    fn normal(&mut self) -> f64 {
        let (far, turned) = (self.fraction(), self.fraction());
        (-2.0 * far.ln()).sqrt() * (2.0 * std::f64::consts::PI * turned).cos()
    }

    /// Gamma with rate 1: Marsaglia and Tsang, *ACM Transactions on Mathematical Software* 26, 2000.
    pub(crate) fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * self.fraction().powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        loop {
            let x = self.normal();
            let v = (1.0 + x / (9.0 * d).sqrt()).powi(3);
            if v > 0.0 && self.fraction().ln() < 0.5 * x * x + d * (1.0 - v + v.ln()) {
                return d * v;
            }
        }
    }

    /// How many events of that mean: counts exponential waits.
    pub(crate) fn poisson(&mut self, mean: f64) -> u64 {
        let (mut events, mut waited) = (0, -self.fraction().ln());
        while waited < mean {
            events += 1;
            waited -= self.fraction().ln();
        }
        events
    }
}
