//! The disk's side of formulas: written, taken in and given out on a thread of its own, so that the loop never waits.

use super::message::Message;
use super::typed_path;
use crate::catalogue::import::Entry;
use crate::catalogue::{
    Catalogue, Colour, FolderError, FormulaFile, FormulaFolder, Source, Unwritable, edited, named, to_csv,
};
use crate::units::Stamp;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;
use std::thread::Builder;

/// Something to do with the shop's formulas.
#[derive(Clone, Debug)]
pub enum FormulaWork {
    /// Write a colour: a new one, or one in place of what was read.
    Write {
        /// As it is to be.
        colour: Box<Colour>,
        /// As it was read; none for a new one.
        was: Option<Box<Colour>>,
    },
    /// Read a table, or a folder of formulas, to be looked at.
    Read(PathBuf),
    /// Write what was looked at.
    TakeIn(Vec<Entry>),
    /// Write all colours into a table there: those of the shop's folder, or these where there is none.
    GiveOut(PathBuf, Vec<Colour>),
}

/// What came of it.
#[derive(Clone, Debug)]
pub enum FormulaDone {
    /// The colour as it is in its file now; or why not.
    Written(Result<Box<Colour>, String>),
    /// What was read; or why not.
    Read(PathBuf, Result<(Brought, Box<Catalogue>), String>),
    /// The colours as they are in their files now, and what could not be written.
    TakenIn(Vec<Colour>, Vec<String>),
    /// How many colours are in the table; or why not.
    GivenOut(PathBuf, Result<usize, String>),
}

/// What an import brings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Brought {
    /// A table's bytes.
    Table(Vec<u8>),
    /// Formula files: name and bytes.
    Folder(Vec<(String, Vec<u8>)>),
}

/// What is read of a folder at most: a shop of ten thousand colours is below it.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// Does it; what came of it is a message.
pub(super) fn start(
    shop: Option<FormulaFolder>,
    work: FormulaWork,
    at: Stamp,
    sender: SyncSender<Message>,
) -> io::Result<()> {
    Builder::new().name("formulas".to_owned()).spawn(move || {
        let done = done(shop.as_ref(), work, at);
        drop(sender.send(Message::Formula(done)));
    })?;
    Ok(())
}

/// Why nothing can be written into the invented shop, and what to do.
pub(super) const INVENTED: &str = "the invented shop is inside the program and cannot be changed: write it out with \
                                   `pourbook export DIR --demo-shop` and go on with --shop DIR";

pub(super) fn done(shop: Option<&FormulaFolder>, work: FormulaWork, at: Stamp) -> FormulaDone {
    match work {
        FormulaWork::Write { colour, was } => {
            let written = shop.ok_or_else(|| INVENTED.to_owned());
            FormulaDone::Written(
                written.and_then(|shop| write(shop, *colour, was.as_deref(), at).map(Box::new)),
            )
        }
        FormulaWork::Read(path) => {
            // Held against the files as they are now.
            let catalogue = || shop.map_or_else(Catalogue::default, |shop| Catalogue::load(shop.folder()));
            let brought = bring(&typed_path::whole(&path, typed_path::home().as_deref()))
                .map(|brought| (brought, Box::new(catalogue())));
            FormulaDone::Read(path, brought)
        }
        FormulaWork::TakeIn(entries) => {
            let Some(shop) = shop else { return FormulaDone::TakenIn(Vec::new(), vec![INVENTED.to_owned()]) };
            let (mut taken, mut failed) = (Vec::new(), Vec::new());
            for entry in entries {
                match entry.write(shop, at) {
                    Ok(Some(file)) => taken.push(of_file(entry.colour, &file)),
                    Ok(None) => {}
                    Err(error) => failed.push(format!("{}: {error}", named(&entry.colour))),
                }
            }
            FormulaDone::TakenIn(taken, failed)
        }
        FormulaWork::GiveOut(path, colours) => {
            let colours = shop.map_or(colours, |shop| Catalogue::load(shop.folder()).colours);
            let count = colours.len();
            let file = typed_path::whole(&path, typed_path::home().as_deref());
            let given = give_out(&file, &colours).map(|()| count);
            FormulaDone::GivenOut(path, given)
        }
    }
}

fn write(shop: &FormulaFolder, colour: Colour, was: Option<&Colour>, at: Stamp) -> Result<Colour, String> {
    let said = |error: FolderError| error.to_string();
    let Some(was) = was else {
        let file = shop.add(&colour).map_err(said)?;
        return Ok(of_file(colour, &file));
    };
    let before = shop.find(was).map_err(said)?;
    if was.source.as_ref().is_some_and(|source| source.version != before.version) {
        return Err(format!(
            "{} was changed by somebody else meanwhile, so nothing was written: open the colour again and make the \
             change there",
            before.name
        ));
    }
    let text = edited(&before.text, &colour).map_err(|error: Unwritable| error.to_string())?;
    let file = shop.change(&before, &text, at).map_err(said)?;
    Ok(of_file(colour, &file))
}

/// The colour as it is in that file.
fn of_file(colour: Colour, file: &FormulaFile) -> Colour {
    let source = Source { file: file.name.clone(), version: file.version.clone() };
    Colour { source: Some(source), ..colour }
}

fn bring(path: &Path) -> Result<Brought, String> {
    let said = |what: &Path, error: io::Error| {
        format!(
            "{} cannot be read: {error}. Type the path of a CSV file or of a folder of formulas",
            what.display()
        )
    };
    let metadata = fs::metadata(path).map_err(|error| said(path, error))?;
    if metadata.is_file() {
        if metadata.len() > MOST_BYTES {
            return Err(format!("{} is too large to be a table of formulas", path.display()));
        }
        return fs::read(path).map(Brought::Table).map_err(|error| said(path, error));
    }
    let inner = path.join("colours");
    let folder = if inner.is_dir() { inner } else { path.to_owned() };
    let (mut files, mut sum) = (Vec::new(), 0_u64);
    for entry in fs::read_dir(&folder).map_err(|error| said(&folder, error))? {
        let path = entry.map_err(|error| said(&folder, error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_file() && name.to_lowercase().ends_with(".toml") {
            sum = sum.saturating_add(fs::metadata(&path).map_err(|error| said(&path, error))?.len());
            if sum > MOST_BYTES {
                return Err(format!("{} has more formulas than can be read at once", folder.display()));
            }
            files.push((name, fs::read(&path).map_err(|error| said(&path, error))?));
        }
    }
    files.sort();
    if files.is_empty() {
        return Err(format!(
            "no formulas are in {}: a formula is a file like gannet-white.toml",
            folder.display()
        ));
    }
    Ok(Brought::Folder(files))
}

/// Never over a file that is there.
fn give_out(path: &Path, colours: &[Colour]) -> Result<(), String> {
    let text = to_csv(colours);
    let mut file = fs::File::create_new(path).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => {
            format!("{} is there already and is left as it is: type another name", path.display())
        }
        _ => format!("{} cannot be written: {error}", path.display()),
    })?;
    io::Write::write_all(&mut file, text.as_bytes())
        .and_then(|()| file.sync_all())
        .map_err(|error| format!("{} cannot be written: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::demo;

    fn shop() -> (tempfile::TempDir, FormulaFolder, Catalogue) {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in demo::FILES {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        let catalogue = Catalogue::load(folder.path());
        let shop = FormulaFolder::of(folder.path());
        (folder, shop, catalogue)
    }

    #[test]
    fn a_change_is_written_and_one_made_meanwhile_is_not_lost() {
        let (folder, shop, catalogue) = shop();
        let was = catalogue.colour("PB-3140").unwrap();
        let change = |name: &str, was: &Colour| {
            let colour = Box::new(Colour { name: name.to_owned(), ..was.clone() });
            let work = FormulaWork::Write { colour, was: Some(Box::new(was.clone())) };
            let FormulaDone::Written(written) = done(Some(&shop), work, Stamp(1)) else { panic!("written") };
            written
        };
        let once = change("Once", was).unwrap();
        assert_eq!(Catalogue::load(folder.path()).colour("PB-3140"), Some(&*once));
        let late = change("Late", was).unwrap_err();
        assert!(late.contains("somebody else"), "{late}");
        assert_eq!(change("Twice", &once).unwrap().name, "Twice");
        let new = Box::new(Colour { code: crate::catalogue::ColourCode::new("X-1"), ..was.clone() });
        let work = FormulaWork::Write { colour: new, was: None };
        assert!(matches!(done(Some(&shop), work.clone(), Stamp(1)), FormulaDone::Written(Ok(_))));
        assert!(
            matches!(done(None, work, Stamp(1)), FormulaDone::Written(Err(why)) if why.contains("export DIR"))
        );
    }

    #[test]
    fn a_table_is_read_and_given_out_and_never_over_another() {
        let (folder, shop, catalogue) = shop();
        let path = folder.path().join("out.csv");
        let give =
            || done(Some(&shop), FormulaWork::GiveOut(path.clone(), catalogue.colours.clone()), Stamp(1));
        assert!(matches!(give(), FormulaDone::GivenOut(_, Ok(count)) if count == catalogue.colours.len()));
        assert!(matches!(give(), FormulaDone::GivenOut(_, Err(why)) if why.contains("is there already")));
        let FormulaDone::Read(_, Ok((Brought::Table(bytes), _))) =
            done(None, FormulaWork::Read(path), Stamp(1))
        else {
            panic!("a table")
        };
        assert_eq!(bytes, to_csv(&catalogue.colours).as_bytes());
        let FormulaDone::Read(_, Ok((Brought::Folder(files), _))) =
            done(None, FormulaWork::Read(folder.path().to_owned()), Stamp(1))
        else {
            panic!("a folder")
        };
        assert_eq!(files.len(), catalogue.colours.len());
        let nowhere = done(None, FormulaWork::Read("no/such".into()), Stamp(1));
        assert!(matches!(nowhere, FormulaDone::Read(_, Err(why)) if why.contains("Type the path")));
    }
}
