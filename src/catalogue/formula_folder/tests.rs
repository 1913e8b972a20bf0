use super::*;
use crate::catalogue::{Catalogue, Draft, demo, edited};
use std::os::unix::fs::PermissionsExt as _;

const NOON: Stamp = Stamp(1_764_072_000_000_000);

fn shop() -> (tempfile::TempDir, FormulaFolder) {
    let shop = tempfile::tempdir().unwrap();
    fs::create_dir(shop.path().join("colours")).unwrap();
    for (path, text) in demo::FILES {
        fs::write(shop.path().join(path), text).unwrap();
    }
    let folder = FormulaFolder::of(shop.path());
    (shop, folder)
}

fn bluethroat() -> Colour {
    Catalogue::demo().colour("PB-3171").unwrap().clone()
}

/// The file's text with other parts of one toner.
fn other(text: &str, parts: &str) -> String {
    let mut draft = Draft::of(&colour_file::read_alone(text).unwrap());
    draft.layers[0].rows[0].parts = parts.to_owned();
    edited(text, &draft.check(&Catalogue::demo().toners, []).unwrap()).unwrap()
}

/// The hidden files that were left behind.
fn left_behind(shop: &Path) -> Vec<String> {
    let mut names = listed(&shop.join("colours")).unwrap();
    names.retain(|name| name.starts_with('.'));
    names
}

#[test]
fn every_version_is_kept_and_none_is_read_as_a_colour() {
    let (shop, folder) = shop();
    let first = folder.find(&bluethroat()).unwrap();
    assert_eq!(bluethroat().source.unwrap().version, first.version);
    let second = folder.change(&first, &other(&first.text, "281.50"), NOON).unwrap();
    let later = Stamp(NOON.0 + 1_000_000);
    let third = folder.change(&second, &other(&second.text, "282.00"), later).unwrap();
    assert_eq!(folder.read("bluethroat.toml").unwrap(), third);
    let kept = folder.versions("bluethroat.toml").unwrap();
    let told: Vec<_> = kept.iter().map(|kept| (kept.at.as_str(), &kept.version, &kept.text)).collect();
    let expected = [
        ("2025-11-25T12:00:00Z", &first.version, &first.text),
        ("2025-11-25T12:00:01Z", &second.version, &second.text),
    ];
    assert_eq!(told, expected);
    let name = format!("versions/bluethroat/20251125T120000Z-{}.toml", first.version);
    assert!(shop.path().join(&name).is_file(), "{name}");
    let again = Catalogue::load(shop.path());
    assert_eq!((again.colours.len(), again.problems.len()), (16, 0));
    assert!(left_behind(shop.path()).is_empty());
}

#[test]
fn a_version_is_kept_once() {
    let (_shop, folder) = shop();
    let file = folder.read("waxcap.toml").unwrap();
    assert!(folder.keep("waxcap.toml", &file.version, NOON).unwrap());
    assert!(!folder.keep("waxcap.toml", &file.version, Stamp(NOON.0 + 9_000_000)).unwrap());
    assert_eq!(folder.versions("waxcap.toml").unwrap().len(), 1);
    // The same version is the same again later, though the file is another meanwhile.
    folder.change(&file, &other(&file.text, "1.5"), NOON).unwrap();
    assert!(!folder.keep("waxcap.toml", &file.version, NOON).unwrap());
    assert_eq!(folder.versions("waxcap.toml").unwrap().len(), 1);
}

#[test]
fn what_somebody_else_wrote_meanwhile_is_left() {
    let (shop, folder) = shop();
    let read = folder.read("waxcap.toml").unwrap();
    let path = shop.path().join("colours/waxcap.toml");
    let theirs = format!("# theirs\n{}", read.text);
    fs::write(&path, &theirs).unwrap();
    let error = folder.change(&read, &other(&read.text, "1.5"), NOON).unwrap_err();
    assert!(error.to_string().contains("was changed by somebody else"), "{error}");
    // also where the version that was read is kept already
    fs::write(&path, &read.text).unwrap();
    folder.keep("waxcap.toml", &read.version, NOON).unwrap();
    fs::write(&path, &theirs).unwrap();
    let error = folder.change(&read, &other(&read.text, "1.5"), NOON).unwrap_err();
    assert!(matches!(error, FolderError::Changed(_)), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    assert!(left_behind(shop.path()).is_empty());
}

#[test]
fn a_new_file_writes_over_none() {
    let (shop, folder) = shop();
    let mut colour = bluethroat();
    colour.code = crate::catalogue::ColourCode::new("PB-9999");
    assert_eq!(folder.add(&colour).unwrap().name, "bluethroat-2.toml");
    assert_eq!(folder.add(&colour).unwrap().name, "bluethroat-3.toml");
    let (_, text) = demo::FILES.iter().find(|(path, _)| path.ends_with("bluethroat.toml")).unwrap();
    assert_eq!(folder.read("bluethroat.toml").unwrap().text, *text);
    assert!(left_behind(shop.path()).is_empty());
    let path = shop.path().join("colours/waxcap.toml");
    assert!(matches!(whole_new(&path, b""), Err(FolderError::There(_))));
    // A shop without colours gets its folder.
    let empty = tempfile::tempdir().unwrap();
    assert_eq!(FormulaFolder::of(empty.path()).add(&colour).unwrap().name, "bluethroat.toml");
}

#[test]
fn a_file_that_was_moved_is_found() {
    let (shop, folder) = shop();
    let at = |name: &str| shop.path().join("colours").join(name);
    fs::rename(at("bluethroat.toml"), at("zz.toml")).unwrap();
    assert_eq!(folder.find(&bluethroat()).unwrap().name, "zz.toml");
    fs::remove_file(at("zz.toml")).unwrap();
    assert!(folder.find(&bluethroat()).unwrap_err().to_string().contains("no file in"));
}

#[test]
fn names_that_lead_elsewhere_are_refused() {
    let (_shop, folder) = shop();
    for name in ["../toners.toml", "a/b.toml", ".hidden.toml", "x", "", "..\\x.toml"] {
        assert!(matches!(folder.read(name), Err(FolderError::Name(_))), "{name}");
        assert!(matches!(folder.versions(name), Err(FolderError::Name(_))), "{name}");
    }
}

#[test]
fn a_damaged_version_is_none() {
    let (shop, folder) = shop();
    let file = folder.read("waxcap.toml").unwrap();
    folder.keep("waxcap.toml", &file.version, NOON).unwrap();
    let kept = shop.path().join("versions/waxcap");
    let name = listed(&kept).unwrap().remove(0);
    fs::write(kept.join(&name), "spoilt").unwrap();
    fs::write(kept.join("notes.txt"), "x").unwrap();
    assert_eq!(folder.versions("waxcap.toml").unwrap(), []);
}

#[test]
fn where_nobody_may_write_it_is_said_and_nothing_changes() {
    let (shop, folder) = shop();
    let read = folder.read("waxcap.toml").unwrap();
    let may = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    let (colours, versions) = (shop.path().join("colours"), shop.path().join("versions"));
    fs::create_dir(&versions).unwrap();
    may(&versions, 0o555);
    may(&colours, 0o555);
    // Whoever may do everything, as in some containers, is not refused.
    let may_do_all = fs::write(colours.join("probe"), "").is_ok();
    if !may_do_all {
        let error = folder.change(&read, &other(&read.text, "1.5"), NOON).unwrap_err().to_string();
        assert!(error.contains("versions") && error.contains("check who may write"), "{error}");
        assert!(folder.add(&bluethroat()).unwrap_err().to_string().contains("cannot be written"));
    }
    may(&versions, 0o755);
    may(&colours, 0o755);
    assert_eq!(folder.read("waxcap.toml").unwrap(), read);
    // A file that is set to read only is not replaced behind its owner's back, whoever one is.
    may(&colours.join("waxcap.toml"), 0o444);
    let error = folder.change(&read, &other(&read.text, "1.5"), NOON).unwrap_err().to_string();
    assert!(error.contains("read only"), "{error}");
    assert_eq!(folder.read("waxcap.toml").unwrap(), read);
    // Where a folder is to be and a file is, that is said too.
    fs::remove_dir_all(&versions).unwrap();
    fs::write(&versions, "").unwrap();
    assert!(folder.change(&read, &other(&read.text, "1.5"), NOON).is_err());
    assert_eq!(folder.read("waxcap.toml").unwrap(), read);
}

#[test]
fn a_file_keeps_who_may_read_it() {
    let (shop, folder) = shop();
    let path = shop.path().join("colours/waxcap.toml");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let read = folder.read("waxcap.toml").unwrap();
    folder.change(&read, &other(&read.text, "1.5"), NOON).unwrap();
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
}
