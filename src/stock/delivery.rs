//! A delivery as a table (CSV): a row a tin. All that is wrong with it is said at once, and then nothing is received.

use super::{Receipt, StockEvent, receive};
use crate::book::figures::TinRow;
use crate::catalogue::Catalogue;
use crate::catalogue::import::{Sheet, SheetRow};
use crate::stock::TinName;
use crate::units::{Grams, Money, parse_decimal_with_comma, parse_mass};
use std::collections::{BTreeMap, BTreeSet};

/// The columns, as the first row names them; the first three are needed.
pub const COLUMNS: [&str; 10] =
    ["label", "toner", "net", "empty", "size", "lot", "expires", "price", "item", "supplier"];

/// Whether that number is one thousand to one and a thousandth to another: `1,500`. A table's number with a comma is a
/// decimal one, but not where three digits follow one to three others.
fn is_ambiguous(text: &str) -> bool {
    let number = text.split(char::is_whitespace).next().unwrap_or_default();
    number.split_once(',').is_some_and(|(whole, rest)| {
        let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        let thousand = rest.split([',', '.']).next().unwrap_or_default();
        (1..=3).contains(&whole.len())
            && whole != "0"
            && digits(whole)
            && thousand.len() == 3
            && digits(thousand)
    })
}

/// What is said of such a number.
fn ambiguous(text: &str) -> String {
    format!(
        "'{text}' can be read in two ways: write it without a comma between thousands, or with a decimal point"
    )
}

/// Grams, bare or with a unit of their own.
pub(super) fn grams(text: &str) -> Result<Grams, String> {
    if is_ambiguous(text) {
        return Err(ambiguous(text));
    }
    let read = parse_decimal_with_comma(text).map(Grams::new).ok().or_else(|| parse_mass(text).ok());
    read.ok_or_else(|| format!("'{text}' is no weight; write grams, as 1000 or 1 kg"))
}

/// The shop's own spelling of a toner.
pub fn known_toner(catalogue: &Catalogue, code: &str) -> Result<String, String> {
    let toner = catalogue.toner(code.trim());
    toner.map(|toner| toner.code.as_str().to_owned()).ok_or_else(|| {
        format!(
            "toner '{}' is not in the shop's toners: look at its code, or add it to toners.toml",
            code.trim()
        )
    })
}

/// A delivery as far as its table could be read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Delivery {
    /// The tins that are right, in the order of their rows.
    pub tins: Vec<StockEvent>,
    /// What is wrong, a sentence each with its line. While there is any, nothing is received.
    pub wrong: Vec<String>,
}

impl Delivery {
    /// Reads a table. `known` are the tins of the book, by their labels.
    pub fn read(bytes: &[u8], catalogue: &Catalogue, known: &BTreeMap<String, TinRow>) -> Self {
        let unreadable = |wrong| Self { tins: Vec::new(), wrong };
        let sheet = match Sheet::read(bytes) {
            Ok(sheet) => sheet,
            Err(why) => return unreadable(vec![why]),
        };
        let columns = match columns(&sheet.header) {
            Ok(columns) => columns,
            Err(wrong) => return unreadable(wrong),
        };
        let (mut read, mut labels) = (Self::default(), BTreeSet::new());
        for row in &sheet.rows {
            match tin(row, &columns, catalogue, known) {
                Ok(StockEvent::Received(receipt)) if !labels.insert(receipt.tin.label.clone()) => {
                    let label = receipt.tin.label;
                    read.wrong.push(format!("line {}: label {label} stands in this table twice", row.line));
                }
                Ok(event) => read.tins.push(event),
                Err(all) => {
                    read.wrong.extend(all.into_iter().map(|why| format!("line {}: {why}", row.line)));
                }
            }
        }
        if read.tins.is_empty() && read.wrong.is_empty() {
            read.wrong.push("the table has no row but its first: there is no tin to receive".to_owned());
        }
        read
    }

    /// What each of the tins that are right was received as.
    pub fn receipts(&self) -> impl Iterator<Item = &Receipt> {
        self.tins.iter().filter_map(|event| match event {
            StockEvent::Received(receipt) => Some(receipt),
            _ => None,
        })
    }

    /// All of it.
    ///
    /// # Errors
    /// What is wrong; nothing is received then.
    pub fn whole(self) -> Result<Vec<StockEvent>, Vec<String>> {
        if self.wrong.is_empty() { Ok(self.tins) } else { Err(self.wrong) }
    }
}

/// The tins of a table. `known` are the tins of the book, by their labels.
///
/// # Errors
/// What is wrong, a sentence each with its line.
pub fn delivery(
    bytes: &[u8],
    catalogue: &Catalogue,
    known: &BTreeMap<String, TinRow>,
) -> Result<Vec<StockEvent>, Vec<String>> {
    Delivery::read(bytes, catalogue, known).whole()
}

/// Which column of the table is which of [`COLUMNS`].
fn columns(header: &[String]) -> Result<BTreeMap<&'static str, usize>, Vec<String>> {
    let (mut columns, mut wrong) = (BTreeMap::new(), Vec::new());
    for (place, heading) in header.iter().enumerate().filter(|(_, heading)| !heading.is_empty()) {
        match COLUMNS.iter().find(|name| name.eq_ignore_ascii_case(heading)) {
            None => wrong.push(format!("column '{heading}' is none of {}", COLUMNS.join(", "))),
            Some(name) => {
                if columns.insert(*name, place).is_some() {
                    wrong.push(format!("column '{name}' is there twice"));
                }
            }
        }
    }
    let missing = COLUMNS.iter().take(3).filter(|name| !columns.contains_key(*name));
    wrong.extend(missing.map(|name| format!("column '{name}' is missing: the first row names the columns")));
    if wrong.is_empty() { Ok(columns) } else { Err(wrong) }
}

fn tin(
    row: &SheetRow,
    columns: &BTreeMap<&'static str, usize>,
    catalogue: &Catalogue,
    known: &BTreeMap<String, TinRow>,
) -> Result<StockEvent, Vec<String>> {
    let cell = |name: &str| {
        let text = columns.get(name).and_then(|place| row.cells.get(*place));
        text.map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
    };
    let mut wrong = Vec::new();
    let mut number = |name: &'static str| {
        let read = cell(name).map(|text| grams(&text)).transpose();
        read.unwrap_or_else(|why| {
            wrong.push(format!("{name}: {why}"));
            None
        })
    };
    let (net, empty) = (number("net"), number("empty"));
    let is_read = wrong.is_empty();
    let price = cell("price").map(|text| {
        if is_ambiguous(&text) {
            return Err(format!("price: {}", ambiguous(&text)));
        }
        let price = parse_decimal_with_comma(&text).map(Money::new).ok();
        price.ok_or_else(|| format!("price: '{text}' is no amount of money"))
    });
    let price = price.transpose().unwrap_or_else(|why| {
        wrong.push(why);
        None
    });
    let toner = cell("toner").unwrap_or_default();
    let toner = if toner.is_empty() { Ok(toner) } else { known_toner(catalogue, &toner) };
    let toner = toner.unwrap_or_else(|why| {
        wrong.push(why);
        "?".to_owned()
    });
    let label = cell("label").unwrap_or_default();
    let receipt = Receipt {
        tin: TinName { label: label.clone(), toner: crate::catalogue::TonerCode::new(toner) },
        net: net.unwrap_or(Grams::ZERO),
        empty,
        size: cell("size"),
        lot: cell("lot"),
        expires: cell("expires"),
        price,
        item: cell("item"),
        supplier: cell("supplier"),
    };
    match receive(&receipt, known.get(&label)) {
        Ok(event) if wrong.is_empty() => Ok(event),
        // What could not be read is said once, not again as nothing.
        Err(refusal) if is_read => {
            wrong.push(refusal.to_string());
            Err(wrong)
        }
        _ => Err(wrong),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        let known = ["USED", "SEEN"].map(|label| {
            let mut row = TinRow::unsaid(label.to_owned(), crate::catalogue::TonerCode::new("W10"));
            row.received = (label == "USED").then_some(crate::units::Stamp(1));
            (label.to_owned(), row)
        });
        match delivery(text.as_bytes(), &Catalogue::demo(), &known.into()) {
            Ok(events) => events.iter().map(|event| serde_json::to_string(event).unwrap()).collect(),
            Err(wrong) => wrong,
        }
    }

    #[test]
    fn a_table_is_a_row_a_tin() {
        assert_eq!(
            said(
                "Label;Toner;Net;Price;Expires;Lot\n24-1;w10;1,25 kg;38,50;2027-01-31;L1\nSEEN;K05;500;;;\n"
            ),
            [
                r#"{"kind":"tin/received","label":"24-1","toner":"W10","net":"1250.00","lot":"L1","expires":"2027-01-31","price":"38.50"}"#,
                r#"{"kind":"tin/received","label":"SEEN","toner":"K05","net":"500"}"#,
            ]
        );
    }

    /// A comma before three digits parts thousands to one and is a decimal one to another.
    #[test]
    fn a_number_that_can_be_read_in_two_ways_is_refused() {
        for (net, price) in
            [("\"1,500\"", ""), ("\"12,250 g\"", ""), ("\"1,234.5\"", ""), ("500", "\"1,234\"")]
        {
            let all = said(&format!("label,toner,net,price\nC-11,W10,{net},{price}\n"));
            assert!(all.len() == 1 && all[0].contains("can be read in two ways"), "{all:?}");
        }
        for net in ["\"1,5 kg\"", "\"0,500 kg\"", "\"1500,250\"", "\"12,5\""] {
            let all = said(&format!("label,toner,net\nC-11,W10,{net}\n"));
            assert!(all[0].starts_with('{'), "{all:?}");
        }
    }

    #[test]
    fn all_that_is_wrong_is_said_at_once() {
        let table = "label,toner,net,expires,price\n\
                     a,W10,much,2027-01-31,\n\
                     b,W99,500,,cheap\n\
                     USED,W10,500,,\n\
                     c,W10,500,31.1.27,\n\
                     d,W10,500,,\n\
                     d,W10,500,,\n\
                     ,W10,500,,\n";
        assert_eq!(
            said(table),
            [
                "line 2: net: 'much' is no weight; write grams, as 1000 or 1 kg",
                "line 3: price: 'cheap' is no amount of money",
                "line 3: toner 'W99' is not in the shop's toners: look at its code, or add it to toners.toml",
                "line 4: tin USED was received before: a label is used once, so give this tin another",
                "line 5: tin c: '31.1.27' is no day; write it as 2026-12-31",
                "line 7: label d stands in this table twice",
                "line 8: say which tin it is, by its label",
            ]
        );
        assert_eq!(
            said("label,colour,label\na,b,c\n"),
            [
                "column 'colour' is none of label, toner, net, empty, size, lot, expires, price, item, supplier",
                "column 'label' is there twice",
                "column 'toner' is missing: the first row names the columns",
                "column 'net' is missing: the first row names the columns",
            ]
        );
        assert_eq!(
            said("label,toner,net\n"),
            ["the table has no row but its first: there is no tin to receive"]
        );
    }
}
