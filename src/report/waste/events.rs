//! What happened to a mix, event by event: what stands behind every figure of it.

use crate::book::{Account, Envelope, Ledger, MixesOf, Store, StoreError};
use crate::catalogue::TonerCode;
use crate::units::{Grams, Stamp};

/// So much paint came out of a place, or went into one; what the cup lost or got by it is the same and not said again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Went {
    /// Of which toner; none where it was a mixture of several.
    pub toner: Option<TonerCode>,
    /// How much; below nothing: out of that place.
    pub mass: Grams,
    /// Which place.
    pub place: Account,
}

/// Something that happened to a mix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Happened {
    /// When.
    pub at: Stamp,
    /// Who did it.
    pub by: String,
    /// What it was, in a word or two.
    pub what: String,
    /// Where paint went by it.
    pub went: Vec<Went>,
}

impl Went {
    /// The place in words, as it follows how much it was: `from tin 24-031`, `to the car, 26-118`.
    pub fn place_words(&self) -> String {
        let from = self.mass.is_negative();
        match &self.place {
            Account::Tin(label) if from => format!("from tin {label}"),
            Account::Tin(label) => format!("back to tin {label}"),
            Account::UnknownTin(_) if from => "from a tin not named".to_owned(),
            Account::UnknownTin(_) => "back to a tin not named".to_owned(),
            Account::Leftover(_) if from => "from a leftover".to_owned(),
            Account::Leftover(_) => "kept".to_owned(),
            Account::DrawnOff => "drawn off".to_owned(),
            Account::Abandoned(reason) => format!("given up: {reason}"),
            Account::LeftThrown(reason) => format!("thrown away: {reason}"),
            Account::Car(job) if job.is_empty() => "sprayed".to_owned(),
            Account::Car(job) => format!("sprayed on {job}"),
            other if from => format!("from {other}"),
            other => format!("to {other}"),
        }
    }
}

/// What happened to the mix with that number, in the order in which it happened; nothing where there is no such mix.
pub fn events<B: Ledger + Store + ?Sized>(book: &B, number: u32) -> Result<Vec<Happened>, StoreError> {
    let Some(mix) = book.totals(MixesOf::Number(number))?.pop() else { return Ok(Vec::new()) };
    Ok(book.events(mix.mix)?.into_iter().map(happened).collect())
}

fn happened(event: Envelope) -> Happened {
    let mut went = Vec::<Went>::new();
    for posting in &event.postings {
        if matches!(posting.account, Account::Cup(_)) {
            continue;
        }
        let mass = Grams::from_micrograms(posting.micrograms);
        match went.iter_mut().find(|one| one.place == posting.account) {
            Some(one) => {
                one.mass += mass;
                if one.toner.as_ref() != Some(&posting.toner) {
                    one.toner = None;
                }
            }
            None => {
                went.push(Went { toner: Some(posting.toner.clone()), mass, place: posting.account.clone() });
            }
        }
    }
    went.retain(|one| !one.mass.is_zero());
    let what = match event.kind.strip_prefix("mix/").unwrap_or(&event.kind) {
        // Nobody at a bench says that a mix was steered.
        "steered" => "way out taken".to_owned(),
        kind => kind.replace('-', " "),
    };
    Happened { at: event.at, by: event.operator, what, went }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Ids, Posting};

    fn envelope(kind: &str, postings: Vec<(Account, &str, i64)>) -> Envelope {
        let mut ids = Ids::counted(1);
        Envelope {
            id: ids.event(Stamp(5)),
            at: Stamp(5),
            bench: "1".to_owned(),
            operator: "Robin".to_owned(),
            subject: ids.mix(Stamp(5)),
            sequence: 0,
            kind: kind.to_owned(),
            body: "{}".to_owned(),
            postings: postings
                .into_iter()
                .map(|(account, toner, micrograms)| Posting {
                    account,
                    toner: TonerCode::new(toner),
                    micrograms,
                })
                .collect(),
        }
    }

    fn words(event: Envelope) -> (String, Vec<String>) {
        let Happened { what, went, .. } = happened(event);
        let words = |one: &Went| {
            let toner = one.toner.as_ref().map_or("mixture", TonerCode::as_str);
            format!("{toner} {} {}", one.mass.abs(), one.place_words())
        };
        (what, went.iter().map(words).collect())
    }

    #[test]
    fn each_event_says_where_paint_went() {
        let cup = || Account::Cup(Ids::counted(1).mix(Stamp(5)));
        let tin = Account::Tin("24-031".to_owned());
        let poured = envelope("mix/poured", vec![(tin, "W10", -280_500_000), (cup(), "W10", 280_500_000)]);
        assert_eq!(words(poured), ("poured".to_owned(), vec!["W10 280.5 from tin 24-031".to_owned()]));
        let emptied = envelope(
            "mix/emptied",
            vec![
                (cup(), "W10", -280_500_000),
                (cup(), "K05", -3_500_000),
                (Account::Car("26-118".to_owned()), "W10", 200_000_000),
                (Account::Car("26-118".to_owned()), "K05", 2_500_000),
                (Account::LeftThrown("too old".to_owned()), "W10", 80_500_000),
                (Account::LeftThrown("too old".to_owned()), "K05", 1_000_000),
            ],
        );
        let told = ["mixture 202.5 sprayed on 26-118", "mixture 81.5 thrown away: too old"];
        assert_eq!(words(emptied), ("emptied".to_owned(), told.map(str::to_owned).to_vec()));
        assert_eq!(words(envelope("mix/tin-taken", vec![])), ("tin taken".to_owned(), vec![]));
        assert_eq!(words(envelope("mix/steered", vec![])), ("way out taken".to_owned(), vec![]));
    }
}
