//! What was scanned, understood: a tin of a toner, a colour, or nothing that is known here.

use crate::barcode::{self, Day, ElementError};
use crate::book::MixId;
use crate::catalogue::{Catalogue, Listing, Toner};
use crate::job::label::{Payload, PayloadError};
use crate::mix::TinMarks;
use crate::units::clean;

/// What a scanned code is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Scanned {
    /// A tin of that toner.
    Tin(ScannedTin),
    /// The colour with that code, by its place among the colours.
    Colour(usize),
    /// The label of that mix.
    Mix(MixId),
    /// A code that nothing here has.
    Unknown(String),
    /// It was read, and something in it cannot be: a sentence.
    Wrong(String),
}

/// A tin, as its code says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct ScannedTin {
    /// The toner's code.
    pub(super) toner: String,
    /// The toner's name.
    pub(super) name: String,
    /// Its label: serial number, or else lot, or else what stands behind the toner's code.
    pub(super) label: Option<String>,
    pub(super) lot: Option<String>,
    pub(super) item: Option<String>,
    /// Until when it may be used.
    pub(super) expires: Option<Day>,
}

impl ScannedTin {
    fn of(toner: &Toner) -> Self {
        Self {
            toner: toner.code.as_str().to_owned(),
            name: toner.name.clone(),
            label: None,
            lot: None,
            item: None,
            expires: None,
        }
    }

    /// Whether it may not be used any more on that day.
    pub(super) fn is_expired(&self, today: Day) -> bool {
        self.expires.is_some_and(|expires| expires < today)
    }

    /// What it is, in words: `W10 titanium white, tin 24-031, lot A7`.
    pub(super) fn words(&self) -> String {
        let tin = self.label.as_ref().map_or_else(String::new, |label| format!(", tin {label}"));
        let lot = self.lot.as_ref().filter(|lot| self.label.as_ref() != Some(lot));
        let lot = lot.map_or_else(String::new, |lot| format!(", lot {lot}"));
        format!("{} {}{tin}{lot}", self.toner, self.name)
    }

    /// What of it goes into the book beside the label.
    pub(super) fn marks(&self) -> Option<TinMarks> {
        let marks = TinMarks {
            item: self.item.clone(),
            lot: self.lot.clone(),
            expires: self.expires.map(|day| day.to_string()),
        };
        (marks != TinMarks::default()).then_some(marks)
    }
}

impl Scanned {
    /// Understands what was scanned, in that year.
    pub(super) fn of(text: &str, shop: &Catalogue, colours: &Listing, this_year: u16) -> Self {
        match Payload::parse(&clean(text)) {
            Ok(Payload::Mix(mix)) => return Self::Mix(mix),
            Err(why @ PayloadError::Broken) => return Self::Wrong(why.to_string()),
            Err(_) => {}
        }
        match barcode::parse(text) {
            Ok(elements) => {
                let Some(item) = elements.item() else {
                    return Self::Unknown(clean(text).trim().to_owned());
                };
                let item = item.to_string();
                let Some(toner) = shop.toner_by_barcode(&item) else { return Self::Unknown(item) };
                let own = |text: Option<&str>| text.map(|text| clean(text).trim().to_owned());
                let (serial, lot) = (own(elements.serial()), own(elements.lot()));
                Self::Tin(ScannedTin {
                    label: serial.or_else(|| lot.clone()),
                    lot,
                    item: Some(item),
                    expires: elements.expires(this_year),
                    ..ScannedTin::of(toner)
                })
            }
            Err(ElementError::None) => Self::plain(&clean(text), shop, colours),
            Err(wrong) => Self::Wrong(wrong.to_string()),
        }
    }

    /// A code of the shop's own: a toner's, with the tin's number behind it or not, or a colour's.
    fn plain(text: &str, shop: &Catalogue, colours: &Listing) -> Self {
        let text = text.trim();
        let toner = |code: &str| shop.toner_by_barcode(code).or_else(|| shop.toner(code));
        if let Some(found) = toner(text) {
            let item = shop.toner_by_barcode(text).map(|_| text.to_owned());
            return Self::Tin(ScannedTin { item, ..ScannedTin::of(found) });
        }
        let same = |code: &str| code.eq_ignore_ascii_case(text);
        if let Some(at) = colours.iter().position(|colour| same(colour.code)) {
            return Self::Colour(at);
        }
        let (first, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
        match toner(first) {
            Some(found) if !rest.trim().is_empty() => {
                Self::Tin(ScannedTin { label: Some(rest.trim().to_owned()), ..ScannedTin::of(found) })
            }
            _ => Self::Unknown(text.to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Scanned {
        let shop = Catalogue::demo();
        Scanned::of(text, &shop, &Listing::of(&shop.colours), 2026)
    }

    fn tin(text: &str) -> ScannedTin {
        match of(text) {
            Scanned::Tin(tin) => tin,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn a_tin_by_its_item_by_its_code_and_by_the_shops_label() {
        let demo = Catalogue::demo();
        let item = demo.toner("W10").unwrap().codes[0].clone();
        let whole = tin(&format!("(01){item}(10)A7(17)261231(21)24-031"));
        assert_eq!(whole.words(), "W10 titanium white, tin 24-031, lot A7");
        assert_eq!(whole.marks().unwrap().expires.as_deref(), Some("2026-12-31"));
        let on = |day: &str| whole.is_expired(Day::parse(day).unwrap());
        assert!(!on("2026-12-31") && on("2027-01-01"));
        // Without a serial number the lot is what tells it from others.
        assert_eq!(tin(&format!("]C101{item}10A7")).words(), "W10 titanium white, tin A7");
        assert_eq!(tin(item.trim_start_matches('0')).words(), "W10 titanium white");
        assert_eq!(tin("w10 24-031").words(), "W10 titanium white, tin 24-031");
        assert_eq!((tin("W10").label, tin("W10").marks()), (None, None));
    }

    #[test]
    fn a_colour_and_what_is_none_of_them() {
        assert!(matches!(of("pb-3140"), Scanned::Colour(_)));
        assert_eq!(of("9506000134352"), Scanned::Unknown("9506000134352".to_owned()));
        assert_eq!(of("(01)09506000134352"), Scanned::Unknown("09506000134352".to_owned()));
        assert!(matches!(of("(01)09506000134353"), Scanned::Wrong(why) if why.contains("check digit")));
        assert_eq!(of("Q99 24-1"), Scanned::Unknown("Q99 24-1".to_owned()));
    }
}
