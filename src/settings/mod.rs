//! What can be set, what holds, and where each of it came from.
//!
//! Each setting is data ([`Key`]): a name, a kind, a default, a sentence. What holds is settled from the command line,
//! the environment, the file and what is usual in the country, in that order; each value remembers which it was. Only
//! `keeper` touches a disk.

mod country;
mod file;
mod file_command;
mod keeper;
mod key;
mod kind;
mod settled;

pub use country::{COUNTRIES, Country};
pub use file::{FileSettings, KeyLine, Spoken, set, unset};
pub use file_command::FileCommand;
pub use keeper::{KeepError, read, write};
pub use key::Key;
pub use kind::{Kind, Wrong};
pub use settled::{Given, Settings, Source};
