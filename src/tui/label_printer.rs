//! A label onto paper: handed as a file to the shop's own program, without a shell, and the file taken away again. On a
//! thread of its own where the full screen asks for it, so that neither the loop nor the keeper waits.

use super::message::Message;
use super::run::worker;
use super::wall::when;
use crate::book::{Ledger as _, MixId, MixesOf, SqliteStore, Store as _, open_to_look};
use crate::catalogue::{Catalogue, FormulaFolder};
use crate::job::label::Label;
use crate::settings::FileCommand;
use crate::units::clean;
use std::fs::{self, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{SyncSender, channel};
use std::time::{Duration, Instant};

/// So long a program that prints may take (common practice, no source): it hands the file on and ends.
const MOST: Duration = Duration::from_mins(1);
/// So often it is looked whether it has ended.
const LOOKS: Duration = Duration::from_millis(20);
/// So much of what it says of a failure is shown, in bytes.
const SAYS_MOST: u64 = 400;
/// What it says is not waited for longer than that once it has ended: one of its own children may hold on to it.
const SAYS_WITHIN: Duration = Duration::from_millis(500);

/// How to set what is not set.
pub const UNSET: &str =
    "no program to print labels is set: pourbook settings set label-print \"lp -d labels {file}\"";

/// A file that is there as long as this is.
struct Passing(PathBuf);

impl Passing {
    /// A new file for its owner alone, under a name that nobody else has.
    fn new(folder: &Path, bytes: &[u8]) -> io::Result<Self> {
        let folder = std::path::absolute(folder)?;
        let path = folder.join(format!("pourbook-label-{}.pdf", uuid::Uuid::now_v7()));
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(&path)?;
        let passing = Self(path);
        file.write_all(bytes)?;
        file.sync_all()?;
        Ok(passing)
    }
}

impl Drop for Passing {
    fn drop(&mut self) {
        if let Err(error) = fs::remove_file(&self.0) {
            tracing::warn!(%error, path = %self.0.display(), "a label's file is left behind");
        }
    }
}

/// Prints a PDF with the shop's program, and waits until it has ended.
///
/// # Errors
/// In a sentence: the file cannot be written, the program cannot be run, says that it failed, or does not end.
pub fn print(command: &FileCommand, pdf: &[u8]) -> Result<(), String> {
    print_in(&std::env::temp_dir(), command, pdf, MOST)
}

fn print_in(folder: &Path, command: &FileCommand, pdf: &[u8], most: Duration) -> Result<(), String> {
    let program = clean(command.program());
    let file = Passing::new(folder, pdf).map_err(|error| {
        format!("the label is not printed: no file can be written in {}: {error}", folder.display())
    })?;
    let place = file.0.to_str().ok_or_else(|| {
        format!("the label is not printed: the folder {} has no readable name", folder.display())
    })?;
    let mut run = Command::new(command.program());
    run.args(command.told(place)).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
    #[cfg(unix)]
    // A key that interrupts this program is none of its business.
    std::os::unix::process::CommandExt::process_group(&mut run, 0);
    let mut child = run.spawn().map_err(|error| {
        format!("the label is not printed: {program} cannot be run: {error}. See the setting label-print")
    })?;
    let (sends, hears) = channel();
    if let Some(says) = child.stderr.take() {
        std::thread::Builder::new()
            .name("printing".to_owned())
            .spawn(move || {
                let mut first = Vec::new();
                let mut says = says;
                // The rest is read too, so that a program that says much is not held up.
                let _ = says.by_ref().take(SAYS_MOST).read_to_end(&mut first);
                let _ = io::copy(&mut says, &mut io::sink());
                drop(sends.send(first));
            })
            .map_err(|error| format!("the label may not be printed: {error}"))?;
    }
    let until = Instant::now() + most;
    let status = loop {
        match child.try_wait() {
            Ok(Some(status)) => break status,
            Ok(None) if Instant::now() < until => std::thread::sleep(LOOKS),
            Ok(None) => {
                let _ = child.kill();
                let _ = child.wait();
                let seconds = most.as_secs();
                return Err(format!(
                    "the label may not be printed: {program} had not ended after {seconds} s and was stopped"
                ));
            }
            Err(error) => return Err(format!("the label may not be printed: {program}: {error}")),
        }
    };
    if status.success() {
        return Ok(());
    }
    let said = hears.recv_timeout(SAYS_WITHIN).unwrap_or_default();
    let said = clean(&String::from_utf8_lossy(&said));
    let said = if said.trim().is_empty() { String::new() } else { format!(": {}", said.trim()) };
    Err(format!("the label is not printed: {program} ended with {status}{said}"))
}

/// The label of a mix in the book. The shop's files are those without the colours where that is enough: a mix that was not
/// made ready has its product by its layer, so that its colour is needed.
///
/// # Errors
/// In a sentence: the book cannot be read, or there is no such mix in it.
fn label(
    book: &SqliteStore,
    mix: MixId,
    catalogue: &Catalogue,
    shop: Option<&FormulaFolder>,
) -> Result<Label, String> {
    let of = book.totals(MixesOf::Mix(mix)).map_err(|error| error.to_string())?.pop();
    let of = of.ok_or("there is no such mix in this book")?;
    let events = book.events(mix).map_err(|error| error.to_string())?;
    let journal = crate::book::Journal::fold(mix, &events).map_err(|error| error.to_string())?;
    let label = |catalogue: &Catalogue| Label::of(catalogue, of.head.number, mix, &events);
    let label = if journal.session().recipe().readied.is_some() {
        label(catalogue)
    } else {
        label(&shop.map_or_else(Catalogue::demo, |shop| Catalogue::load(shop.folder())))
    };
    label.map_err(|error| error.to_string())
}

/// What a label is made of and printed with.
#[derive(Clone, Debug)]
pub struct Printing {
    /// Which mix.
    pub mix: MixId,
    /// With which program.
    pub command: FileCommand,
    /// The shop without its colours.
    pub catalogue: Box<Catalogue>,
    /// How far the clock on the wall is ahead of UTC.
    pub seconds_east: i32,
}

/// Reads the mix from the book and prints its label; what came of it is a message.
pub(super) fn start(
    book: PathBuf,
    shop: Option<FormulaFolder>,
    printing: Printing,
    sender: &SyncSender<Message>,
) -> io::Result<()> {
    worker("label", sender, move |sender| {
        let Printing { mix, command, catalogue, seconds_east } = printing;
        let printed = open_to_look(&book)
            .map_err(|error| error.to_string())
            .and_then(|book| label(&book, mix, &catalogue, shop.as_ref()))
            .and_then(|label| {
                let pdf = label.pdf(&|at| when(at, seconds_east));
                print(&command, &pdf.bytes).map(|()| (label.number, pdf.missing))
            });
        drop(sender.send(Message::LabelPrinted(printed)));
    })
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use super::*;
    use crate::units::Stamp;
    use std::os::unix::fs::PermissionsExt as _;

    /// A program that writes down what it was told, one word a line, and keeps a copy of the file it was given last.
    fn script(folder: &Path, ends: &str) -> FileCommand {
        let path = folder.join("print it.sh");
        let text = format!(
            "#!/bin/sh\nfor word in \"$@\"; do printf '%s\\n' \"$word\"; done > '{0}/told'\n\
             for last in \"$@\"; do :; done\ncp \"$last\" '{0}/copy.pdf'\n{ends}\n",
            folder.display()
        );
        fs::write(&path, text).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o700)).unwrap();
        FileCommand::parse(&format!("'{}' -d 'the labels' {{file}}", path.display())).unwrap()
    }

    fn left_in(folder: &Path) -> usize {
        fs::read_dir(folder).unwrap().count()
    }

    #[test]
    fn the_program_gets_the_file_and_the_file_goes() {
        let folder = tempfile::tempdir().unwrap();
        // A folder whose name would be several words and a command to a shell.
        let nasty = folder.path().join("a b; touch $(echo x) --o '\"");
        fs::create_dir(&nasty).unwrap();
        let command = script(folder.path(), "");
        print_in(&nasty, &command, b"%PDF-1.7 not really", MOST).unwrap();
        let told = fs::read_to_string(folder.path().join("told")).unwrap();
        let words: Vec<&str> = told.lines().collect();
        assert_eq!(words.len(), 3, "{told}");
        assert_eq!(words[..2], ["-d", "the labels"]);
        assert!(
            words[2].starts_with(nasty.to_str().unwrap())
                && Path::new(words[2]).extension().is_some_and(|end| end == "pdf"),
            "{told}"
        );
        assert_eq!(fs::read(folder.path().join("copy.pdf")).unwrap(), b"%PDF-1.7 not really");
        assert_eq!(left_in(&nasty), 0);
    }

    #[test]
    fn what_fails_is_said_and_the_file_goes_all_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let files = folder.path().join("files");
        fs::create_dir(&files).unwrap();
        let failing = script(folder.path(), "echo \"no paper\u{1b}[2J\" >&2; exit 3");
        let why = print_in(&files, &failing, b"x", MOST).unwrap_err();
        assert!(why.contains("not printed") && why.contains('3') && why.contains("no paper"), "{why}");
        assert!(!why.contains('\u{1b}'), "{why}");
        let missing = FileCommand::parse("/nowhere/to/be/found {file}").unwrap();
        let why = print_in(&files, &missing, b"x", MOST).unwrap_err();
        assert!(why.contains("cannot be run") && why.contains("label-print"), "{why}");
        let hanging = FileCommand::parse("sh -c 'sleep 60' {file}").unwrap();
        let why = print_in(&files, &hanging, b"x", Duration::from_millis(50)).unwrap_err();
        assert!(why.contains("was stopped"), "{why}");
        assert_eq!(left_in(&files), 0);
        let why = print_in(&folder.path().join("none"), &failing, b"x", MOST).unwrap_err();
        assert!(why.contains("no file can be written"), "{why}");
    }

    /// The worker reads the mix from the book by itself, and prints what the shop's whole catalogue makes of it: also where it
    /// was not made ready, so that its product is found by its colour, which it was not handed.
    #[test]
    fn the_worker_prints_the_mix_as_the_book_has_it() {
        use crate::book::{By, Ids, Journal};
        use crate::catalogue::Role;
        use crate::mix::{Additions, Event, Limits, Recipe, Start, Vessel, order};
        use crate::units::{Division, Grams, Millilitres};
        let folder = tempfile::tempdir().unwrap();
        let command = script(folder.path(), "");
        let demo = Catalogue::demo();
        let colour = demo.colour("PB-3140").unwrap();
        let layer = colour.layer(Role::Ground).unwrap();
        let plain = Recipe::of_layer(&demo, colour, layer).unwrap();
        let ready = plain.activated(&demo, demo.product_for(layer).unwrap(), Additions::default()).unwrap();
        let path = folder.path().join("book.sqlite");
        let at = Stamp(1_792_065_600_000_000);
        let by = By { bench: "bench 1".to_owned(), operator: "Robin".to_owned() };
        let mut ids = Ids::counted(5);
        let mut book = SqliteStore::open(&path, at).unwrap().into_parts().0;
        let mut expected = Vec::new();
        for (number, recipe) in (1..).zip([plain, ready]) {
            let start = Start {
                order: order::formula_order(&recipe),
                recipe,
                volume: Millilitres::parse("100").unwrap(),
                vessel: Vessel {
                    name: "600".into(),
                    brim: Millilitres::parse("600").unwrap(),
                    tare: Grams::parse("21.8").unwrap(),
                },
                limits: Limits { division: Division::TENTH, capacity: None },
                version: None,
                job: None,
            };
            let (mix, event) = (ids.mix(at), ids.event(at));
            let (_, first) = Journal::begin(mix, &Event::Started(start), event, at, &by).unwrap();
            crate::book::Store::append(&mut book, &first).unwrap();
            let label = Label::of(&demo, number, mix, &[first]).unwrap();
            assert!(label.product.is_some());
            expected.push((mix, label.pdf(&|at| when(at, 3_600)).bytes));
        }
        drop(book);
        assert_ne!(expected[0].1, expected[1].1);
        let (sender, inbox) = std::sync::mpsc::sync_channel(4);
        let printed = |mix: MixId| {
            let catalogue = Box::new(Catalogue { colours: Vec::new(), ..demo.clone() });
            let printing = Printing { mix, command: command.clone(), catalogue, seconds_east: 3_600 };
            start(path.clone(), None, printing, &sender).unwrap();
            match inbox.recv().unwrap() {
                Message::LabelPrinted(printed) => printed,
                other => panic!("{other:?}"),
            }
        };
        for (number, (mix, pdf)) in (1..).zip(expected) {
            assert_eq!(printed(mix), Ok((number, 0)));
            assert!(fs::read(folder.path().join("copy.pdf")).unwrap() == pdf, "mix {number}");
        }
        let why = printed(ids.mix(at)).unwrap_err();
        assert!(why.contains("no such mix"), "{why}");
    }
}
