//! The places paint can be in, as the book names them.

use super::MixId;
use crate::catalogue::TonerCode;
use crate::units::clean;
use std::fmt;

/// A place paint comes from or goes to. Its text is what the book keeps: `tin:24-031`, `tin?:W10`,
/// `cup:0190…`, `waste:drawn-off`, `waste:abandoned:wrong colour`.
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
    /// Any other, by its whole text: suppliers, cars, leftovers and differences are told apart by the wings
    /// that know them. Reading never fails, so that a book with more kinds of account can still be shown.
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

    /// The account with that text.
    pub fn parse(text: &str) -> Self {
        let known = match text.split_once(':') {
            Some(("tin", label)) => Some(Self::Tin(label.to_owned())),
            Some(("tin?", code)) => Some(Self::UnknownTin(TonerCode::new(code))),
            Some(("cup", mix)) => MixId::parse(mix).map(Self::Cup),
            Some(("waste", "drawn-off")) => Some(Self::DrawnOff),
            Some(("waste", rest)) => {
                rest.strip_prefix("abandoned:").map(|reason| Self::Abandoned(reason.to_owned()))
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
            Self::Other(text) => f.write_str(text),
        }
    }
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
        assert_eq!(Account::parse("car:12"), Account::Other("car:12".into()));
    }
}
