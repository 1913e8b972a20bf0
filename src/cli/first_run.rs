//! The first run: four questions before the bench opens for the first time, written into the settings as answered.

use super::places::{Places, Shop};
use super::{CliError, open, to_write};
use crate::settings::{self, COUNTRIES, Country, Key};
use crate::tui::{Answers, CountryOffered, FirstRun, Ground, KeepAnswers, Offered, ShopAnswer};
use crate::units::Stamp;
use std::fs;
use std::io::{self, IsTerminal as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Whether nothing is set up and nothing was named, and there is somebody who can be asked.
pub(super) fn is_due(places: &Places) -> Result<bool, CliError> {
    let somebody = io::stdin().is_terminal() && io::stdout().is_terminal();
    let nothing_named = !places.names_anything();
    Ok(somebody && nothing_named && !places.settled()?.exists && matches!(places.shop()?, Shop::NoneYet(_)))
}

/// Asks, writes what was answered, and opens the bench with it in force.
pub(super) fn run(places: &Places) -> Result<(), CliError> {
    let settled = places.settled()?;
    let offered = Offered {
        usual_shop: Places::usual_shop()?,
        file: settled.path.clone(),
        home: std::env::var_os("HOME").map(PathBuf::from),
        here: std::env::current_dir().unwrap_or_default(),
        countries: COUNTRIES.iter().map(offered).collect(),
        bindings: settled.bindings().0,
    };
    let theme = settled.theme(|name| std::env::var(name).ok());
    let path = settled.path;
    let keep: KeepAnswers = Arc::new(move |answers| keep(&path, answers));
    to_write::bring_up(places, Stamp(jiff::Timestamp::now().as_microsecond()));
    let mut ground = Ground::take().map_err(CliError::failed)?;
    let first = FirstRun::new(offered);
    match ground.first_run(first, &keep, &theme).map_err(CliError::failed)? {
        Some(_) => open::after_first_run(places, ground),
        None => Ok(()),
    }
}

fn offered(country: &Country) -> CountryOffered {
    let decimal = match country.decimal {
        crate::units::DecimalSign::Point => "decimal point",
        crate::units::DecimalSign::Comma => "decimal comma",
    };
    let volume = match country.volume {
        crate::units::VolumeShown::Millilitres => "millilitres",
        crate::units::VolumeShown::Us => "US fluid ounces",
        crate::units::VolumeShown::Imperial => "imperial fluid ounces",
    };
    let limits = match country.limits {
        "none" => "no table of solvent limits".to_owned(),
        limits => format!("solvent limits: {limits}"),
    };
    CountryOffered {
        code: country.code.to_owned(),
        name: country.name.to_owned(),
        follows: format!("{decimal}, {volume}, {limits}"),
    }
}

/// Writes the answers into the settings, and makes the folder of a shop that is begun.
fn keep(path: &Path, answers: &Answers) -> Result<(), String> {
    if let Some(ShopAnswer::Empty(folder)) = &answers.shop {
        begin_shop(folder).map_err(|error| {
            format!("{} cannot be made: {error}. Choose another folder", folder.display())
        })?;
    }
    let mut text = settings::read(path).map_err(|error| error.to_string())?.unwrap_or_default();
    for change in answers.changes() {
        let Some(key) = Key::from_name(change.key) else { continue };
        let changed = match &change.value {
            Some(value) => settings::set(&text, key, value),
            None => settings::unset(&text, key),
        };
        text = changed.ok_or_else(|| {
            format!(
                "{} cannot be read as TOML: put it right first, `pourbook settings` says where",
                path.display()
            )
        })?;
    }
    if answers.changes().is_empty() {
        return Ok(());
    }
    settings::write(path, &text).map_err(|error| error.to_string())
}

/// An empty shop, with what its files look like in comments. What is there already is left as it is.
fn begin_shop(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder.join("colours"))?;
    for (name, text) in [("toners.toml", TONERS), ("cups.toml", CUPS)] {
        match fs::File::create_new(folder.join(name)) {
            Ok(mut file) => io::Write::write_all(&mut file, text.as_bytes())?,
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Ok(())
}

const TONERS: &str = "\
# The shop's toners, one after another in this form (without the # before each line):
#
# [[toner]]
# code = \"W10\"
# name = \"titanium white\"
# kind = \"solid\"              # solid, pearl, metallic, binder, blender, hardener, thinner,
#                             # or supplied: a clear or primer that is sprayed as it comes in its tin
# density = \"1.482\"           # g/mL, from the product's data sheet
# price = \"38.50\"             # per litre
";
const CUPS: &str = "\
# The shop's cups, one after another in this form (without the # before each line):
#
# [[cup]]
# name = \"600\"
# tare = \"21.8\"               # g, empty, without its lid
# brim = \"600\"                # mL
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    #[test]
    fn only_what_was_answered_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pourbook/settings.toml");
        keep(&path, &Answers::default()).unwrap();
        assert!(!path.exists());
        let answers = Answers {
            painter: Some("Robin".to_owned()),
            country: Some("us".to_owned()),
            shop: Some(ShopAnswer::Invented),
            ..Answers::default()
        };
        keep(&path, &answers).unwrap();
        let text = fs::read_to_string(&path).unwrap();
        assert_eq!(text, "demo-shop = true\npainter = \"Robin\"\ncountry = \"us\"\n");
        // Another shop later takes the invented one's place, and the rest stays.
        let shop = folder.path().join("shop");
        keep(&path, &Answers { shop: Some(ShopAnswer::Empty(shop.clone())), ..Answers::default() }).unwrap();
        let text = fs::read_to_string(&path).unwrap();
        assert!(!text.contains("demo-shop") && text.contains("painter = \"Robin\""), "{text}");
        let begun = Catalogue::load(&shop);
        assert!(begun.toners.is_empty() && begun.colours.is_empty());
        fs::write(shop.join("toners.toml"), "# mine").unwrap();
        begin_shop(&shop).unwrap();
        assert_eq!(fs::read_to_string(shop.join("toners.toml")).unwrap(), "# mine");
    }

    #[test]
    fn a_settings_file_that_is_none_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("settings.toml");
        fs::write(&path, "painter = ").unwrap();
        let answers = Answers { painter: Some("Robin".to_owned()), ..Answers::default() };
        assert!(keep(&path, &answers).unwrap_err().contains("cannot be read as TOML"));
        assert_eq!(fs::read_to_string(&path).unwrap(), "painter = ");
    }
}
