//! What is known of each colour's file, and what they make together.

use super::key::Key;
use crate::catalogue::assemble::{Joining, ReadFile};
use crate::catalogue::listing::{Making, said};
use crate::catalogue::problem::{Problem, Spot};
use crate::catalogue::{Entry, Finish, Listing, Role, Swatch};
use std::collections::BTreeMap;

/// By the file's path inside the shop's folder.
pub(super) type Records = BTreeMap<String, Record>;

/// One colour's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Record {
    /// What it was known by when it was read; none if it must be read again in any case.
    pub(super) key: Option<Key>,
    /// Its colour, if nothing is wrong with it.
    pub(super) colour: Option<Known>,
    /// What is wrong with the file by itself.
    pub(super) problems: Vec<Problem>,
}

/// What is kept of a colour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Known {
    pub(super) code: String,
    pub(super) name: String,
    pub(super) variant: String,
    pub(super) finish: Finish,
    pub(super) swatch: Option<Swatch>,
    pub(super) layers: Vec<(Role, u32)>,
    pub(super) retired: Option<(String, Option<String>)>,
    /// Where its code stands.
    pub(super) spot: Spot,
}

impl Record {
    pub(super) fn of(read: ReadFile, key: Option<Key>) -> Self {
        let colour = read.colour.map(|(colour, spot)| Known {
            layers: colour
                .layers
                .iter()
                .map(|layer| (layer.role, u32::try_from(layer.pours.len()).unwrap_or(u32::MAX)))
                .collect(),
            retired: colour
                .retired
                .as_ref()
                .map(said)
                .map(|(on, because)| (on.to_owned(), because.map(str::to_owned))),
            code: colour.code.as_str().to_owned(),
            name: colour.name,
            variant: colour.variant,
            finish: colour.finish,
            swatch: colour.swatch,
            spot,
        });
        Self { key, colour, problems: read.problems }
    }
}

/// The listing of all files together, and what is wrong with them.
pub(super) fn join(label: &str, records: &Records) -> (Listing, Vec<Problem>) {
    let mut joining = Joining::new(label);
    let (mut making, mut problems) = (Making::default(), Vec::new());
    for (path, record) in records {
        let colour = record.colour.as_ref();
        let identity = colour.map(|colour| (&*colour.code, &*colour.variant, &colour.spot));
        let mut own = record.problems.clone();
        if joining.take(path, identity, &mut own)
            && let Some(colour) = colour
        {
            making.add(Entry {
                code: &colour.code,
                name: &colour.name,
                variant: &colour.variant,
                finish: colour.finish,
                swatch: colour.swatch,
                layers: &colour.layers,
                file: path.strip_prefix("colours/").unwrap_or(path),
                retired: colour.retired.as_ref().map(|(on, because)| (&**on, because.as_deref())),
                place: 0,
            });
        }
        problems.append(&mut own);
    }
    problems.extend(joining.end());
    (making.end(), problems)
}
