//! The index as bytes: a line for people, then two parts, each with its length and its sum. The first is what the
//! first screen needs, the second what tells which files have changed; so opening reads no more than it must.

use super::key::Key;
use super::records::{Known, Record, Records};
use crate::catalogue::problem::{Problem, Severity, Spot};
use crate::catalogue::{Finish, Listing, Role, Swatch};
use serde::{Deserialize, Serialize};
use std::os::unix::ffi::OsStrExt as _;
use std::path::Path;

/// To be raised when these bytes mean something else, or when a colour's file may say something that it could not
/// before: what an older program wrote is then made anew.
const VERSION: u32 = 2;

/// What the first screen needs.
#[derive(Debug, Deserialize)]
pub(super) struct First {
    pub(super) listing: Listing,
    /// What is wrong with the colours.
    pub(super) problems: Vec<KeptProblem>,
}

/// What tells which files have changed, and what they say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Rest {
    /// The shop's folder as the problems have it.
    pub(super) label: String,
    /// The toners and products that the colours were read with.
    pub(super) toners: Toners,
    pub(super) records: Records,
}

/// The toners that the colours were read with, and the products.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Toners {
    /// What `toners.toml` was like; any change shows here.
    pub(super) sum: u64,
    /// The same of `products.toml`.
    pub(super) products_sum: u64,
    /// Whether each of the two could be read as a whole.
    pub(super) complete: (bool, bool),
    /// The codes of the toners that could be used, folded, in order.
    pub(super) codes: Vec<String>,
    /// The same of the products.
    pub(super) products: Vec<String>,
}

/// A problem in the index.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct KeptProblem {
    is_error: bool,
    file: String,
    spot: Option<KeptSpot>,
    what: String,
    expected: Option<String>,
    hint: Option<String>,
    left_out: Option<String>,
}

/// Line, column, excerpt, indent.
type KeptSpot = (usize, usize, String, usize);

#[derive(Serialize, Deserialize)]
struct KeptColour {
    code: String,
    name: String,
    variant: String,
    finish: Finish,
    swatch: Option<(u8, u8, u8)>,
    layers: Vec<(Role, u32)>,
    retired: Option<(String, Option<String>)>,
    spot: KeptSpot,
}

type KeptRecord = (String, Option<Key>, Option<KeptColour>, Vec<KeptProblem>);

/// The second part, as bytes. None if it cannot be written down.
pub(super) fn pack(rest: &Rest) -> Option<Vec<u8>> {
    let records: Vec<KeptRecord> = rest.records.iter().map(kept).collect();
    postcard::to_stdvec(&(&rest.label, &rest.toners, records)).ok()
}

/// The index of that shop, as bytes. None if it cannot be written down.
pub(super) fn write(shop: &Path, listing: &Listing, problems: &[Problem], rest: &[u8]) -> Option<Vec<u8>> {
    let problems: Vec<KeptProblem> = problems.iter().map(Into::into).collect();
    let first = postcard::to_stdvec(&(listing, problems)).ok()?;
    let mut bytes = heading(shop);
    for part in [&*first, rest] {
        bytes.extend(u64::try_from(part.len()).ok()?.to_le_bytes());
        bytes.extend(sum(part).to_le_bytes());
    }
    bytes.extend(first);
    bytes.extend(rest);
    Some(bytes)
}

/// The first part, and the bytes of the second. None if these bytes are not a whole index of that shop.
pub(super) fn read<'b>(bytes: &'b [u8], shop: &Path) -> Option<(First, &'b [u8])> {
    let bytes = bytes.strip_prefix(&*heading(shop))?;
    let (head, parts) = bytes.split_at_checked(32)?;
    let mut numbers = head.as_chunks::<8>().0.iter().map(|number| u64::from_le_bytes(*number));
    let mut next = || numbers.next();
    let (first_len, first_sum, rest_len, rest_sum) = (next()?, next()?, next()?, next()?);
    let (first, rest) = parts.split_at_checked(usize::try_from(first_len).ok()?)?;
    let whole = usize::try_from(rest_len).ok()? == rest.len() && sum(first) == first_sum;
    if !whole || sum(rest) != rest_sum {
        return None;
    }
    Some((postcard::from_bytes(first).ok()?, rest))
}

/// The second part from its bytes.
pub(super) fn rest(bytes: &[u8]) -> Option<Rest> {
    let (label, toners, records): (String, Toners, Vec<KeptRecord>) = postcard::from_bytes(bytes).ok()?;
    Some(Rest { label, toners, records: records.into_iter().map(unkept).collect() })
}

/// What the file begins with: it says of which shop it is, and which program's it is.
fn heading(shop: &Path) -> Vec<u8> {
    let mut heading = format!("pourbook index {VERSION} of {} for ", env!("CARGO_PKG_VERSION")).into_bytes();
    heading.extend(shop.as_os_str().as_bytes().escape_ascii());
    heading.push(b'\n');
    heading
}

/// Tells damage, and protects against nobody: four sums side by side, so that a large index is no wait.
pub(super) fn sum(bytes: &[u8]) -> u64 {
    const FACTOR: u64 = 0x9e37_79b9_7f4a_7c15;
    let step = |sum: u64, word: u64| (sum ^ word).wrapping_mul(FACTOR).rotate_left(29);
    let mut sums = [1_u64, 2, 3, 4];
    let (chunks, left) = bytes.as_chunks::<32>();
    for chunk in chunks {
        for (sum, word) in sums.iter_mut().zip(chunk.as_chunks::<8>().0) {
            *sum = step(*sum, u64::from_le_bytes(*word));
        }
    }
    let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    let tail = left.iter().fold(length, |sum, byte| step(sum, u64::from(*byte)));
    sums.into_iter().fold(tail, step)
}

fn kept((path, record): (&String, &Record)) -> KeptRecord {
    let colour = record.colour.as_ref().map(|colour| KeptColour {
        code: colour.code.clone(),
        name: colour.name.clone(),
        variant: colour.variant.clone(),
        finish: colour.finish,
        swatch: colour.swatch.map(|swatch| (swatch.red, swatch.green, swatch.blue)),
        layers: colour.layers.clone(),
        retired: colour.retired.clone(),
        spot: spot_kept(&colour.spot),
    });
    (path.clone(), record.key, colour, record.problems.iter().map(Into::into).collect())
}

fn unkept((path, key, colour, problems): KeptRecord) -> (String, Record) {
    let colour = colour.map(|colour| Known {
        code: colour.code,
        name: colour.name,
        variant: colour.variant,
        finish: colour.finish,
        swatch: colour.swatch.map(|(red, green, blue)| Swatch { red, green, blue }),
        layers: colour.layers,
        retired: colour.retired,
        spot: spot_unkept(colour.spot),
    });
    (path, Record { key, colour, problems: problems.into_iter().map(Into::into).collect() })
}

fn spot_kept(spot: &Spot) -> KeptSpot {
    (spot.line, spot.column, spot.excerpt.clone(), spot.indent)
}

fn spot_unkept((line, column, excerpt, indent): KeptSpot) -> Spot {
    Spot { line, column, excerpt, indent }
}

/// What can be left out because of a problem.
const LEFT_OUT: [&str; 6] = ["toner", "cup", "colour", "scale", "weight", "file"];

impl From<&Problem> for KeptProblem {
    fn from(problem: &Problem) -> Self {
        Self {
            is_error: problem.severity == Severity::Error,
            file: problem.file.clone(),
            spot: problem.spot.as_ref().map(spot_kept),
            what: problem.what.clone(),
            expected: problem.expected.clone(),
            hint: problem.hint.clone(),
            left_out: problem.left_out.map(str::to_owned),
        }
    }
}

impl From<KeptProblem> for Problem {
    fn from(kept: KeptProblem) -> Self {
        let left_out = kept.left_out.as_deref();
        Self {
            severity: if kept.is_error { Severity::Error } else { Severity::Warning },
            file: kept.file,
            spot: kept.spot.map(spot_unkept),
            what: kept.what,
            expected: kept.expected,
            hint: kept.hint,
            left_out: left_out.and_then(|thing| LEFT_OUT.into_iter().find(|known| *known == thing)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn demo() -> (Listing, Vec<Problem>, Rest) {
        let problem = Problem::error("x.toml", Some(Spot::of("code = 1", 3)), "it is wrong")
            .expected("something else")
            .hint("Put it right.");
        let problems = vec![problem.clone().leaving_out("colour"), Problem::warning("y.toml", None, "odd")];
        let known = Known {
            code: "PB-1".to_owned(),
            name: "Föhn Wall".to_owned(),
            variant: "coarser".to_owned(),
            finish: Finish::ThreeStage,
            swatch: Some(Swatch { red: 1, green: 2, blue: 3 }),
            layers: vec![(Role::Ground, 3), (Role::Pearl, 2)],
            retired: Some(("2026-11-25".to_owned(), Some("too dark".to_owned()))),
            spot: Spot::of("code = \"PB-1\"", 7),
        };
        let good = Record { key: None, colour: Some(known), problems: Vec::new() };
        let bad = Record { key: None, colour: None, problems: problems.clone() };
        let records =
            Records::from([("colours/a.toml".to_owned(), good), ("colours/b.toml".to_owned(), bad)]);
        let toners = Toners {
            sum: 5,
            products_sum: 7,
            complete: (true, true),
            codes: vec!["w10".to_owned()],
            products: vec!["gc-2".to_owned()],
        };
        let (listing, _) = super::super::records::join("shop", &records);
        (listing, problems, Rest { label: "shop".to_owned(), toners, records })
    }

    #[test]
    fn what_is_written_is_what_is_read() {
        let (listing, problems, rest) = demo();
        let shop = Path::new("/shops/one");
        let bytes = write(shop, &listing, &problems, &pack(&rest).unwrap()).unwrap();
        let (first, second) = read(&bytes, shop).unwrap();
        assert_eq!(first.listing, listing);
        assert_eq!(first.problems.into_iter().map(Problem::from).collect::<Vec<_>>(), problems);
        assert_eq!(super::rest(second), Some(rest));
        assert!(bytes.starts_with(b"pourbook index 2 of "), "people can see what it is");
        assert!(read(&bytes, Path::new("/shops/two")).is_none(), "another shop's index is none");
    }

    proptest! {
        /// Any byte changed, taken away or added makes it no index.
        #[test]
        fn damage_is_noticed(at in any::<prop::sample::Index>(), put in prop::collection::vec(any::<u8>(), 0..4)) {
            let (listing, problems, rest) = demo();
            let shop = Path::new("/shops/one");
            let whole = write(shop, &listing, &problems, &pack(&rest).unwrap()).unwrap();
            let mut bytes = whole.clone();
            let at = at.index(bytes.len());
            bytes.splice(at..=at, put);
            prop_assert!(bytes == whole || read(&bytes, shop).is_none());
            bytes.truncate(at);
            prop_assert!(read(&bytes, shop).is_none());
        }

        #[test]
        fn no_bytes_are_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            prop_assert!(read(&bytes, Path::new("/shops/one")).is_none());
            let _ = super::rest(&bytes);
            let _ = postcard::from_bytes::<First>(&bytes).map(|first| first.listing.iter().count());
        }
    }
}
