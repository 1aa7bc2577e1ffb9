//! Speed, as ratios against baselines of the same run.

fn main() {}
