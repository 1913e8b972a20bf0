//! A delivery's table read from its file and held against the tins of the book, on a thread of its own: a disk may be slow,
//! and the book is asked over a second connection that only looks.

use super::message::Message;
use super::run::worker;
use super::typed_path;
use crate::book::{Ledger as _, TinsOf, open_to_look};
use crate::catalogue::Catalogue;
use crate::stock::Delivery;
use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::Path;
use std::sync::mpsc::SyncSender;

/// A table that is to be read.
#[derive(Clone, Debug)]
pub struct DeliveryAsked {
    /// Its file's path, as it was typed.
    pub(super) typed: String,
    /// The shop, of which only the toners are needed.
    pub(super) shop: Box<Catalogue>,
}

/// What is read of a file at most: a hundred thousand tins are below it.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// Reads it; what came of it is a message.
pub(super) fn read(book: &Path, asked: DeliveryAsked, sender: &SyncSender<Message>) -> io::Result<()> {
    let book = book.to_owned();
    worker("delivery", sender, move |sender| {
        let read = looked_through(&book, &asked, typed_path::home().as_deref());
        drop(sender.send(Message::DeliveryRead { typed: asked.typed, read: read.map(Box::new) }));
    })
}

/// What would come in, and what is wrong with the table; or why it cannot be read at all, in a sentence.
pub(super) fn looked_through(
    book: &Path,
    asked: &DeliveryAsked,
    home: Option<&Path>,
) -> Result<Delivery, String> {
    let bytes = bytes(&typed_path::whole(Path::new(&asked.typed), home))?;
    let tins =
        open_to_look(book).and_then(|book| book.tins(TinsOf::All)).map_err(|error| error.to_string())?;
    let known = tins.into_iter().map(|tin| (tin.label.clone(), tin)).collect();
    Ok(Delivery::read(&bytes, &asked.shop, &known))
}

fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    let said = |error: io::Error| {
        format!("{} cannot be read: {error}. Type the path of a CSV file, as delivery.csv", path.display())
    };
    let about = fs::metadata(path).map_err(said)?;
    if !about.is_file() {
        return Err(format!("{} is no file: type the path of a CSV file, as delivery.csv", path.display()));
    }
    let mut bytes = Vec::new();
    // One more than may be: a file can grow while it is read.
    let read = File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    read.map_err(said)?;
    if u64::try_from(bytes.len()).is_ok_and(|length| length <= MOST_BYTES) {
        return Ok(bytes);
    }
    Err(format!(
        "{} is too large to be a delivery: it has more than {} MiB",
        path.display(),
        MOST_BYTES / (1024 * 1024)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{By, Ids, SqliteStore, Store as _};
    use crate::catalogue::TonerCode;
    use crate::stock::{Receipt, StockEvent, TinName};
    use crate::units::{Grams, Stamp};

    fn book(folder: &Path) -> SqliteStore {
        SqliteStore::open(&folder.join("book"), Stamp(1)).unwrap().into_parts().0
    }

    fn looked(folder: &Path, typed: &str) -> Result<Delivery, String> {
        let asked = DeliveryAsked { typed: typed.to_owned(), shop: Box::new(Catalogue::demo()) };
        looked_through(&folder.join("book"), &asked, Some(folder))
    }

    /// It is held against all tins that the book ever had, while another has it open to write.
    #[test]
    fn a_table_is_read_from_its_file_and_held_against_the_book() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = book(folder.path());
        let receipt = Receipt {
            tin: TinName { label: "OLD".into(), toner: TonerCode::new("W10") },
            net: Grams::parse("1000").unwrap(),
            empty: None,
            size: None,
            lot: None,
            expires: None,
            price: None,
            item: None,
            supplier: None,
        };
        let by = By { bench: "bench 1".to_owned(), operator: "robin".to_owned() };
        let event = StockEvent::Received(receipt);
        store.append(&event.envelope(Ids::counted(1).event(Stamp(1)), Stamp(1), &by).unwrap()).unwrap();
        let table = "label,toner,net\nNEW,w10,1000\nOLD,W10,1000\n";
        std::fs::write(folder.path().join("came today.csv"), table).unwrap();
        let delivery = looked(folder.path(), "~/came today.csv").unwrap();
        assert_eq!(
            delivery.receipts().map(|receipt| receipt.tin.label.as_str()).collect::<Vec<_>>(),
            ["NEW"]
        );
        assert_eq!(
            delivery.wrong,
            ["line 3: tin OLD was received before: a label is used once, so give this tin another"]
        );
    }

    #[test]
    fn what_is_no_table_is_said_with_what_to_do() {
        let folder = tempfile::tempdir().unwrap();
        drop(book(folder.path()));
        let why = |typed: &str| looked(folder.path(), typed).unwrap_err();
        assert!(why("~/no such.csv").contains("cannot be read"), "{}", why("~/no such.csv"));
        assert!(why("~").contains("is no file: type the path of a CSV file"), "{}", why("~"));
        let large = File::create(folder.path().join("large.csv")).unwrap();
        large.set_len(MOST_BYTES + 1).unwrap();
        assert!(why("~/large.csv").contains("more than 16 MiB"), "{}", why("~/large.csv"));
        // What is in the file stands on the screen, by its line.
        std::fs::write(folder.path().join("old.csv"), b"label,toner,net\nM\xfcller,W10,1000\n").unwrap();
        let delivery = looked(folder.path(), "~/old.csv").unwrap();
        assert!(delivery.tins.is_empty());
        assert_eq!(
            delivery.wrong,
            ["line 2 is not UTF-8. Save the file again as CSV with the encoding UTF-8."]
        );
    }
}
