//! What a gram out of a tin cost: by the tin's own price where its receipt says one.

use crate::book::{Account, Ledger, Store, StoreError};
use crate::units::{Decimal, Grams, Money};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What tins cost, each looked up once.
#[derive(Debug, Default)]
pub(super) struct TinPrices(BTreeMap<String, Option<TinPrice>>);

/// What a tin cost, and what was in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub(super) struct TinPrice {
    price: Money,
    net: Grams,
}

impl TinPrice {
    /// What that mass out of it cost.
    pub(super) fn cost_of(self, mass: Grams) -> Option<Money> {
        Some(self.price.times(mass.ratio_to(self.net)?))
    }
}

impl TinPrices {
    /// What the tin with that label cost; none if no receipt says it.
    pub(super) fn of<B: Ledger + Store + ?Sized>(
        &mut self,
        book: &B,
        label: &str,
    ) -> Result<Option<TinPrice>, StoreError> {
        if let Some(known) = self.0.get(label) {
            return Ok(*known);
        }
        let found = received(book, label)?;
        self.0.insert(label.to_owned(), found);
        Ok(found)
    }
}

/// The price in a tin's receipt. What came into the tin is found by its account, so that the journal is not read through.
fn received<B: Ledger + Store + ?Sized>(book: &B, label: &str) -> Result<Option<TinPrice>, StoreError> {
    for moved in book.moved_by(&Account::Tin(label.to_owned()))? {
        if !moved.mass.is_positive() {
            continue;
        }
        let events = book.events(moved.subject)?;
        let receipt = events.iter().find(|event| event.kind == "tin/received");
        if let Some(receipt) = receipt {
            let said: Option<TinPrice> = serde_json::from_str(&receipt.body).ok();
            return Ok(said.filter(|said| said.net.is_positive() && said.price.decimal() >= Decimal::ZERO));
        }
    }
    Ok(None)
}
