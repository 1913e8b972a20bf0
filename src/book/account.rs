//! The places paint can be in, as the book names them.

use super::MixId;
use crate::catalogue::TonerCode;
use crate::units::clean;
use std::fmt;

/// A place paint comes from or goes to. Its text is what the book keeps: `tin:24-031`, `tin?:W10`, `cup:0190…`,
/// `leftover:0190…`, `car:JOB`, `supplier:NAME`, `difference:WHY`, `waste:drawn-off`, `waste:abandoned:REASON`,
/// `waste:left:REASON`, `waste:tin:REASON`. A name, a job or a reason that was not said is empty.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Account {
    /// A tin, by its label.
    Tin(String),
    /// A tin of that toner whose label was not said.
    UnknownTin(TonerCode),
    /// A mix's cup.
    Cup(MixId),
    /// Thrown away: taken out of a cup to put a mix right.
    DrawnOff,
    /// Thrown away with a mix that was given up, for that reason.
    Abandoned(String),
    /// What was kept of a mix after spraying.
    Leftover(MixId),
    /// Sprayed, on that repair.
    Car(String),
    /// Where tins come from.
    Supplier(String),
    /// Thrown away after spraying, or later as a leftover, for that reason.
    LeftThrown(String),
    /// Thrown away with its tin, for that reason.
    TinThrown(String),
    /// What the shelf was found to have less than the book said (or, below nothing, more), and why.
    Difference(String),
    /// Any other, by its whole text. Reading never fails, so that a book with more kinds of account can still be shown.
    Other(String),
}

impl Account {
    /// The tin with that label, or the unknown tin of that toner if the label says nothing.
    pub fn tin(label: Option<&str>, toner: &TonerCode) -> Self {
        let label = clean(label.unwrap_or_default());
        match label.trim() {
            "" => Self::UnknownTin(toner.clone()),
            label => Self::Tin(label.to_owned()),
        }
    }

    /// What was sprayed on that repair.
    pub fn car(job: Option<&str>) -> Self {
        Self::Car(tidy(job.unwrap_or_default()))
    }

    /// What was thrown away after spraying, or as a leftover.
    pub fn left_thrown(reason: &str) -> Self {
        Self::LeftThrown(tidy(reason))
    }

    /// The leftover of the mix with that identity, whatever is in the text.
    pub fn leftover(mix: &str) -> Self {
        Self::parse(&format!("leftover:{}", clean(mix)))
    }

    /// The account with that text.
    pub fn parse(text: &str) -> Self {
        let known = match text.split_once(':') {
            Some(("tin", label)) => Some(Self::Tin(label.to_owned())),
            Some(("tin?", code)) => Some(Self::UnknownTin(TonerCode::new(code))),
            Some(("cup", mix)) => MixId::parse(mix).map(Self::Cup),
            Some(("leftover", mix)) => MixId::parse(mix).map(Self::Leftover),
            Some(("car", job)) => Some(Self::Car(job.to_owned())),
            Some(("supplier", name)) => Some(Self::Supplier(name.to_owned())),
            Some(("difference", why)) => Some(Self::Difference(why.to_owned())),
            Some(("waste", "drawn-off")) => Some(Self::DrawnOff),
            Some(("waste", rest)) => {
                let of = |kind: &str| rest.strip_prefix(kind).map(str::to_owned);
                let abandoned = of("abandoned:").map(Self::Abandoned);
                abandoned
                    .or_else(|| of("left:").map(Self::LeftThrown))
                    .or_else(|| of("tin:").map(Self::TinThrown))
            }
            _ => None,
        };
        known.unwrap_or_else(|| Self::Other(text.to_owned()))
    }
}

impl fmt::Display for Account {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tin(label) => write!(f, "tin:{label}"),
            Self::UnknownTin(toner) => write!(f, "tin?:{}", toner.as_str()),
            Self::Cup(mix) => write!(f, "cup:{mix}"),
            Self::DrawnOff => f.write_str("waste:drawn-off"),
            Self::Abandoned(reason) => write!(f, "waste:abandoned:{reason}"),
            Self::Leftover(mix) => write!(f, "leftover:{mix}"),
            Self::Car(job) => write!(f, "car:{job}"),
            Self::Supplier(name) => write!(f, "supplier:{name}"),
            Self::LeftThrown(reason) => write!(f, "waste:left:{reason}"),
            Self::TinThrown(reason) => write!(f, "waste:tin:{reason}"),
            Self::Difference(why) => write!(f, "difference:{why}"),
            Self::Other(text) => f.write_str(text),
        }
    }
}

fn tidy(text: &str) -> String {
    clean(text).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Ids;
    use crate::units::Stamp;
    use proptest::prelude::*;

    fn accounts() -> impl Strategy<Value = Account> {
        prop_oneof![
            ".*".prop_map(Account::Tin),
            ".*".prop_map(|code| Account::UnknownTin(TonerCode::new(code))),
            any::<u64>().prop_map(|seed| Account::Cup(Ids::counted(seed).mix(Stamp(0)))),
            Just(Account::DrawnOff),
            ".*".prop_map(Account::Abandoned),
            any::<u64>().prop_map(|seed| Account::Leftover(Ids::counted(seed).mix(Stamp(0)))),
            ".*".prop_map(Account::Car),
            ".*".prop_map(Account::Supplier),
            ".*".prop_map(Account::LeftThrown),
            ".*".prop_map(Account::TinThrown),
            ".*".prop_map(Account::Difference),
        ]
    }

    proptest! {
        /// No label, code or reason, whatever is in it, can pass for another account.
        #[test]
        fn an_account_is_read_back_from_its_text(account in accounts()) {
            prop_assert_eq!(Account::parse(&account.to_string()), account);
        }

        #[test]
        fn any_text_is_some_account_with_that_text(text in ".*") {
            prop_assert_eq!(Account::parse(&text).to_string(), text);
        }
    }

    #[test]
    fn a_tin_without_a_label_is_an_unknown_tin_of_its_toner() {
        let toner = TonerCode::new("W10");
        assert_eq!(Account::tin(Some(" 24-\u{1b}031 "), &toner).to_string(), "tin:24-031");
        assert_eq!(Account::tin(Some(" \t"), &toner).to_string(), "tin?:W10");
        assert_eq!(Account::tin(None, &toner).to_string(), "tin?:W10");
        assert_eq!(Account::tin(Some("?W10"), &toner).to_string(), "tin:?W10");
        assert_eq!(Account::parse("cellar:12"), Account::Other("cellar:12".into()));
    }

    #[test]
    fn each_kind_has_its_text() {
        let mix = Ids::counted(1).mix(Stamp(0));
        for (account, text) in [
            (Account::Leftover(mix), format!("leftover:{mix}").as_str()),
            (Account::leftover(&mix.to_string()), &format!("leftover:{mix}")),
            (Account::car(Some(" R-12\n")), "car:R-12"),
            (Account::car(None), "car:"),
            (Account::Supplier(String::new()), "supplier:"),
            (Account::left_thrown("hardened"), "waste:left:hardened"),
            (Account::TinThrown("expired".into()), "waste:tin:expired"),
            (Account::Difference("spilt".into()), "difference:spilt"),
        ] {
            assert_eq!(account.to_string(), text);
            assert_eq!(Account::parse(text), account);
        }
        // A leftover of no mix is kept as it is written.
        assert_eq!(Account::leftover("x"), Account::Other("leftover:x".into()));
    }
}
