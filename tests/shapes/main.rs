//! The wire formats from outside: captures with what they must be read as, the same bytes split, merged and
//! damaged in every way, and what settle makes of a damaged line.
//!
//! A capture is `tests/captures/SHAPE/NAME.hex`: lines starting with `#` say where its bytes come from, the
//! others give bytes in hex up to a `|`. Beside it `NAME.expected` says what they are, a line each. After a
//! change, `POURBOOK_REBUILD=1 cargo test --test shapes` writes the expected files anew: read every one.

#![expect(clippy::unwrap_used, reason = "what helps a test fails as a test does")]

mod asking;
mod captures;
mod damage;
mod reading;
mod there_and_back;
