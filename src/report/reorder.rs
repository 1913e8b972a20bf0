//! When to order a toner and how much of it, from what was used each day.
//!
//! Any unit does (grams, litres, tins) as long as it is the same throughout; times are in days, money in the shop's
//! currency. Demand is taken as normal and as independent from day to day: common practice for what is used often,
//! and too rosy for a toner of which one tin lasts a year.

use rust_decimal::prelude::ToPrimitive as _;
use statrs::distribution::{ContinuousCDF as _, Normal};

/// What is used a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// On average.
    pub mean: f64,
    /// The standard deviation of a day's use.
    pub deviation: f64,
}

/// How long an order takes to come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeadTime {
    /// Days on average.
    pub days: f64,
    /// Their standard deviation; nothing where a supplier always takes as long.
    pub deviation: f64,
}

/// How little may be left before it is time to order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReorderPoint {
    /// At or below this, order.
    pub point: f64,
    /// How much of it is for use above the average and for orders that come late.
    pub safety: f64,
}

impl Demand {
    /// From what was used on each day, days on which nothing was used included. None from fewer than two days, or
    /// where one of them is no number.
    ///
    /// The deviation is that of a sample (divided by one less than the days).
    pub fn of_days(used: &[f64]) -> Option<Self> {
        let count = f64::from(u32::try_from(used.len()).ok()?);
        if count < 2.0 {
            return None;
        }
        let mean = used.iter().sum::<f64>() / count;
        let squares = used.iter().map(|used| (used - mean).powi(2)).sum::<f64>();
        let deviation = (squares / (count - 1.0)).sqrt();
        (mean.is_finite() && deviation.is_finite()).then_some(Self { mean, deviation })
    }

    fn is_usable(self) -> bool {
        [self.mean, self.deviation].iter().all(|part| part.is_finite() && *part >= 0.0)
    }
}

impl LeadTime {
    /// One that never changes.
    pub const fn always(days: f64) -> Self {
        Self { days, deviation: 0.0 }
    }

    fn is_usable(self) -> bool {
        [self.days, self.deviation].iter().all(|part| part.is_finite() && *part >= 0.0)
    }
}

/// How many standard deviations above the average cover use in that share of all cases: the quantile of the standard
/// normal distribution. None unless the share is between nothing and everything.
pub fn z(service: f64) -> Option<f64> {
    (service > 0.0 && service < 1.0).then(|| Normal::standard().inverse_cdf(service))
}

/// `demand × lead time + z · σ`, with `σ² = lead time · σ_day² + demand² · σ_lead²`: where the lead time never changes
/// that is `z · σ_day · √lead time`.
///
/// `service` is the share of orders during whose lead time nothing runs out. None where a figure is below nothing or no
/// number.
pub fn reorder_point(demand: Demand, lead: LeadTime, service: f64) -> Option<ReorderPoint> {
    if !demand.is_usable() || !lead.is_usable() {
        return None;
    }
    let variance = lead.days * demand.deviation.powi(2) + (demand.mean * lead.deviation).powi(2);
    let safety = z(service)? * variance.sqrt();
    Some(ReorderPoint { point: demand.mean * lead.days + safety, safety })
}

/// The quantity at which ordering and keeping together cost least: `√(2 · demand · cost of an order / cost of keeping)`,
/// demand and keeping one unit over the same time. None unless all are above nothing.
pub fn economic_quantity(demand: f64, an_order: f64, keeping_one: f64) -> Option<f64> {
    let quantity = (2.0 * demand * an_order / keeping_one).sqrt();
    let all = [demand, an_order, keeping_one, quantity];
    all.iter().all(|part| part.is_finite() && *part > 0.0).then_some(quantity)
}

/// Up to how much to order where it is looked at every so many days only: what is used until the order after this one
/// comes, and what covers use above the average until then. What is on the shelf and on order is still to be taken off.
pub fn up_to(demand: Demand, every_days: f64, lead: LeadTime, service: f64) -> Option<f64> {
    let covered = LeadTime { days: every_days + lead.days, deviation: lead.deviation };
    Some(reorder_point(demand, covered, service)?.point)
}

/// How many packs hold at least that much; none needed where nothing is. None where the pack holds nothing, or the
/// figures are no numbers.
pub fn packs(need: f64, pack: f64) -> Option<u64> {
    if !need.is_finite() || !pack.is_finite() || pack <= 0.0 {
        return None;
    }
    // Three tins of a third each are one, whatever a float makes of it.
    let count = (need / pack - 1e-9).ceil();
    count.max(0.0).to_u64()
}

/// For how many days what is there lasts at the average use. None where none is used: then it lasts for ever.
pub fn days_of_cover(there: f64, demand: Demand) -> Option<f64> {
    let days = there / demand.mean;
    (demand.is_usable() && demand.mean > 0.0 && days.is_finite()).then_some(days.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within, "{found} is not {expected} to {within}");
    }

    /// "Table 1a: Standard Normal Probabilities" (P(Z ≤ z), four decimals; scribd.com/document/67352931): the z of a
    /// probability is that of the row, to what the rounding of the probability leaves open.
    #[test]
    fn z_agrees_with_a_printed_table() {
        let table = [
            (-3.0, 0.0013),
            (-2.9, 0.0019),
            (-2.5, 0.0062),
            (-2.4, 0.0082),
            (-2.3, 0.0107),
            (-2.2, 0.0139),
            (-2.1, 0.0179),
            (-2.0, 0.0228),
            (-1.9, 0.0287),
            (-1.8, 0.0359),
            (-1.7, 0.0446),
            // About 10, 5, 2.5 and 1 %: "Table A.2 Cumulative Normal Distribution" (studylib.net/doc/25935684).
            (-1.28, 0.1003),
            (-1.29, 0.0985),
            (-1.64, 0.0505),
            (-1.65, 0.0495),
            (-1.96, 0.0250),
            (-2.32, 0.0102),
            (-2.33, 0.0099),
        ];
        for (row, probability) in table {
            let (low, high) = (z(probability - 0.000_05).unwrap(), z(probability + 0.000_05).unwrap());
            assert!(low <= row && row <= high, "{row}: between {low} and {high}");
            close(z(1.0 - probability).unwrap(), -z(probability).unwrap(), 1e-9);
        }
        // NIST/SEMATECH e-Handbook, section 1.3.6.7.2, Student's t with no end of degrees of freedom, as copied into
        // `tcritical.js` of student-histogram 2.0.0 (app.unpkg.com/student-histogram@2.0.0/files/lib/tcritical.js; read).
        for (service, expected) in [(0.95, 1.645), (0.975, 1.960), (0.99, 2.326), (0.995, 2.576)] {
            close(z(service).unwrap(), expected, 0.000_5);
        }
        // From memory.
        for (service, expected) in [(0.5, 0.0), (0.9, 1.282)] {
            close(z(service).unwrap(), expected, 0.000_5);
        }
        for nonsense in [0.0, 1.0, -0.1, 1.1, f64::NAN] {
            assert_eq!(z(nonsense), None, "{nonsense}");
        }
    }

    /// Stevenson, "Operations Management", 14th ed., chapter 12, example 8 (p. 528): 50 tons during the lead time with a
    /// deviation of 5, a risk of 3 %; z = 1.88, safety stock 9.40, reorder point 59.40.
    #[test]
    fn a_textbooks_reorder_point_from_the_lead_times_own_demand() {
        let sand = Demand { mean: 50.0, deviation: 5.0 };
        close(z(0.97).unwrap(), 1.88, 0.005);
        let found = reorder_point(sand, LeadTime::always(1.0), 0.97).unwrap();
        close(found.safety, 9.40, 0.025);
        close(found.point, 59.40, 0.025);
    }

    /// Taylor, "Introduction to Management Science", "Reorder Point with Variable Demand" (flylib.com/books/en/3.287.1.225):
    /// 30 yards a day with a deviation of 5, ten days, 95 %, z from its table 1.65. The figures are its formula's with
    /// that z: 300 + 1.65 · 5 · √10.
    #[test]
    fn a_textbooks_reorder_point_from_each_days_demand() {
        let found =
            reorder_point(Demand { mean: 30.0, deviation: 5.0 }, LeadTime::always(10.0), 0.95).unwrap();
        close(found.safety, 26.1, 0.1);
        close(found.point, 326.1, 0.1);
    }

    /// The form for both is Stevenson's (as above, formula for variable demand and lead time). A problem with a lead
    /// time alone that varies (brainmass.com, business-management/reorder-point-rop-210800): 12 500 a day, four days with
    /// a deviation of one, 97 %, z = 1.88; by the formula 50 000 + 1.88 · 12 500.
    #[test]
    fn a_lead_time_that_varies() {
        let steady = Demand { mean: 12_500.0, deviation: 0.0 };
        let lead = LeadTime { days: 4.0, deviation: 1.0 };
        close(reorder_point(steady, lead, 0.97).unwrap().point, 73_500.0, 12_500.0 * 0.005);
    }

    /// Two problems with their solutions: 20 000 tyres a year, 40 an order, 4 for keeping one for a year: 632.4555
    /// (brainmass.com, project-management/364660, its first case); 10 800, 50 and 3: 600 (nycptechschools.org,
    /// economic-order-quantity-problems).
    #[test]
    fn the_economic_order_quantity() {
        close(economic_quantity(20_000.0, 40.0, 4.0).unwrap(), 632.455_5, 0.000_05);
        close(economic_quantity(10_800.0, 50.0, 3.0).unwrap(), 600.0, 1e-9);
        assert_eq!(economic_quantity(0.0, 50.0, 3.0), None);
        assert_eq!(economic_quantity(1.0, 50.0, 0.0), None);
        assert_eq!(economic_quantity(-1.0, -50.0, 3.0), None);
    }

    /// A problem with its solution (smartsolve.ai, "Valentina's Pizza"): 160 a week with a deviation of 26, looked at
    /// every six weeks, five weeks until it comes, 98 %, z = 2.06: up to 1937.66, and with 500 there 1438 are ordered.
    #[test]
    fn an_order_that_fills_up() {
        let pepperoni = Demand { mean: 160.0, deviation: 26.0 };
        let level = up_to(pepperoni, 6.0, LeadTime::always(5.0), 0.98).unwrap();
        close(level, 1937.66, 86.23 * 0.007);
        assert_eq!(packs(level - 500.0, 1.0), Some(1438));
        assert_eq!(packs(level - 500.0, 25.0), Some(58));
    }

    /// Worked by hand: 2, 4, 4, 4, 5, 5, 7, 9 sum to 40, and their squared differences from 5 to 32.
    #[test]
    fn demand_and_cover_by_hand() {
        let demand = Demand::of_days(&[2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0]).unwrap();
        close(demand.mean, 5.0, 1e-12);
        close(demand.deviation, (32.0_f64 / 7.0).sqrt(), 1e-12);
        close(days_of_cover(60.0, demand).unwrap(), 12.0, 1e-12);
        close(days_of_cover(-1.0, demand).unwrap(), 0.0, 0.0);
        assert_eq!(Demand::of_days(&[1.0]), None);
        assert_eq!(Demand::of_days(&[1.0, f64::NAN]), None);
        assert_eq!(days_of_cover(60.0, Demand { mean: 0.0, deviation: 0.0 }), None);
    }

    #[test]
    fn packs_are_whole() {
        for (need, pack, expected) in
            [(0.0, 1.0, 0), (-3.0, 1.0, 0), (0.1, 1.0, 1), (3.0, 1.0, 3), (0.3, 0.1, 3), (3.01, 1.0, 4)]
        {
            assert_eq!(packs(need, pack), Some(expected), "{need} in packs of {pack}");
        }
        assert_eq!((packs(1.0, 0.0), packs(f64::NAN, 1.0), packs(1.0, f64::INFINITY)), (None, None, None));
    }

    #[test]
    fn what_is_no_figure_gives_none() {
        let (good, lead) = (Demand { mean: 1.0, deviation: 1.0 }, LeadTime::always(3.0));
        assert!(reorder_point(good, lead, 0.95).is_some());
        assert_eq!(reorder_point(Demand { mean: f64::NAN, ..good }, lead, 0.95), None);
        assert_eq!(reorder_point(Demand { deviation: -1.0, ..good }, lead, 0.95), None);
        assert_eq!(reorder_point(good, LeadTime::always(-1.0), 0.95), None);
        assert_eq!(reorder_point(good, lead, 1.0), None);
    }

    proptest! {
        /// More certainty, a longer or less certain lead time and less even use never mean ordering later; half the
        /// cases are covered by the average alone.
        #[test]
        fn more_to_cover_is_more_to_keep(
            mean in 0.0..1e4_f64, deviation in 0.0..1e4_f64, days in 0.0..100.0_f64, late in 0.0..30.0_f64,
            service in 0.5..0.999_f64, more in 0.0..10.0_f64,
        ) {
            let point = |deviation, days, late, service| {
                let lead = LeadTime { days, deviation: late };
                reorder_point(Demand { mean, deviation }, lead, service).unwrap().point
            };
            let base = point(deviation, days, late, service);
            let slack = 1e-9 * base.max(1.0);
            prop_assert!(point(deviation + more, days, late, service) >= base - slack);
            prop_assert!(point(deviation, days + more, late, service) >= base - slack);
            prop_assert!(point(deviation, days, late + more, service) >= base - slack);
            prop_assert!(point(deviation, days, late, 0.999_9) >= base - slack);
            prop_assert!((point(deviation, days, late, 0.5) - mean * days).abs() <= 1e-6 * base.max(1.0));
        }
    }
}
