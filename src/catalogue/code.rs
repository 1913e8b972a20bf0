//! The codes by which a shop knows its toners and colours.

use serde::{Deserialize, Serialize, Serializer};
use std::fmt;
use std::sync::Arc;

/// Whether two codes or names are the same but for capitals.
pub(super) fn same(a: &str, b: &str) -> bool {
    a == b || fold(a) == fold(b)
}

/// The spelling under which codes are compared: `w10` and `W10` are one code, since on a tin, at an arm's
/// length, they are one.
pub(super) fn fold(text: &str) -> String {
    text.trim().to_lowercase()
}

/// A code is shared and not copied: a report over years has one in each of tens of thousands of rows.
macro_rules! code {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
        #[serde(from = "String")]
        pub struct $name(Arc<str>);

        impl $name {
            /// That code, as it is.
            pub fn new(code: impl Into<String>) -> Self {
                Self(code.into().into())
            }

            /// The code's text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<String> for $name {
            fn from(code: String) -> Self {
                Self::new(code)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(&self.0)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

code!(
    /// A toner's code, `W10`. Serialised as bare text.
    TonerCode
);
code!(
    /// A colour's code, `PB-3140`. Serialised as bare text.
    ColourCode
);
