//! A tin that came, as far as it was typed or scanned: one short form, a line at a time.

use super::scanned::ScannedTin;
use crate::barcode::Day;
use crate::catalogue::{Catalogue, Toner, TonerCode};
use crate::stock::{Receipt, StockRefusal, Tin, TinName, known_toner};
use crate::units::{Grams, Money, Notation, parse_decimal_with_comma};

/// A line of the form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Field {
    /// What is in it.
    Toner,
    /// Its label.
    Label,
    /// How much.
    Net,
    /// Its lot.
    Lot,
    /// Until when it may be used.
    Expires,
    /// What it cost.
    Price,
    /// What it weighs empty.
    Empty,
}

impl Field {
    /// All of them, in the order in which they are asked.
    pub(super) const ALL: [Self; 7] =
        [Self::Toner, Self::Label, Self::Net, Self::Lot, Self::Expires, Self::Price, Self::Empty];

    /// In a word or two.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Toner => "toner",
            Self::Label => "label",
            Self::Net => "holds",
            Self::Lot => "lot",
            Self::Expires => "expires",
            Self::Price => "price",
            Self::Empty => "empty tin",
        }
    }

    /// The question.
    pub(super) const fn question(self) -> &'static str {
        match self {
            Self::Toner => "a tin came: which toner?",
            Self::Label => "its label?",
            Self::Net => "how much is in it?",
            Self::Lot => "its lot?",
            Self::Expires => "to be used until when?",
            Self::Price => "what did it cost?",
            Self::Empty => "what does it weigh empty?",
        }
    }

    /// What helps to answer it.
    pub(super) fn hint(self, notation: Notation) -> String {
        let (unit, example) = (notation.mass_word(), notation.example());
        match self {
            Self::Toner => "its code as on the tin, or scan the tin".to_owned(),
            Self::Label => "the tin's own number, which no other tin ever has".to_owned(),
            Self::Net => format!("in {unit}, as {example}, or its size, as 1 L"),
            Self::Lot => "as it stands on the tin; Enter alone if there is none".to_owned(),
            Self::Expires => "a day, as 2026-12-31; Enter alone if none stands on it".to_owned(),
            Self::Price => "of the whole tin; Enter alone if you do not know".to_owned(),
            Self::Empty => {
                format!("in {unit}, with its lid; Enter alone if you do not know. Enter receives it")
            }
        }
    }

    const fn place(self) -> usize {
        match self {
            Self::Toner => 0,
            Self::Label => 1,
            Self::Net => 2,
            Self::Lot => 3,
            Self::Expires => 4,
            Self::Price => 5,
            Self::Empty => 6,
        }
    }

    /// The one before or after; none beyond the ends.
    pub(super) fn beside(self, down: bool) -> Option<Self> {
        let at = if down { self.place().checked_add(1) } else { self.place().checked_sub(1) };
        Self::ALL.get(at?).copied()
    }

    /// The line that a refusal is about.
    pub(super) const fn of(refusal: &StockRefusal) -> Self {
        match refusal {
            StockRefusal::NoToner(_) => Self::Toner,
            StockRefusal::NothingInIt { .. } => Self::Net,
            StockRefusal::NoEmptyTin { .. } => Self::Empty,
            StockRefusal::BadPrice(_) => Self::Price,
            StockRefusal::BadDay { .. } => Self::Expires,
            _ => Self::Label,
        }
    }
}

/// What was typed so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Receiving {
    typed: [String; 7],
    /// The item's number, from its barcode.
    item: Option<String>,
}

impl Receiving {
    /// A tin of that toner; empty if that is not known.
    pub(super) fn of(toner: &str) -> Self {
        let mut new = Self::default();
        new.set(Field::Toner, toner);
        new
    }

    /// What was typed there.
    pub(super) fn get(&self, field: Field) -> &str {
        self.typed.get(field.place()).map_or("", String::as_str)
    }

    /// Types that there.
    pub(super) fn set(&mut self, field: Field, text: &str) {
        if let Some(line) = self.typed.get_mut(field.place()) {
            text.clone_into(line);
        }
    }

    /// Whether nothing was typed at all.
    pub(super) fn is_blank(&self) -> bool {
        self.typed.iter().all(String::is_empty)
    }

    /// Takes over what a barcode says.
    pub(super) fn scanned(&mut self, tin: &ScannedTin) {
        self.set(Field::Toner, &tin.toner);
        let expires = tin.expires.map(|day| day.to_string());
        // A lot tells no tin from the next of the same delivery: it is no label.
        let label = tin.label.clone().filter(|label| tin.lot.as_ref() != Some(label));
        let said = [(Field::Label, &label), (Field::Lot, &tin.lot), (Field::Expires, &expires)];
        for (field, text) in said {
            if let Some(text) = text {
                self.set(field, text);
            }
        }
        self.item = tin.item.clone().or(self.item.take());
    }

    /// Fills what is not typed with what the last tin of that toner was: they come alike.
    pub(super) fn like_the_last(&mut self, tins: &[Tin], notation: Notation) {
        let own = tins.iter().filter(|tin| tin.toner.as_str() == self.get(Field::Toner));
        let Some(last) = own.filter(|tin| tin.received.is_some()).max_by_key(|tin| tin.received) else {
            return;
        };
        let (net, empty) = (last.net, last.empty);
        for (field, mass) in [(Field::Net, net), (Field::Empty, empty)] {
            if self.get(field).is_empty()
                && let Some(mass) = mass
            {
                self.set(field, &format!("{} {}", notation.given_weight(mass), notation.mass_unit()));
            }
        }
    }

    /// The first line that has to be said and is not.
    pub(super) fn first_open(&self) -> Field {
        let needed = [Field::Toner, Field::Label, Field::Net];
        needed.into_iter().find(|field| self.get(*field).is_empty()).unwrap_or(Field::Empty)
    }

    /// Whether what is typed there can be; a sentence where it cannot.
    pub(super) fn check(&self, field: Field, shop: &Catalogue, notation: Notation) -> Result<(), String> {
        match field {
            Field::Toner => known_toner(shop, self.get(field)).map(drop),
            Field::Label if self.get(field).is_empty() => Err(StockRefusal::NoLabel.to_string()),
            Field::Net => self.net(shop, notation).map(drop),
            Field::Expires => self.day().map(drop),
            Field::Price => self.price().map(drop),
            Field::Empty => self.empty(notation).map(drop),
            Field::Label | Field::Lot => Ok(()),
        }
    }

    fn said(&self, field: Field) -> Option<&str> {
        Some(self.get(field)).filter(|text| !text.is_empty())
    }

    /// How much is in it, and the size if that was typed: a volume by what a litre of the toner weighs.
    fn net(&self, shop: &Catalogue, notation: Notation) -> Result<(Grams, Option<String>), String> {
        let typed = self.get(Field::Net);
        if typed.is_empty() {
            return Err(format!("say how much is in it: in {}, or its size, as 1 L", notation.mass_word()));
        }
        let by_volume = |toner: &Toner| Some(toner.density.mass_of(notation.read_volume(typed).ok()?));
        match notation.read_mass(typed) {
            Ok(mass) => Ok((mass, None)),
            Err(error) => match shop.toner(self.get(Field::Toner)).and_then(by_volume) {
                Some(mass) => Ok((mass, Some(typed.to_owned()))),
                None => Err(notation.told(&error)),
            },
        }
    }

    fn day(&self) -> Result<Option<String>, String> {
        let bad = |text: &str| format!("'{text}' is no day: type it as 2026-12-31");
        let day = self.said(Field::Expires);
        day.map(|text| Day::parse(text).map(|day| day.to_string()).ok_or_else(|| bad(text))).transpose()
    }

    fn price(&self) -> Result<Option<Money>, String> {
        let bad = |text: &str| format!("'{text}' is no amount of money: type digits, as 38.50");
        let price = self.said(Field::Price);
        price
            .map(|text| parse_decimal_with_comma(text).map(Money::new).map_err(|_unread| bad(text)))
            .transpose()
    }

    fn empty(&self, notation: Notation) -> Result<Option<Grams>, String> {
        let empty = self.said(Field::Empty);
        empty.map(|text| notation.read_mass(text).map_err(|error| notation.told(&error))).transpose()
    }

    /// The receipt; the line that is wrong and why, where one is.
    pub(super) fn receipt(&self, shop: &Catalogue, notation: Notation) -> Result<Receipt, (Field, String)> {
        for field in Field::ALL {
            self.check(field, shop, notation).map_err(|why| (field, why))?;
        }
        let at = |field: Field| move |why: String| (field, why);
        let toner = known_toner(shop, self.get(Field::Toner)).map_err(at(Field::Toner))?;
        let (net, size) = self.net(shop, notation).map_err(at(Field::Net))?;
        Ok(Receipt {
            tin: TinName { label: self.get(Field::Label).to_owned(), toner: TonerCode::new(toner) },
            net,
            empty: self.empty(notation).map_err(at(Field::Empty))?,
            size,
            lot: self.said(Field::Lot).map(str::to_owned),
            expires: self.day().map_err(at(Field::Expires))?,
            price: self.price().map_err(at(Field::Price))?,
            item: self.item.clone(),
            supplier: None,
        })
    }
}
