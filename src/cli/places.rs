//! Where the shop, the book and the scale are: from the command line, the environment, or the user's folders.

use super::prefer::Settled;
use super::{CliError, out};
use crate::catalogue::index::{AtOnce, Looking, Seen, ShopIndex};
use crate::catalogue::{Catalogue, Listing, Severity};
use crate::scale::address::{Address, Place};
use crate::scale::tape::Tape;
use crate::settings::{self, FileSettings, Given, Key, Settings, Source};
use crate::tui::ShopFolder;
use crate::units::Stamp;
use clap::Args;
use etcetera::BaseStrategy as _;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The options every command has.
#[derive(Clone, Debug, Args)]
pub(super) struct Places {
    /// The shop's folder, with toners.toml, cups.toml and colours/ [default: pourbook in your configuration folder]
    #[arg(long, global = true, value_name = "DIR", help_heading = "Places")]
    shop: Option<PathBuf>,
    /// Use the invented shop that comes inside the program
    #[arg(long, global = true, conflicts_with = "shop", help_heading = "Places")]
    demo_shop: bool,
    /// The book [default: pourbook/book.sqlite in your data folder]
    #[arg(long, global = true, value_name = "FILE", help_heading = "Places")]
    book: Option<PathBuf>,
    /// The scale; see below
    #[arg(long, global = true, value_name = "ADDR", help_heading = "Places", value_parser = address)]
    scale: Option<Address>,
    /// The settings [default: pourbook/settings.toml in your configuration folder]
    #[arg(long, global = true, value_name = "FILE", help_heading = "Places")]
    settings: Option<PathBuf>,
    /// Whether standard error is left alone: the full screen has the terminal.
    #[arg(skip)]
    quiet: bool,
}

/// Where the shop's files are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Shop {
    /// The invented one inside the program.
    Demo,
    /// A folder that somebody named.
    Named(PathBuf),
    /// The folder where it is looked for, and which is there.
    Usual(PathBuf),
    /// The folder where it is looked for, and which is not there yet.
    NoneYet(PathBuf),
}

impl Places {
    /// The same for what is read while the full screen is there: of the shop in that folder, or the invented one, and of that
    /// book; without a word on the terminal.
    pub(super) fn for_screen(&self, shop: Option<&Path>, book: &Path) -> Self {
        Self {
            shop: shop.map(Path::to_owned),
            demo_shop: shop.is_none(),
            book: Some(book.to_owned()),
            quiet: true,
            ..self.clone()
        }
    }

    /// Whether standard error is to be left alone.
    pub(super) const fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// Where the settings file is.
    pub(super) fn settings_file(&self) -> Result<PathBuf, CliError> {
        let named = self.settings.clone().or_else(|| variable("POURBOOK_SETTINGS").map(PathBuf::from));
        match named {
            Some(named) => Ok(named),
            None => Ok(folders()?.config_dir().join("pourbook").join("settings.toml")),
        }
    }

    /// What is set, read and settled.
    ///
    /// # Errors
    /// The file is there and cannot be read. One that is only wrong in places is no error: the rest of it holds.
    pub(super) fn settled(&self) -> Result<Settled, CliError> {
        let path = self.settings_file()?;
        let text = settings::read(&path).map_err(CliError::failed)?;
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let file = FileSettings::read(&name, text.as_deref().unwrap_or_default());
        let said = |key, value: Option<String>, option| value.map(|value| Given { key, value, option });
        let shown = |path: &PathBuf| path.display().to_string();
        let given: Vec<Given> = [
            said(Key::Shop, self.shop.as_ref().map(shown), "--shop"),
            said(Key::DemoShop, self.demo_shop.then(|| "true".to_owned()), "--demo-shop"),
            said(Key::Book, self.book.as_ref().map(shown), "--book"),
            said(Key::Scale, self.scale.as_ref().map(ToString::to_string), "--scale"),
        ]
        .into_iter()
        .flatten()
        .collect();
        let environment = |name: &str| variable(name).map(|value| value.to_string_lossy().into_owned());
        let settings = Settings::settle(&given, environment, &file, &name);
        Ok(Settled { path, exists: text.is_some(), file, settings })
    }

    /// What the settings file says of that, where the command line and the environment say nothing.
    fn in_file(&self, key: Key) -> Option<String> {
        let settled = self.settled().ok()?;
        let from_file = matches!(settled.settings.source(key), Source::File(..));
        from_file.then(|| settled.settings.get(key).map(str::to_owned)).flatten()
    }

    /// Whether a shop, a book or a scale was named on the command line or in the environment.
    pub(super) fn names_anything(&self) -> bool {
        let options = self.demo_shop || self.shop.is_some() || self.book.is_some() || self.scale.is_some();
        options
            || ["POURBOOK_SHOP", "POURBOOK_BOOK", "POURBOOK_SCALE"]
                .iter()
                .any(|name| variable(name).is_some())
    }

    /// Where a shop is looked for as long as none is named.
    pub(super) fn usual_shop() -> Result<PathBuf, CliError> {
        Ok(folders()?.config_dir().join("pourbook"))
    }

    /// Where the shop is.
    pub(super) fn shop(&self) -> Result<Shop, CliError> {
        if self.demo_shop {
            return Ok(Shop::Demo);
        }
        if let Some(named) = self.named_shop() {
            return Ok(Shop::Named(named));
        }
        if let Some(named) = self.in_file(Key::Shop) {
            return Ok(Shop::Named(at_home(&named)?));
        }
        if self.in_file(Key::DemoShop).as_deref() == Some("true") {
            return Ok(Shop::Demo);
        }
        let usual = folders()?.config_dir().join("pourbook");
        // The settings are in the same folder: alone they are no shop.
        let there = ["toners.toml", "colours"].iter().any(|name| usual.join(name).exists());
        Ok(if there { Shop::Usual(usual) } else { Shop::NoneYet(usual) })
    }

    /// The shop's folder.
    pub(super) fn shop_folder(&self) -> Result<PathBuf, CliError> {
        match self.shop()? {
            Shop::Named(folder) | Shop::Usual(folder) => Ok(folder),
            Shop::NoneYet(folder) => Err(no_shop(&folder)),
            Shop::Demo => Err(CliError::failed("the invented shop has no folder")),
        }
    }

    /// Whether it is the invented shop.
    pub(super) fn is_demo(&self) -> bool {
        self.demo_shop || matches!(self.shop(), Ok(Shop::Demo))
    }

    /// The shop's folder as it was named, if it was.
    pub(super) fn named_shop(&self) -> Option<PathBuf> {
        self.shop.clone().or_else(|| variable("POURBOOK_SHOP").map(PathBuf::from))
    }

    /// The book's file as it was named, if it was.
    pub(super) fn named_book(&self) -> Option<PathBuf> {
        self.book.clone().or_else(|| variable("POURBOOK_BOOK").map(PathBuf::from))
    }

    /// Where the book is; the demo's lies apart, so that trying things out never touches a shop's own.
    pub(super) fn book(&self, demo: bool) -> Result<PathBuf, CliError> {
        if let Some(named) = self.named_book() {
            return Ok(named);
        }
        if let Some(named) = self.in_file(Key::Book).filter(|_| !demo) {
            return at_home(&named);
        }
        let data = folders()?.data_dir().join("pourbook");
        Ok(if demo { data.join("demo").join("book.sqlite") } else { data.join("book.sqlite") })
    }

    /// The scale, if one was named on the command line or in the environment.
    pub(super) fn named_scale(&self) -> Result<Option<Address>, CliError> {
        if self.scale.is_some() || variable("POURBOOK_SCALE").is_some() { self.scale() } else { Ok(None) }
    }

    /// The scale, if one is named anywhere.
    pub(super) fn scale(&self) -> Result<Option<Address>, CliError> {
        if self.scale.is_some() {
            return Ok(self.scale.clone());
        }
        let Some(text) = variable("POURBOOK_SCALE") else {
            let Some(text) = self.in_file(Key::Scale) else { return Ok(None) };
            return address(&text)
                .map(Some)
                .map_err(|why| CliError::failed(format!("the setting scale: {why}")));
        };
        let read = text.to_str().ok_or_else(|| "it is not readable text".to_owned()).and_then(address);
        read.map(Some).map_err(|why| CliError::wrong(format!("POURBOOK_SCALE: {why}")))
    }

    /// The shop for the full screen, by its index where it is a folder: the colours' files are not all read before the
    /// first key. One without a colour is a shop too where it has toners, as it can be begun on the screen.
    ///
    /// # Errors
    /// There is no shop, or nothing of it could be read.
    pub(super) fn shop_to_open(&self, now: Stamp) -> Result<(Catalogue, Option<ShopFolder>), CliError> {
        let (Shop::Named(folder) | Shop::Usual(folder)) = self.shop()? else {
            return Ok((self.catalogue()?, None));
        };
        let index = ShopIndex::new(&folder, cache_folder().as_deref());
        let at_once = index.open();
        let is_known = at_once.is_some();
        let (catalogue, listing, looker) = if let Some(AtOnce { catalogue, listing, looker }) = at_once {
            (catalogue, listing, looker)
        } else {
            let mut looker = index.looker();
            let few = |said| !matches!(said, Looking::Reading { of, .. } if of > READ_AT_ONCE);
            match looker.look(now, &mut { few }) {
                Some(Seen { catalogue, listing, .. }) => (catalogue, listing, looker),
                // So many that they come in while the screen is there.
                None => {
                    return Ok((
                        index.without_colours(),
                        Some(ShopFolder { listing: Listing::default(), looker: index.looker(), index }),
                    ));
                }
            }
        };
        // What the index says may be old: that nothing is there is only believed of the files themselves.
        if listing.is_empty() && !is_known && !folder.join("toners.toml").exists() {
            return Err(nothing_usable(&catalogue));
        }
        Ok((catalogue, Some(ShopFolder { index, listing, looker })))
    }

    /// The shop's files, read; a word on standard error if some of it had to be left out.
    ///
    /// # Errors
    /// There is no shop, or nothing of it could be read.
    pub(super) fn catalogue(&self) -> Result<Catalogue, CliError> {
        let mut catalogue = match self.shop()? {
            Shop::Demo => Catalogue::demo(),
            Shop::Named(folder) | Shop::Usual(folder) => Catalogue::load(&folder),
            Shop::NoneYet(folder) => return Err(no_shop(&folder)),
        };
        catalogue.usual_tolerance = self.settled()?.settings.share(Key::Tolerance);
        let errors = catalogue.problems.iter().filter(|problem| problem.severity == Severity::Error);
        if catalogue.colours.is_empty() {
            return Err(nothing_usable(&catalogue));
        }
        let count = errors.count();
        if count > 0 && !self.quiet {
            out::note(format_args!(
                "note: {count} mistake{} in the shop's files; `pourbook check` shows what is left out",
                if count == 1 { "" } else { "s" }
            ));
        }
        Ok(catalogue)
    }
}

/// So many files are read before the first drawing where no index is there yet: they are read within the time of one.
const READ_AT_ONCE: usize = 1_000;

/// Nothing of the shop's colours can be used: why.
fn nothing_usable(catalogue: &Catalogue) -> CliError {
    let errors = catalogue.problems.iter().filter(|problem| problem.severity == Severity::Error);
    let said: Vec<String> = errors.map(ToString::to_string).collect();
    CliError::failed(format!("the shop has no colour that can be used\n{}", said.join("\n")))
        .hint("Put it right, or try the invented shop with --demo-shop.")
}

/// There is no shop's folder: what to do.
pub(super) fn no_shop(folder: &std::path::Path) -> CliError {
    CliError::failed(format!("there is no shop yet: {} is not there", folder.display()))
        .hint("Name your shop's folder with --shop DIR, or put it there.")
        .hint("To try things out: --demo-shop uses the invented shop, and `pourbook demo` opens it on a virtual bench.")
}

/// Reads an address. Where a tape says itself what its scale spoke, that is taken over.
pub(super) fn address(text: &str) -> Result<Address, String> {
    let mut address: Address = text.parse().map_err(|error: crate::scale::AddressError| error.to_string())?;
    if let (Place::Tape { file, .. }, None) = (&address.place, address.shape) {
        // A tape that cannot be read says so when it is played.
        address.shape = Tape::load(file).ok().and_then(|tape| tape.shape);
    }
    Ok(address)
}

/// A path of the settings file, in which ~ is the home folder.
fn at_home(path: &str) -> Result<PathBuf, CliError> {
    match path.strip_prefix("~/") {
        Some(rest) => Ok(folders()?.home_dir().join(rest)),
        None => Ok(PathBuf::from(path)),
    }
}

/// Where the program keeps what it can make anew at any time; none where the user has no home.
fn cache_folder() -> Option<PathBuf> {
    Some(folders().ok()?.cache_dir().join("pourbook"))
}

/// Where the program keeps what is its own and can be lost; none where the user has no home.
pub(super) fn state_folder() -> Option<PathBuf> {
    let folders = folders().ok()?;
    Some(folders.state_dir().unwrap_or_else(|| folders.data_dir()).join("pourbook"))
}

fn folders() -> Result<impl etcetera::BaseStrategy, CliError> {
    etcetera::choose_base_strategy().map_err(|error| {
        CliError::failed(format!("your home folder is not known: {error}"))
            .hint("Name the shop's folder with --shop DIR and the book with --book FILE.")
    })
}

/// A variable of the environment; an empty one counts as none.
fn variable(name: &str) -> Option<OsString> {
    std::env::var_os(name).filter(|value| !value.is_empty())
}
