//! The shop as the commands that write formulas need it: its folder and its catalogue, or how to get one.

use super::CliError;
use super::places::{Places, Shop, no_shop};
use crate::catalogue::{Catalogue, Colour, FormulaFile, FormulaFolder, Kept, Source, demo};
use crate::units::Stamp;

/// A shop whose formulas are read or written.
pub(super) struct OpenShop {
    pub(super) catalogue: Catalogue,
    /// None for the invented one.
    folder: Option<FormulaFolder>,
}

impl OpenShop {
    /// Reads it. One without a colour is a shop too.
    pub(super) fn of(places: &Places) -> Result<Self, CliError> {
        match places.shop()? {
            Shop::Demo => Ok(Self { catalogue: Catalogue::demo(), folder: None }),
            Shop::Named(folder) | Shop::Usual(folder) => {
                let catalogue = Catalogue::load(&folder);
                if catalogue.toners.is_empty() {
                    let error = CliError::failed(format!(
                        "the shop in {} has no toners that can be read",
                        folder.display()
                    ));
                    return Err(error
                        .hint("`pourbook check` shows what is wrong. A formula needs toners.toml first."));
                }
                Ok(Self { catalogue, folder: Some(FormulaFolder::of(folder)) })
            }
            Shop::NoneYet(folder) => Err(no_shop(&folder)),
        }
    }

    /// Its folder, to write in.
    ///
    /// # Errors
    /// It is the invented shop.
    pub(super) fn to_write(&self) -> Result<&FormulaFolder, CliError> {
        self.folder.as_ref().ok_or_else(|| {
            CliError::failed("the invented shop is inside the program and cannot be changed").hint(
                "Write it out as a folder with `pourbook export DIR --demo-shop`, and go on with --shop DIR.",
            )
        })
    }

    /// The file of a colour as it is now.
    pub(super) fn file(&self, colour: &Colour) -> Result<FormulaFile, CliError> {
        if let Some(folder) = &self.folder {
            return folder.find(colour).map_err(CliError::failed);
        }
        let name = colour.source.as_ref().map_or("", |source| source.file.as_str());
        let found = demo::FILES.iter().find(|(path, _)| path.strip_prefix("colours/") == Some(name));
        let (path, text) = found.ok_or_else(|| CliError::failed("this colour is in no file"))?;
        let Source { file, version } = Source::of(path, text);
        Ok(FormulaFile { name: file, text: (*text).to_owned(), version })
    }

    /// The versions kept of a file.
    pub(super) fn versions(&self, file: &str) -> Result<Vec<Kept>, CliError> {
        self.folder.as_ref().map_or(Ok(Vec::new()), |folder| folder.versions(file).map_err(CliError::failed))
    }

    /// Whether it is the invented one.
    pub(super) const fn is_demo(&self) -> bool {
        self.folder.is_none()
    }
}

/// The clock on the wall.
pub(super) fn now() -> Stamp {
    Stamp(jiff::Timestamp::now().as_microsecond())
}

/// The day it is here, as `2026-11-25`.
pub(super) fn today() -> String {
    jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system()).date().to_string()
}
