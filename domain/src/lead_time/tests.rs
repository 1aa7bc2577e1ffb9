//! Lead times that are kept, and those that are not.

use proptest::prelude::*;

use super::*;

#[test]
fn without_deliveries_what_is_stated_is_planned_with() {
    for stated in [0, 1, 5, 12] {
        let lead = LeadTime::learned(stated, &[]);
        assert_eq!((lead.planned(), lead.deliveries()), (stated, 0));
        let first = lead.chances().next().expect("a chance");
        assert_eq!(first.0, stated);
        assert!((first.1 - 0.85).abs() < 1e-12);
    }
}

#[test]
fn two_late_deliveries_are_weighed_against_what_is_stated() {
    // 8 deliveries' worth of the statement, then 3 days and, one later, 5 days: total 8 + 0.97 + 1.
    let lead = LeadTime::learned(3, &[3, 5]);
    let total = 8.0 + 0.97 + 1.0;
    let of = |days: u32| {
        lead.chances()
            .find(|row| row.0 == days)
            .map_or(0.0, |row| row.1)
    };
    assert!((of(3) - (6.8 + 0.97) / total).abs() < 1e-12);
    assert!((of(4) - 0.6 / total).abs() < 1e-12);
    assert!((of(5) - (0.3 + 1.0) / total).abs() < 1e-12);
}

#[test]
fn a_late_supplier_is_planned_with_more_days_and_a_wider_range() {
    let kept = LeadTime::learned(5, &[5; 12]);
    let late = LeadTime::learned(5, &[5, 8, 6, 11, 5, 9, 7, 12, 6, 10, 8, 9]);
    assert_eq!(kept.planned(), 5);
    assert!(late.planned() > 8, "{}", late.planned());
    let width = |lead: &LeadTime| lead.quantile(0.95) - lead.quantile(0.05);
    assert!(width(&late) > width(&kept) + 3);
}

#[test]
fn a_supplier_that_became_slower_is_noticed() {
    let mut deliveries = vec![2; 30];
    assert_eq!(LeadTime::learned(2, &deliveries).planned(), 2);
    deliveries.extend([6; 12]);
    assert_eq!(LeadTime::learned(2, &deliveries).planned(), 6);
}

proptest! {
    #[test]
    fn chances_add_up_and_days_rise_with_them(
        stated in 0..30_u32,
        deliveries in prop::collection::vec(0..60_u32, 0..40),
    ) {
        let lead = LeadTime::learned(stated, &deliveries);
        let sum: f64 = lead.chances().map(|row| row.1).sum();
        prop_assert!((sum - 1.0).abs() < 1e-12);
        prop_assert!(lead.quantile(0.1) <= lead.quantile(0.5));
        prop_assert!(lead.quantile(0.5) <= lead.quantile(1.0));
        let most = deliveries.iter().copied().max().unwrap_or(0).max(stated + 10);
        prop_assert_eq!(lead.quantile(2.0), most);
    }
}
