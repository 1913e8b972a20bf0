use super::*;
use crate::catalogue::{ColourCode, Draft, demo, to_csv};
use proptest::prelude::*;

fn csv(text: &str) -> Preview {
    from_csv(&Catalogue::demo(), text.as_bytes(), &Options::default())
}

fn parts(entry: &Entry, layer: usize) -> Vec<String> {
    entry.colour.layers[layer].pours.iter().map(|part| format!("{}={}", part.toner, part.parts)).collect()
}

fn said(preview: &Preview) -> Vec<String> {
    preview.wrong.iter().map(ToString::to_string).collect()
}

#[test]
fn a_row_a_part() {
    let preview = csv(
        "\u{feff}Paint code;Colour name;Finish;Coat;Tinter;g\r\nN-1;New;two-stage;base;w10;12,50\r\nN-1;;;base;K05;3\r\nN-1;;;clear;C95;1\r\n",
    );
    assert_eq!(said(&preview), [""; 0]);
    let [entry] = preview.entries.as_slice() else { panic!("{:?}", preview.entries) };
    assert_eq!((entry.outcome, entry.colour.name.as_str()), (Outcome::Added, "New"));
    assert_eq!(
        (parts(entry, 0), parts(entry, 1)),
        (vec!["W10=12.50".into(), "K05=3".into()], vec!["C95=1".into()])
    );
}

#[test]
fn a_row_a_layer() {
    let preview = csv("code,finish,layer,W10,K05,C95\nN-1,two-stage,base,12.5,3,\nN-1,,clear,,,1\n");
    assert_eq!(said(&preview), [""; 0]);
    let entry = &preview.entries[0];
    assert_eq!(
        (parts(entry, 0), parts(entry, 1)),
        (vec!["W10=12.5".into(), "K05=3".into()], vec!["C95=1".into()])
    );
    assert_eq!(entry.colour.name, "N-1", "without a column of names its code is its name");
}

#[test]
fn every_mistake_is_named_with_line_and_column() {
    let preview = csv(
        "code,finish,layer,toner,parts\nN-1,two stage,base,W1O,1\n,,base,K05,1\nN-1,,base,K05,x\nN-2,two-stage,base,W10,2\nN-2,single-stage,base,K05,2\nN-3,two-stage,base,W10,2,9\n",
    );
    let expected = [
        "line 2, column 2 (finish): N-1: 'two stage' is not a finish. Did you mean 'two-stage'?",
        "line 2, column 4 (toner): N-1: there is no toner with the code 'W1O'. Did you mean 'W10'?",
        "line 3, column 1 (code): this row has no code. Write the colour's code in every row.",
        "line 4, column 5 (parts): N-1: the parts cannot be read: 'x' is not a number: write digits with a decimal point, like 12.5. Write a number of parts by mass, like 12.5 or 12,5.",
        "line 6, column 2 (finish): here the finish is 'single-stage', further up it is 'two-stage'. Make them the same.",
        "line 7: this row has 6 cells, and the first row 5. Look for a separator inside a cell.",
    ];
    assert_eq!(said(&preview), expected);
    assert_eq!(preview.entries, []);
}

#[test]
fn a_colour_that_is_there_keeps_what_the_table_does_not_say() {
    let preview = csv("code,layer,toner,parts\npb-3171,clear,C95,998.20\nPB-3171,clear,B15,2.00\n");
    assert_eq!(said(&preview), [""; 0]);
    let entry = &preview.entries[0];
    assert_eq!(entry.outcome, Outcome::Changed);
    let mut draft = Draft::of(Catalogue::demo().colour("PB-3171").unwrap());
    draft.layers[3].rows[1].parts = "2.00".into();
    assert!(entry.colour.says_the_same(&draft.check(&Catalogue::demo().toners, []).unwrap()));
    // A mistake in it is named where it stands in the table, not in the formula.
    let preview = csv("code,layer,toner,parts\nPB-3171,clear,C95,998.20\nPB-3171,clear,B99,2.00\n");
    assert!(said(&preview)[0].starts_with("line 3, column 3 (toner)"), "{:?}", said(&preview));
}

#[test]
fn running_totals_are_seen_asked_about_and_taken_apart() {
    let rows = "N-1,two-stage,base,W10,100.0\nN-1,,base,K05,103.5\nN-1,,base,B15,103.75\nN-1,,base,M85,200\n";
    let with = |heading: &str, cumulative| {
        let text = format!("code,finish,layer,toner,{heading}\n{rows}");
        from_csv(&Catalogue::demo(), text.as_bytes(), &Options { cumulative, ..Options::default() })
    };
    let own = ["W10=100.0", "K05=3.5", "B15=0.25", "M85=96.25"];
    let asked = with("g", None);
    assert!(said(&asked)[0].contains("--cumulative=no"), "{:?}", said(&asked));
    for preview in [with("g", Some(true)), with("g cumulative", None), with("Running total (g)", None)] {
        assert_eq!(said(&preview), [""; 0]);
        assert_eq!(parts(&preview.entries[0], 0), own);
        assert!(preview.cumulative);
    }
    let plain = with("g", Some(false));
    assert_eq!(parts(&plain.entries[0], 0)[3], "M85=200");
    let headed = with("parts", None);
    assert_eq!((headed.wrong.len(), headed.notes.len()), (0, 1), "{headed:?}");
    // A total that falls is none.
    let text = "code,finish,layer,toner,g\nN-1,two-stage,base,W10,100\nN-1,,base,K05,90\n";
    let falls = from_csv(
        &Catalogue::demo(),
        text.as_bytes(),
        &Options { cumulative: Some(true), ..Options::default() },
    );
    assert!(
        said(&falls)[0].starts_with("line 3, column 5 (g): 90 is not more than 100"),
        "{:?}",
        said(&falls)
    );
    assert_eq!(falls.entries, []);
}

#[test]
fn another_shops_folder_names_the_toners_that_are_missing_at_once() {
    let foreign = |code: &str, toners: [&str; 2]| {
        format!(
            "# theirs\ncode = \"{code}\"\nname = \"{code}\"\nfinish = \"two-stage\"\n[[layer]]\nrole = \"base\"\npours = [{{ toner = \"{}\", parts = 1 }}, {{ toner = \"{}\", parts = 2 }}]\n",
            toners[0], toners[1]
        )
    };
    let files = [
        ("a.toml", foreign("N-1", ["w10", "K05"])),
        ("b.toml", foreign("N-2", ["Q1", "W1O"])),
        ("c.toml", foreign("N-3", ["Q1", "W10"])),
        ("d.toml", "code = 1\n".to_owned()),
        ("e.toml", foreign("n-1", ["W10", "K05"])),
        ("notes.txt", "x".to_owned()),
    ];
    let preview = from_folder(&Catalogue::demo(), files.iter().map(|(name, text)| (*name, text.as_bytes())));
    let [entry] = preview.entries.as_slice() else { panic!("{:?}", preview.entries) };
    assert_eq!((entry.outcome, entry.text.as_deref()), (Outcome::Added, Some(files[0].1.as_str())));
    let said = said(&preview);
    assert!(
        said.iter()
            .any(|said| said.starts_with("toner Q1: the shop has no such toner, and N-2, N-3 needs it")),
        "{said:?}"
    );
    assert!(said.iter().any(|said| said.contains("The nearest here is 'W10'")), "{said:?}");
    assert!(said.iter().any(|said| said.starts_with("d.toml:1:8")), "{said:?}");
    assert!(said.iter().any(|said| said.starts_with("e.toml: there is another file")), "{said:?}");
}

#[test]
fn the_shops_own_files_and_its_own_table_are_the_same() {
    let demo = Catalogue::demo();
    let files = demo::FILES.iter().map(|(path, text)| (*path, text.as_bytes()));
    let colours = files.filter(|(path, _)| path.starts_with("colours/"));
    let from_files = from_folder(&demo, colours);
    let from_table = csv(&to_csv(&demo.colours));
    for preview in [from_files, from_table] {
        assert_eq!((preview.count(Outcome::Same), preview.wrong.len()), (16, 0), "{:?}", preview.wrong);
    }
}

#[test]
fn an_import_is_written_and_the_old_version_kept() {
    let shop = tempfile::tempdir().unwrap();
    std::fs::create_dir(shop.path().join("colours")).unwrap();
    for (path, text) in demo::FILES {
        std::fs::write(shop.path().join(path), text).unwrap();
    }
    let folder = FormulaFolder::of(shop.path());
    let text = "code,finish,layer,toner,parts\nPB-3171,,clear,C95,998.20\nPB-3171,,clear,B15,2.00\nN-1,two-stage,base,W10,1\n";
    // An empty cell in a column that is there says nothing is there.
    assert!(said(&csv(text))[0].contains("finish"), "{:?}", said(&csv(text)));
    let text = text.replace("PB-3171,,", "PB-3171,three-stage,");
    let preview = csv(&text);
    assert_eq!((preview.count(Outcome::Added), preview.count(Outcome::Changed)), (1, 1), "{preview:?}");
    for entry in &preview.entries {
        entry.write(&folder, Stamp(0)).unwrap();
    }
    assert_eq!(folder.versions("bluethroat.toml").unwrap().len(), 1);
    let after = Catalogue::load(shop.path());
    assert_eq!((after.colours.len(), after.problems.len()), (17, 0), "{:?}", after.problems);
    let again = from_csv(&after, text.as_bytes(), &Options::default());
    assert_eq!(again.count(Outcome::Same), 2);
}

/// Text as it may stand in a file: anything that can be printed, without blanks round it.
fn word() -> impl Strategy<Value = String> {
    let printable = |text: String| crate::units::clean(&text).trim().to_owned();
    "[=+@'\"',;A-Za-z0-9é -]{1,12}".prop_map(printable).prop_filter("empty", |text| !text.is_empty())
}

proptest! {
    /// What is exported and imported again is the same, whatever its texts look like to a spreadsheet.
    #[test]
    fn there_and_back(code in word(), name in word(), variant in word(), because in word()) {
        let demo = Catalogue::demo();
        let mut colour = demo.colour("PB-3171").unwrap().clone();
        colour.code = ColourCode::new(code);
        colour.name = name;
        colour.variant = variant;
        // A table has no columns for them.
        for layer in &mut colour.layers {
            (layer.product, layer.shade) = (None, None);
        }
        colour.retired = Some(crate::catalogue::Retired { on: "2026-11-25".into(), because: Some(because) });
        let text = to_csv([&colour]);
        let preview = from_csv(&demo, text.as_bytes(), &Options::default());
        prop_assert_eq!(&preview.wrong, &[]);
        prop_assert!(preview.entries[0].colour.says_the_same(&colour), "{}", text);
        // and no cell that a spreadsheet would run
        for line in text.lines() {
            for cell in csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes()).records().flatten() {
                prop_assert!(cell.iter().all(|cell| !cell.starts_with(['=', '+', '-', '@'])), "{}", line);
            }
        }
    }

    #[test]
    fn no_table_is_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), text in "[codetnrpas,;\"\n0-9=W]{0,200}") {
        let demo = Catalogue::demo();
        let _ = from_csv(&demo, &bytes, &Options::default());
        let table = format!("code,layer,toner,parts\n{text}");
        for cumulative in [None, Some(true)] {
            let preview = from_csv(&demo, table.as_bytes(), &Options { cumulative, ..Options::default() });
            prop_assert!(preview.wrong.iter().all(|wrong| !wrong.to_string().chars().any(crate::units::is_unprintable)));
        }
        let _ = from_folder(&demo, [("a.toml", bytes.as_slice())]);
    }
}
