//! The size of a course and its racks: the scenario's figures, figures by hand, and a simulation of
//! the queue at the grinder.

use super::*;

fn weekend() -> CourseSize {
    CourseSize::new(12, 2, 6).expect("a course")
}

fn hourly(rate: Gamma) -> Grinding {
    Grinding {
        rate,
        minutes_between: MINUTES_BETWEEN_VISITS,
        minutes_a_day: MINUTES_A_DAY,
    }
}

#[test]
fn twelve_beginners_on_two_days_are_24_student_days() {
    assert_eq!(weekend().student_days(), 24);
    assert_eq!(weekend().students_at_a_station(), 2);
    let uneven = CourseSize::new(13, 1, 6).expect("a course");
    assert_eq!(uneven.students_at_a_station(), 3);
}

#[test]
fn a_course_that_is_none_names_the_number_and_what_would_do() {
    for (heads, days, stations, said) in [
        (0, 2, 6, "0 students are out of range; give 1 to 1000"),
        (-12, 2, 6, "-12 students are out of range; give 1 to 1000"),
        (12, 0, 6, "0 days are out of range; give 1 to 366"),
        (12, 2, 0, "0 stations are out of range; give 1 to 500"),
        (
            4,
            2,
            6,
            "6 stations for 4 students; give no more stations than students",
        ),
        (
            i64::MAX,
            2,
            6,
            "9223372036854775807 students are out of range; give 1 to 1000",
        ),
    ] {
        let refused = CourseSize::new(heads, days, stations).expect_err(said);
        assert_eq!(refused.to_string(), said);
    }
}

#[test]
fn the_expected_use_of_the_scenario_is_worth_142_30_or_5_93_a_student_day() {
    // Shapes after 36 student-days on the scenario's assumptions; the rate is 39 and 24 are to come.
    let lines = [
        (33.0, 4_200, 10),
        (15.0, 3_800, 10),
        (5.5, 1_250, 5),
        (2.5, 2_400, 5),
        (4.5, 600, 10),
        (1.5, 480, 1),
    ];
    let total: i64 = lines
        .into_iter()
        .map(|(shape, price, pack)| worth(shape * 24.0 / 39.0, price, pack))
        .sum();
    assert_eq!(total, 14_230);
    assert_eq!(per_student_day(total, weekend()), 593);
}

#[test]
fn what_is_no_number_is_worth_nothing() {
    assert_eq!(worth(f64::NAN, 4_200, 10), 0);
    assert_eq!(worth(-1.0, 4_200, 10), 0);
    assert_eq!(worth(1.0, -5, 10), 0);
    assert_eq!(worth(3.0, 100, 0), 300);
}

/// P(N <= k) of a Poisson count, term by term.
fn poisson_at_most(k: u64, mean: f64) -> f64 {
    let mut term = (-mean).exp();
    let mut sum = term;
    for step in 1..=k {
        term *= mean / real(step);
        sum += term;
    }
    sum
}

#[test]
fn a_rate_that_is_known_gives_the_poisson_quantile() {
    // So firm a rate that the negative binomial is Poisson in its first digits; 4 grinds in a
    // student-day, 2 students, a sixth of a day: 4/3 blunted in a session.
    let known = Gamma::new(4e6, 1e6).expect("a rate");
    for target in [0.8, 0.9, 0.95, 0.99] {
        let plan = rack_plan(weekend(), &hourly(known), SharedFactor::NONE, target);
        let plan = plan.expect("a plan");
        let mean = 4.0 / 3.0;
        assert!((plan.expected - mean).abs() < 1e-9);
        assert!(poisson_at_most(plan.each, mean) >= target);
        assert!(poisson_at_most(plan.each - 1, mean) < target);
        assert!((plan.chance - poisson_at_most(plan.each, mean)).abs() < 1e-5);
    }
}

#[test]
fn the_scenario_lays_four_ground_electrodes_at_each_of_six_stations() {
    // Gamma(4, 1) over 1/3: p = 3/4, size 4. P(N <= k) by hand: 0.3164, 0.6328, 0.8306, 0.9294,
    // 0.9727.
    let plan = rack_plan(
        weekend(),
        &hourly(GRINDS_PER_STUDENT_DAY),
        SharedFactor::NONE,
        0.95,
    );
    let plan = plan.expect("a plan");
    assert_eq!((plan.each, plan.all), (4, 24));
    assert!((plan.chance - 0.9727).abs() < 5e-5, "{}", plan.chance);
    // Two days of six sessions at six stations, 2.73 % of 72.
    assert_eq!(plan.sessions, 12);
    assert!((plan.empty_expected - 1.97).abs() < 0.01, "{plan:?}");
}

#[test]
fn clumsiness_that_is_shared_wants_a_fuller_rack() {
    let even = hourly(Gamma::new(400.0, 100.0).expect("a rate"));
    let racks: Vec<u64> = [0.0, 0.5, 1.0]
        .into_iter()
        .map(|spread| {
            let factor = SharedFactor::new(spread).expect("a spread");
            rack_plan(weekend(), &even, factor, 0.95)
                .expect("a plan")
                .each
        })
        .collect();
    assert!(racks[0] < racks[1] && racks[1] < racks[2], "{racks:?}");
}

#[test]
fn minutes_and_rates_out_of_range_are_refused() {
    let plan = |between, day| {
        let grinding = Grinding {
            rate: GRINDS_PER_STUDENT_DAY,
            minutes_between: between,
            minutes_a_day: day,
        };
        rack_plan(weekend(), &grinding, SharedFactor::NONE, 0.95)
    };
    assert_eq!(
        plan(0, 360),
        Err(CourseError::Between {
            between: 0,
            day: 360
        })
    );
    assert_eq!(
        plan(361, 360),
        Err(CourseError::Between {
            between: 361,
            day: 360
        })
    );
    assert_eq!(plan(5, 29), Err(CourseError::Day(29)));
    for bad in [0.0, -4.0, 1_001.0, f64::NAN] {
        assert!(matches!(stated_grinds(bad), Err(CourseError::Grinds(_))));
    }
    let stated = stated_grinds(5.0).expect("a rate");
    assert!((stated.mean() - 5.0).abs() < 1e-12);
}

/// Numbers that look drawn by chance, the same in each run (a linear congruential generator with
/// Knuth's constants).
struct Draws(u64);

impl Draws {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (real(self.0 >> 11) + 0.5) / real(1 << 53)
    }

    fn exponential(&mut self, mean: f64) -> f64 {
        -mean * self.unit().ln()
    }
}

/// One station's session: when its electrodes are blunted, in minutes.
fn blunted(draws: &mut Draws, grinding: &Grinding, students: f64) -> Vec<f64> {
    // Gamma with a whole shape is a sum of exponentials.
    let rate: f64 = (0..4)
        .map(|_| draws.exponential(1.0 / grinding.rate.rate()))
        .sum();
    let gap = f64::from(grinding.minutes_a_day) / (rate * students);
    let mut times = Vec::new();
    let mut now = draws.exponential(gap);
    while now < f64::from(grinding.minutes_between) {
        times.push(now);
        now += draws.exponential(gap);
    }
    times
}

#[test]
fn a_simulated_course_finds_its_racks_empty_as_often_as_planned_and_hardly_queues() {
    const MINUTES_A_GRIND: f64 = 3.0;
    const SESSIONS: u32 = 20_000;
    let grinding = hourly(GRINDS_PER_STUDENT_DAY);
    let plan = rack_plan(weekend(), &grinding, SharedFactor::NONE, 0.95).expect("a plan");
    let mut draws = Draws(20_260_912);
    let (mut empty, mut waited, mut waited_with_racks) = (0_u32, 0.0, 0.0);
    for _ in 0..SESSIONS {
        let stations: Vec<Vec<f64>> = (0..6)
            .map(|_| blunted(&mut draws, &grinding, 2.0))
            .collect();
        let rack = usize::try_from(plan.each).expect("a small number");
        empty += u32::from(stations[0].len() > rack);
        waited += queue(stations.iter().flatten(), MINUTES_A_GRIND);
        let beyond = stations.iter().flat_map(|times| times.iter().skip(rack));
        waited_with_racks += queue(beyond, MINUTES_A_GRIND);
    }
    let share = f64::from(empty) / f64::from(SESSIONS);
    // Three standard errors of a share of 2.7 % in 20 000 draws are 0.35 %.
    assert!((share - (1.0 - plan.chance)).abs() < 0.0035, "{share}");
    assert!(
        waited_with_racks < 0.1 * waited,
        "{waited_with_racks} of {waited} minutes"
    );
}

/// Minutes lost at one grinder by those who go to it at these times: standing in line and grinding.
fn queue<'t>(times: impl Iterator<Item = &'t f64>, minutes_a_grind: f64) -> f64 {
    let mut times: Vec<f64> = times.copied().collect();
    times.sort_by(f64::total_cmp);
    let (mut free, mut lost) = (0.0_f64, 0.0);
    for time in times {
        let done = free.max(time) + minutes_a_grind;
        lost += done - time;
        free = done;
    }
    lost
}
