//! A bench scale as its plate and the shop describe it, and what it is allowed.

use super::{AccuracyClass, Rules};
use crate::units::{Decimal, Division, Grams};
use thiserror::Error;

/// One bench scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BenchScale {
    /// What the shop calls it; the book finds its checks by this.
    pub name: String,
    /// The most it weighs, Max.
    pub max: Grams,
    /// The division d: the smallest step it shows.
    pub d: Division,
    /// The verification interval e. Limits are counted in it; d where the plate names none.
    pub e: Division,
    /// Its accuracy class, if the plate has one.
    pub class: Option<AccuracyClass>,
    /// Whose limits hold.
    pub rules: Rules,
    /// The shop's own limit, ±, at any load; more than nothing. The tighter of this and the class's holds.
    pub own_limit: Option<Grams>,
}

/// What does not fit together on a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Misfit {
    /// The rules do not have that class.
    #[error("{} has no class {class}", rules.source())]
    NoSuchClass {
        /// The class.
        class: AccuracyClass,
        /// The rules.
        rules: Rules,
    },
    /// No scale of the class has that e.
    #[error("no scale of class {class} has a verification interval e of {e} g ({}, table 3)", rules.source())]
    Interval {
        /// The class.
        class: AccuracyClass,
        /// The interval.
        e: Division,
        /// The rules.
        rules: Rules,
    },
    /// Too few or too many intervals.
    #[error(
        "{max} g in steps of {e} g are {n} intervals: class {class} has {} ({}, table 3)",
        counted(*n_min, *n_max), rules.source()
    )]
    Count {
        /// The class.
        class: AccuracyClass,
        /// Max.
        max: Grams,
        /// The interval.
        e: Division,
        /// Max / e.
        n: Decimal,
        /// The fewest.
        n_min: u32,
        /// The most.
        n_max: Option<u32>,
        /// The rules.
        rules: Rules,
    },
    /// A step that no scale counts by.
    #[error("a scale counts by 1, 2 or 5 and a power of ten, not by {step} g ({})", Rules::R76.source())]
    Step {
        /// The step.
        step: Division,
    },
    /// The interval is finer than the division, or more than ten of it.
    #[error(
        "e is {e} g and d is {d} g: e is d, or where there is an extra digit more than d and at most 10 d"
    )]
    Digit {
        /// The interval.
        e: Division,
        /// The division.
        d: Division,
    },
}

fn counted(n_min: u32, n_max: Option<u32>) -> String {
    match n_max {
        Some(most) => format!("from {n_min} to {most}"),
        None => format!("{n_min} or more"),
    }
}

impl BenchScale {
    /// How far a reading may be off at that load, ±: what its class allows in service, or the shop's own limit
    /// where that is tighter. None if neither says anything about that load.
    pub fn limit_at(&self, load: Grams) -> Option<Grams> {
        let by_class = self.class.and_then(|class| class.in_service(self.rules, self.e, load));
        match (by_class, self.own_limit) {
            (Some(class), Some(own)) => Some(class.min(own)),
            (class, own) => class.or(own),
        }
    }

    /// Whether the limit at that load is the shop's own and not its class's.
    pub fn is_own_limit_at(&self, load: Grams) -> bool {
        let by_class = self.class.and_then(|class| class.in_service(self.rules, self.e, load));
        self.own_limit.is_some_and(|own| by_class.is_none_or(|class| own < class))
    }

    /// How far the empty pan may be from zero, ±: half a division, so that a zero is shown.
    ///
    /// NIST Handbook 44 S.1.1.1: a digital zero stands within ½ d (from memory). OIML R 76-1:2006 4.5.2 has ¼ e,
    /// with an auxiliary digit ½ d (from memory); a quarter cannot be seen on a display of whole divisions.
    pub fn zero_limit(&self) -> Grams {
        self.d.grams().times(Decimal::new(5, 1))
    }

    /// The least load Min that its class has; none without a class.
    ///
    /// Counted in e; with an auxiliary digit in d (OIML R 76-1:2006, from memory).
    pub fn smallest_load(&self) -> Option<Grams> {
        let row = self.class?.row(self.rules, self.e)?;
        let step = if self.d.grams() < self.e.grams() { self.d } else { self.e };
        Some(step.grams().times(Decimal::from(row.min)))
    }

    /// What does not fit together on its plate; none if all does.
    pub fn misfit(&self) -> Option<Misfit> {
        let (d, e, rules) = (self.d, self.e, self.rules);
        if e.grams() < d.grams() || e.grams() > d.grams().times(Decimal::TEN) {
            return Some(Misfit::Digit { e, d });
        }
        if let Some(&step) = [d, e].iter().find(|step| !is_usual(**step)) {
            return Some(Misfit::Step { step });
        }
        let class = self.class?;
        if class.rows(rules).is_empty() {
            return Some(Misfit::NoSuchClass { class, rules });
        }
        let Some(row) = class.row(rules, e) else { return Some(Misfit::Interval { class, e, rules }) };
        let n = self.max.ratio_to(e.grams())?.normalize();
        let (n_min, n_max) = (row.n_min, row.n_max);
        let fits = n >= Decimal::from(n_min) && n_max.is_none_or(|most| n <= Decimal::from(most));
        (!fits).then_some(Misfit::Count { class, max: self.max, e, n, n_min, n_max, rules })
    }
}

/// 1, 2 or 5 × 10ᵏ (OIML R 76-1:2006).
fn is_usual(step: Division) -> bool {
    let mut digits = step.grams().decimal().normalize().mantissa();
    while digits > 0 && digits.checked_rem(10) == Some(0) {
        digits = digits.checked_div(10).unwrap_or(0);
    }
    matches!(digits, 1 | 2 | 5)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{grams, scale};
    use super::*;
    use rstest::rstest;

    /// Max 7 500 g, d = e = 0.1 g, class II, in service, and Max 7.5 kg, e = 1 g, class III: worked out here from
    /// OIML R 76-1:2006 tables 3 and 6.
    #[rstest]
    #[case(AccuracyClass::Ii, "0.1", [("5", "0.1"), ("500", "0.1"), ("500.1", "0.2"), ("2000", "0.2"), ("2000.1", "0.3"), ("7500", "0.3")], "5")]
    #[case(AccuracyClass::Iii, "1", [("20", "1"), ("500", "1"), ("501", "2"), ("2000", "2"), ("2001", "3"), ("7500", "3")], "20")]
    fn worked_examples(
        #[case] class: AccuracyClass,
        #[case] e: &str,
        #[case] limits: [(&str, &str); 6],
        #[case] min: &str,
    ) {
        let scale = scale(class, e, "7500");
        assert_eq!(scale.misfit(), None);
        for (load, limit) in limits {
            assert_eq!(scale.limit_at(grams(load)), Some(grams(limit)), "{load}");
        }
        assert_eq!(scale.smallest_load(), Some(grams(min)));
    }

    #[test]
    fn the_tighter_limit_holds() {
        let mut scale = scale(AccuracyClass::Ii, "0.1", "7500");
        let limits = |scale: &BenchScale| ["400", "4000"].map(|load| scale.limit_at(grams(load)));
        scale.own_limit = Some(grams("0.2"));
        assert_eq!(limits(&scale), [Some(grams("0.1")), Some(grams("0.2"))]);
        assert_eq!(["400", "4000"].map(|load| scale.is_own_limit_at(grams(load))), [false, true]);
        scale.class = None;
        assert_eq!(limits(&scale), [Some(grams("0.2")), Some(grams("0.2"))]);
        assert!(scale.is_own_limit_at(grams("400")));
        assert_eq!(scale.smallest_load(), None);
        scale.own_limit = None;
        assert_eq!(limits(&scale), [None, None]);
    }

    /// OIML R 76-1:2006: with an auxiliary digit Min is counted in d, the limits in e (from memory).
    #[test]
    fn an_auxiliary_digit_does_not_tighten_the_limits() {
        let mut scale = scale(AccuracyClass::Ii, "0.1", "7500");
        scale.d = Division::parse("0.01").unwrap();
        assert_eq!(scale.misfit(), None);
        assert_eq!(scale.limit_at(grams("500")), Some(grams("0.1")));
        assert_eq!(scale.smallest_load(), Some(grams("0.5")));
        assert_eq!(scale.zero_limit(), grams("0.005"));
    }

    #[rstest]
    #[case::too_few(
        AccuracyClass::Ii,
        "0.1",
        "400",
        "400 g in steps of 0.1 g are 4000 intervals: class II has from 5000 to 100000"
    )]
    #[case::too_many(AccuracyClass::Iii, "0.1", "7500", "75000 intervals: class III has from 100 to 10000")]
    #[case::class_i_has_no_most(AccuracyClass::I, "0.001", "40", "class I has 50000 or more")]
    #[case::interval(
        AccuracyClass::Iiii,
        "1",
        "1000",
        "no scale of class IIII has a verification interval e of 1 g"
    )]
    #[case::no_such_class(AccuracyClass::IiiL, "2000", "10000000", "OIML R 76-1:2006 has no class III L")]
    #[case::step(AccuracyClass::Ii, "0.3", "7500", "not by 0.3 g")]
    fn what_does_not_fit_is_said(
        #[case] class: AccuracyClass,
        #[case] e: &str,
        #[case] max: &str,
        #[case] said: &str,
    ) {
        let misfit = scale(class, e, max).misfit().unwrap().to_string();
        assert!(misfit.contains(said), "{misfit}");
    }

    #[test]
    fn e_lies_between_d_and_ten_d() {
        let with = |d: &str, e: &str| {
            let mut scale = scale(AccuracyClass::Ii, e, "7500");
            scale.d = Division::parse(d).unwrap();
            scale.misfit()
        };
        assert_eq!(with("0.1", "0.1"), None);
        assert_eq!(with("0.01", "0.1"), None);
        assert!(matches!(with("0.001", "0.1"), Some(Misfit::Digit { .. })));
        assert!(matches!(with("0.2", "0.1"), Some(Misfit::Digit { .. })));
    }

    #[test]
    fn what_scales_count_by() {
        for step in ["0.001", "0.02", "0.5", "1", "2", "50", "100"] {
            assert!(is_usual(Division::parse(step).unwrap()), "{step}");
        }
        for step in ["0.3", "0.25", "15", "4", "1.1"] {
            assert!(!is_usual(Division::parse(step).unwrap()), "{step}");
        }
    }
}
