//! What the shop keeps on paper: toners, cups and colours; loaded, checked and found.
use serde::{Deserialize, Serialize};
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct TonerCode(pub String);
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ColourCode(pub String);
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Role {
    Ground,
}
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Place {
    First,
    Last,
}
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Swatch {
    pub red: u8,
    pub green: u8,
    pub blue: u8,
}
impl TonerCode {
    pub fn new(s: impl Into<String>) -> Self {
        Self(s.into())
    }
}
impl ColourCode {
    pub fn new(s: impl Into<String>) -> Self {
        Self(s.into())
    }
}
