//! What is read is what is written, whoever wrote it.

use super::{COLOUR, GANNET, TONERS, shop_with, shown};
use pourbook::catalogue::{Catalogue, Finish, Place, Role, Severity, Swatch, TonerKind};
use pourbook::units::{Decimal, Share};
use rstest::rstest;
use std::fs;
use std::path::Path;

#[test]
fn everything_is_read_exactly_as_written() {
    let shop = shop_with(GANNET, COLOUR.as_bytes());
    assert_eq!(shown(&shop.problems), "");
    assert!(!shop.has_errors());

    let white = shop.toner("W10").unwrap();
    assert_eq!((white.name.as_str(), white.kind), ("titanium white", TonerKind::Solid));
    assert_eq!(white.density.decimal().to_string(), "1.482");
    assert_eq!(white.price.unwrap().decimal().to_string(), "38.50");
    assert_eq!(white.tolerance, Some(Share::new(Decimal::new(5, 3))));
    assert_eq!(white.swatch, Some(Swatch { red: 0xf2, green: 0xf1, blue: 0xec }));
    assert_eq!(white.place, Some(Place::First));

    let black = shop.toner("K05").unwrap();
    // A bare number keeps its last nought, which no float could.
    assert_eq!(black.density.decimal().to_string(), "1.020");
    assert_eq!((black.price, black.tolerance), (None, None));
    assert_eq!((black.swatch, black.place), (None, None));

    let cup = shop.cup("600").unwrap();
    assert_eq!((cup.tare.unwrap().to_string(), cup.brim.to_string()), ("21.8".into(), "600".into()));

    let colour = shop.colour("PB-3140").unwrap();
    assert_eq!((colour.finish, colour.variant.as_str()), (Finish::TwoStage, "standard"));
    let parts: Vec<_> = colour.layer(Role::Base).unwrap().pours.iter().collect();
    let written: Vec<_> = parts.iter().map(|part| (part.toner.as_str(), part.parts.to_string())).collect();
    assert_eq!(written, [("W10", "812.40".into()), ("K05", "3.150".into())]);
}

#[rstest]
#[case::text_with_noughts("\"1.10\"", "1.10")]
#[case::bare_with_noughts("1.10", "1.10")]
#[case::whole("7", "7")]
#[case::plus("+7.5", "7.5")]
#[case::more_digits_than_a_float("123456789.123456789012", "123456789.123456789012")]
#[case::text_without_a_nought("\".5\"", "0.5")]
fn a_number_is_read_digit_for_digit(#[case] written: &str, #[case] read: &str) {
    let shop = shop_with(GANNET, COLOUR.replace("3.150", written).as_bytes());
    assert_eq!(shown(&shop.problems), "");
    assert_eq!(shop.colours[0].layers[0].pours[1].parts.to_string(), read);
}

#[rstest]
#[case::exponent(
    "1e3",
    "'parts' cannot be read: '1e3' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::exponent_in_text(
    "\"1e3\"",
    "'parts' cannot be read: '1e3' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::grouped(
    "1_000",
    "'parts' cannot be read: '1_000' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::comma(
    "\"1,5\"",
    "'parts' cannot be read: '1,5' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::hexadecimal(
    "0x10",
    "'parts' cannot be read: '0x10' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::not_a_number(
    "nan",
    "'parts' cannot be read: 'nan' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::too_fine(
    "0.1234567890123",
    "'parts' cannot be read: '0.1234567890123' has more than 12 decimals and would have to be rounded."
)]
#[case::too_large(
    "1000000001",
    "'parts' cannot be read: '1000000001' is too large: the most that can be used is 1000000000."
)]
#[case::nothing("0", "'parts' is 0. Expected a number of parts by mass, more than zero.")]
#[case::nothing_less("-0.0", "'parts' is 0.0. Expected a number of parts by mass, more than zero.")]
#[case::negative("-3.15", "'parts' is -3.15. Expected a number of parts by mass, more than zero.")]
#[case::negative_text("\"-3.15\"", "'parts' is -3.15. Expected a number of parts by mass, more than zero.")]
#[case::empty("\"\"", "'parts' cannot be read: a number was expected, but nothing is there.")]
#[case::truth("true", "'parts' is true or false. Expected a number.")]
fn a_number_that_could_be_misread_is_refused(#[case] written: &str, #[case] sentence: &str) {
    let shop = shop_with(GANNET, COLOUR.replace("3.150", written).as_bytes());
    let [problem] = shop.problems.as_slice() else { panic!("{}", shown(&shop.problems)) };
    assert_eq!(problem.location(), "shop/colours/gannet-white.toml:9:28");
    assert_eq!(problem.sentence(), sentence);
    assert!(shop.colours.is_empty());
}

/// Whether both hold the same, though their files differ.
fn says_the_same(a: &Catalogue, b: &Catalogue) -> bool {
    let without_files = |shop: &Catalogue| {
        let mut shop = shop.clone();
        shop.colours.iter_mut().for_each(|colour| colour.source = None);
        shop
    };
    without_files(a) == without_files(b)
}

#[test]
fn lists_may_be_written_either_way() {
    let text = r#"
layer = [ { role = "base", pours = [ { toner = "K05", parts = "1" } ] } ]
code = "PB-1"
name = "x"
finish = "single-stage"
"#;
    let inline = shop_with("colours/x.toml", text.as_bytes());
    let text = r#"
code = "PB-1"
name = "x"
finish = "single-stage"
[[layer]]
role = "base"
[[layer.pours]]
toner = "k05"
parts = "1"
"#;
    let long = shop_with("colours/x.toml", text.as_bytes());
    assert_eq!(shown(&inline.problems), "");
    assert!(says_the_same(&inline, &long));
    assert_eq!(
        long.colour("pb-1").unwrap().layers[0].pours[0].toner.as_str(),
        "K05",
        "the toner's own spelling"
    );
}

#[test]
fn a_file_from_another_editor_is_read_or_told_about() {
    let dos = format!("\u{feff}{}", COLOUR.replace('\n', "\r\n"));
    assert!(says_the_same(&shop_with(GANNET, dos.as_bytes()), &shop_with(GANNET, COLOUR.as_bytes())));
    let wrong = dos.replace("K05", "Q05");
    assert_eq!(shop_with(GANNET, wrong.as_bytes()).problems[0].location(), format!("shop/{GANNET}:9:13"));

    let mut latin = COLOUR.replace("Gannet White", "F?hn").into_bytes();
    let at = latin.iter().position(|&byte| byte == b'?').unwrap();
    latin[at] = 0xf6;
    let shop = shop_with(GANNET, &latin);
    let expected = "shop/colours/gannet-white.toml:2:10: error, this file is left out\n  \
                    name = \"F\u{fffd}hn\"\n           ^\n  \
                    the byte 0xf6 is not UTF-8. Save the file again with the encoding UTF-8.\n";
    assert_eq!(shown(&shop.problems), expected);
}

#[test]
fn without_its_toners_a_shop_says_so_once() {
    let shop = shop_with("toners.toml", b"[[toner\n");
    assert_eq!(shop.problems.len(), 2, "{}", shown(&shop.problems));
    assert_eq!(
        shop.problems[1].to_string(),
        "shop/toners.toml: error\n  without toners none of the 1 colours can be used. Put this file right first."
    );
    assert!(shop.colours.is_empty() && shop.cups.len() == 1);

    let shop = Catalogue::from_files("", [("README.md", "no shop at all")]);
    let files: Vec<_> =
        shop.problems.iter().map(|problem| (problem.file.as_str(), problem.severity)).collect();
    let expected =
        [("toners.toml", Severity::Error), ("cups.toml", Severity::Warning), ("colours", Severity::Warning)];
    assert_eq!(files, expected);
}

#[test]
fn a_folder_full_of_mistakes_says_them_all_and_loads_the_rest() {
    let shop = Catalogue::load(Path::new("tests/bad-shops/several"));
    let toners: Vec<_> = shop.toners.iter().map(|toner| toner.code.as_str()).collect();
    assert_eq!(toners, ["W10", "Y41"]);
    let cups: Vec<_> = shop.cups.iter().map(|cup| cup.name.as_str()).collect();
    assert_eq!(cups, ["350"]);
    let colours: Vec<_> = shop.colours.iter().map(|colour| colour.name.as_str()).collect();
    assert_eq!(colours, ["Right"]);
    let expected = include_str!("../bad-shops/several/expected.txt").replace("\r\n", "\n");
    assert_eq!(shown(&shop.problems), expected);
}

#[test]
fn a_folder_that_cannot_be_read_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("nowhere");
    let shop = Catalogue::load(&missing);
    assert_eq!(
        shown(&shop.problems),
        format!(
            "{}: error\n  this folder is not there. Make it, or name the one that holds your toners.toml.\n",
            missing.display()
        )
    );

    let file = folder.path().join("toners.toml");
    fs::write(&file, TONERS).unwrap();
    assert_eq!(Catalogue::load(&file).problems[0].what, "this is a file, not a folder");

    // no cups; a folder and a link to nowhere where colours should be
    fs::create_dir_all(folder.path().join("colours/folder.toml")).unwrap();
    fs::write(folder.path().join("colours/good.toml"), COLOUR).unwrap();
    fs::write(folder.path().join("colours/.good.toml"), "left by an editor").unwrap();
    fs::write(folder.path().join("colours/good.toml~"), "left by an editor").unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", folder.path().join("colours/link.toml")).unwrap();
    let shop = Catalogue::load(folder.path());
    let said: Vec<_> = shop
        .problems
        .iter()
        .map(|problem| {
            let file = Path::new(&problem.file).strip_prefix(folder.path()).unwrap();
            (file.display().to_string(), problem.severity, problem.what.clone())
        })
        .collect();
    assert_eq!(said[0], ("cups.toml".to_owned(), Severity::Warning, "this file is not there".to_owned()));
    assert_eq!(said[1], ("colours/folder.toml".to_owned(), Severity::Error, "this is not a file".to_owned()));
    #[cfg(unix)]
    {
        assert_eq!((said[2].0.as_str(), said[2].1), ("colours/link.toml", Severity::Error));
        assert!(said[2].2.starts_with("this file cannot be read: "), "{}", said[2].2);
        assert_eq!(said.len(), 3);
    }
    assert_eq!(shop.colours.len(), 1);
}
