//! A job's sheet from the job's screen: written as a page and as text beside the book, on a thread of its own, and never over
//! anything that is there.

use super::app::App;
use super::message::{Effect, Message};
use super::run::worker;
use super::wall::when;
use crate::units::{Stamp, clean};
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::SyncSender;

/// A job's sheet, written out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetPages {
    /// As a page.
    pub html: String,
    /// As text.
    pub text: String,
}

/// Makes the sheet of the job of that name out of the book as it is now, or says in a sentence why it cannot: the same sheet
/// as the command's.
pub type SheetOf = Arc<dyn Fn(&str) -> Result<SheetPages, String> + Send + Sync>;

/// Of which job a sheet is to be written, and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetAsked {
    /// What the shop calls it.
    pub(super) job: String,
    /// When it is.
    pub(super) now: Stamp,
    /// How far the clock on the wall is ahead of UTC.
    pub(super) seconds_east: i32,
}

/// The folder beside the book that sheets are written into.
const FOLDER: &str = "sheets";
/// The most letters of a job's name in a file's: no system takes more than 255 bytes, and a letter has up to four.
const NAME: usize = 48;
/// So many sheets of a job may be written within a minute.
const MOST: u32 = 99;

impl App {
    /// Has the sheet of that job written.
    pub(super) fn write_sheet(&mut self, job: String) {
        if !self.saving.all_saved() {
            return self.complain("not everything is saved yet: write the sheet once it is");
        }
        let (now, seconds_east) = (self.now.stamp, self.settings.seconds_east);
        self.effects.push(Effect::WriteSheet(SheetAsked { job, now, seconds_east }));
        self.say("the sheet is being written");
    }

    /// What came of it: the page's file.
    pub(super) fn on_sheet_written(&mut self, written: Result<PathBuf, String>) {
        match written {
            Ok(page) => {
                let page = clean(&page.display().to_string());
                self.say(format!("sheet, and the same as .txt: {page}"));
            }
            Err(why) => self.complain(format!("the sheet is not written: {}", clean(&why))),
        }
    }
}

/// Makes the sheet and writes it beside the book; what came of it is a message.
pub(super) fn start(
    of: SheetOf,
    book: &Path,
    asked: SheetAsked,
    sender: &SyncSender<Message>,
) -> io::Result<()> {
    let folder = book.parent().unwrap_or_else(|| Path::new("")).join(FOLDER);
    worker("sheet", sender, move |sender| {
        let written = of(&asked.job).and_then(|pages| write(&folder, &asked, &pages));
        drop(sender.send(Message::SheetWritten(written)));
    })
}

/// Writes both files under a name that neither has yet; the page's.
fn write(folder: &Path, asked: &SheetAsked, pages: &SheetPages) -> Result<PathBuf, String> {
    let cannot = |path: &Path, error: &io::Error| {
        format!(
            "{} cannot be written: {error}; check who may write there, and whether the disk is full",
            path.display()
        )
    };
    fs::create_dir_all(folder).map_err(|error| cannot(folder, &error))?;
    let time = when(asked.now, asked.seconds_east).replace(':', "");
    let stem = format!("{} {time}", file_name(&asked.job));
    for count in 1..=MOST {
        let stem = if count == 1 { stem.clone() } else { format!("{stem} ({count})") };
        let [page, text] = ["html", "txt"].map(|end| folder.join(format!("{stem}.{end}")));
        if fs::symlink_metadata(&text).is_ok() {
            continue;
        }
        match new_file(&page, &pages.html) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            written => written.map_err(|error| cannot(&page, &error))?,
        }
        new_file(&text, &pages.text).map_err(|error| cannot(&text, &error))?;
        return Ok(page);
    }
    Err(format!("{MOST} sheets of this job were written within this minute: look at {}", folder.display()))
}

fn new_file(path: &Path, text: &str) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

/// A job's name as the beginning of a file's, on every system: letters, digits and a few signs; it hides nothing and leads
/// nowhere.
fn file_name(job: &str) -> String {
    let letter = |letter: char| match letter {
        letter if letter.is_alphanumeric() => letter,
        ' ' | '-' | '_' | '.' | ',' => letter,
        _ => '-',
    };
    let name: String = job.chars().take(NAME).map(letter).collect();
    let name = name.trim_matches(|letter: char| letter == '.' || letter == ' ');
    if name.is_empty() { "job".to_owned() } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_leads_nowhere_and_hides_nothing() {
        assert_eq!(file_name("26-118 tailgate"), "26-118 tailgate");
        assert_eq!(file_name("../../etc/pass\u{1b}[2J: \"x\" "), "-..-etc-pass--2J- -x-");
        assert_eq!(file_name("..."), "job");
        assert_eq!(file_name(&"ü".repeat(200)).chars().count(), NAME);
    }

    /// What is there is never written over, whoever wrote it: a further sheet has a name of its own.
    #[test]
    fn nothing_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let sheets = folder.path().join("a/sheets");
        let asked = SheetAsked { job: "26-118".to_owned(), now: Stamp(0), seconds_east: 3_600 };
        let pages = |text: &str| SheetPages { html: format!("<p>{text}"), text: text.to_owned() };
        let first = write(&sheets, &asked, &pages("one")).unwrap();
        assert_eq!(first, sheets.join("26-118 1970-01-01 0100.html"));
        let second = write(&sheets, &asked, &pages("two")).unwrap();
        assert_eq!(second, sheets.join("26-118 1970-01-01 0100 (2).html"));
        // One of the two names is somebody else's.
        fs::write(sheets.join("26-118 1970-01-01 0100 (3).txt"), "not ours").unwrap();
        assert_eq!(
            write(&sheets, &asked, &pages("four")).unwrap(),
            sheets.join("26-118 1970-01-01 0100 (4).html")
        );
        let read = |name: &str| fs::read_to_string(sheets.join(name)).unwrap();
        assert_eq!(read("26-118 1970-01-01 0100.html"), "<p>one");
        assert_eq!(read("26-118 1970-01-01 0100.txt"), "one");
        assert_eq!(read("26-118 1970-01-01 0100 (2).txt"), "two");
        assert_eq!(read("26-118 1970-01-01 0100 (3).txt"), "not ours");
        fs::write(folder.path().join("file"), "").unwrap();
        let why = write(&folder.path().join("file"), &asked, &pages("x")).unwrap_err();
        assert!(why.contains("cannot be written"), "{why}");
    }
}
