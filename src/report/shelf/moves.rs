//! What came into the tins of a toner and what went out of them: the events behind the figures.

use crate::book::{Account, Ledger, MixesOf, Moved, Store, StoreError};
use crate::catalogue::TonerCode;
use crate::stock::{Count, StockEvent, shelf};
use crate::units::{Grams, Stamp};

/// So much went into a tin, or, below nothing, out of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Move {
    /// When; of a mix, when it was begun.
    pub at: Stamp,
    /// The tin's label; none where it was not said.
    pub tin: Option<String>,
    /// What it was, in a few words.
    pub what: String,
    /// How much.
    pub mass: Grams,
}

/// Everything that moved a toner into its tins or out of them, the latest first.
pub fn moves<B: Ledger + Store>(book: &B, toner: &TonerCode) -> Result<Vec<Move>, StoreError> {
    let labels = shelf(book)?.into_iter().filter(|tin| tin.toner == *toner).map(|tin| tin.label);
    let mut moves = Vec::new();
    for place in labels.map(Account::Tin).chain([Account::UnknownTin(toner.clone())]) {
        for moved in book.moved_by(&place)?.into_iter().filter(|moved| moved.toner == *toner) {
            let (at, what) = event(book, &moved)?;
            let tin = if let Account::Tin(label) = &place { Some(label.clone()) } else { None };
            moves.push(Move { at, tin, what, mass: moved.mass });
        }
    }
    moves.sort_by_key(|one| std::cmp::Reverse(one.at));
    Ok(moves)
}

/// When it happened and what it was: a mix, or an event that stands alone. What a tin's own event moves of the tins not named
/// was found to be out of that tin.
fn event<B: Ledger + Store>(book: &B, moved: &Moved) -> Result<(Stamp, String), StoreError> {
    if let Some(mix) = book.totals(MixesOf::Mix(moved.subject))?.pop() {
        let [colour, _, layer] = &mix.head.subject;
        let part = |text: &Option<String>| text.as_ref().map_or_else(String::new, |text| format!(" {text}"));
        return Ok((mix.head.begun, format!("mix {:04}{}{}", mix.head.number, part(colour), part(layer))));
    }
    let Some(alone) = book.events(moved.subject)?.pop() else {
        return Ok((Stamp(0), "not in the journal".to_owned()));
    };
    let is_named = !matches!(moved.account, Account::UnknownTin(_));
    let what = match StockEvent::read(&alone) {
        Ok(Some(
            StockEvent::Counted(Count { tin, .. })
            | StockEvent::Emptied { tin, .. }
            | StockEvent::Discarded { tin, .. },
        )) if !is_named => format!("was of tin {}", tin.label),
        Ok(Some(StockEvent::Received(came))) => match came.supplier {
            Some(supplier) => format!("received from {supplier}"),
            None => "received".to_owned(),
        },
        Ok(Some(StockEvent::Counted(_))) => "counted".to_owned(),
        Ok(Some(StockEvent::Emptied { .. })) => "said to be empty".to_owned(),
        Ok(Some(StockEvent::Discarded { reason, .. })) => format!("thrown away: {reason}"),
        _ => alone.kind,
    };
    Ok((alone.at, what))
}
