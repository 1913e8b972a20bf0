//! The tins on the rack: how much is in each, which is open, and when another is wanted.

use crate::catalogue::{Toner, TonerCode, TonerKind};
use crate::stock::{Receipt, TinName};
use crate::units::{Decimal, Grams, Millilitres, Money};
use std::collections::BTreeMap;

/// A tin and what is left in it.
#[derive(Debug)]
struct Tin {
    label: String,
    left: Grams,
    is_open: bool,
}

/// All of them.
#[derive(Debug, Default)]
pub(super) struct Rack {
    tins: BTreeMap<TonerCode, Vec<Tin>>,
    received: u32,
}

/// What a tin of that toner is sold as, in millilitres, and what it weighs empty, in grams: invented.
fn size(toner: &Toner) -> (u32, u32) {
    match toner.kind {
        TonerKind::Thinner => (5_000, 380),
        TonerKind::Binder => (4_000, 340),
        TonerKind::Supplied => (5_000, 410),
        TonerKind::Hardener => (1_000, 115),
        _ => (1_000, 113),
    }
}

impl Rack {
    /// Another tin of that toner, its label and lot made up; it can be used until `expires`.
    pub(super) fn receive(&mut self, toner: &Toner, year: u32, lot: u32, expires: String) -> Receipt {
        self.received += 1;
        let (volume, empty) = size(toner);
        let volume = Millilitres::new(volume.into());
        let net = Grams::new(toner.density.mass_of(volume).decimal().round());
        let label = format!("{year:02}-{:03}", self.received);
        let price = toner.price.map(|price| Money::new(price.cost_of(volume).decimal().round_dp(2)));
        let litres = (volume.decimal() / Decimal::from(1_000_u32)).normalize();
        self.tins.entry(toner.code.clone()).or_default().push(Tin {
            label: label.clone(),
            left: net,
            is_open: false,
        });
        Receipt {
            tin: TinName { label, toner: toner.code.clone() },
            net,
            empty: Some(Grams::new(empty.into())),
            size: Some(format!("{litres} L")),
            lot: Some(format!("{}{lot:04}", toner.code)),
            expires: Some(expires),
            price,
            item: toner.codes.first().cloned(),
            supplier: Some("an invented supplier".to_owned()),
        }
    }

    /// Whether another tin of it should come: less than a good half of one is left.
    pub(super) fn is_low(&self, toner: &Toner) -> bool {
        let left: Grams = self.tins.get(&toner.code).into_iter().flatten().map(|tin| tin.left).sum();
        let full = toner.density.mass_of(Millilitres::new(size(toner).0.into()));
        left < full.times(Decimal::new(55, 2))
    }

    /// The tin to pour so much from, and whether it had to be opened for it; none if no tin has as much.
    pub(super) fn tin_for(&mut self, toner: &TonerCode, wanted: Grams) -> Option<(String, bool)> {
        let tins = self.tins.get_mut(toner)?;
        let enough = |tin: &&mut Tin| tin.left >= wanted;
        let tin = match tins.iter_mut().find(|tin| tin.is_open && tin.left >= wanted) {
            Some(tin) => tin,
            None => tins.iter_mut().find(enough)?,
        };
        let opened = !std::mem::replace(&mut tin.is_open, true);
        Some((tin.label.clone(), opened))
    }

    /// So much was poured from it.
    pub(super) fn take(&mut self, toner: &TonerCode, label: &str, mass: Grams) {
        let tins = self.tins.get_mut(toner).into_iter().flatten();
        if let Some(tin) = tins.into_iter().find(|tin| tin.label == label) {
            tin.left -= mass;
        }
    }

    /// Open tins with next to nothing in them: they are put away as empty.
    pub(super) fn scrape(&mut self) -> Vec<(TinName, Grams)> {
        let least = Grams::new(Decimal::from(12_u32));
        let mut empty = Vec::new();
        for (toner, tins) in &mut self.tins {
            let is_scraped = |tin: &Tin| tin.is_open && tin.left < least;
            for tin in tins.iter().filter(|tin| is_scraped(tin)) {
                empty.push((TinName { label: tin.label.clone(), toner: toner.clone() }, tin.left));
            }
            tins.retain(|tin| !is_scraped(tin));
        }
        empty
    }

    /// The tins that are open.
    pub(super) fn open(&self) -> impl Iterator<Item = TinName> + '_ {
        let name = |toner: &TonerCode, tin: &Tin| TinName { label: tin.label.clone(), toner: toner.clone() };
        self.tins.iter().flat_map(move |(toner, tins)| {
            tins.iter().filter(|tin| tin.is_open).map(move |tin| name(toner, tin))
        })
    }
}
