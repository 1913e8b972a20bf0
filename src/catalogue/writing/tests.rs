use super::*;
use crate::catalogue::{Catalogue, Draft, DraftLayer, DraftRow, Word, demo};
use proptest::prelude::*;

fn colours() -> impl Iterator<Item = (&'static str, &'static str)> {
    demo::FILES.iter().copied().filter(|(path, _)| path.starts_with("colours/"))
}

/// The file with a change made to its draft.
fn changed(text: &str, change: impl FnOnce(&mut Draft)) -> String {
    let mut draft = Draft::of(&colour_file::read_alone(text).unwrap());
    change(&mut draft);
    edited(text, &draft.check(&Catalogue::demo().toners, []).unwrap()).unwrap()
}

fn row(toner: &str, parts: &str) -> DraftRow {
    DraftRow { toner: toner.into(), parts: parts.into() }
}

/// The lines that only one of both has, in order: `-` and `+`.
fn difference(before: &str, after: &str) -> Vec<String> {
    let (a, b): (Vec<_>, Vec<_>) = (before.lines().collect(), after.lines().collect());
    let mut difference: Vec<String> =
        a.iter().filter(|line| !b.contains(line)).map(|l| format!("-{l}")).collect();
    difference.extend(b.iter().filter(|line| !a.contains(line)).map(|l| format!("+{l}")));
    difference
}

/// Every way of writing that a hand may choose.
const BY_HAND: &str = "# From the shop next door.\r\n\
    code='T-1' # ours\r\n\
    \"name\"   =   \"Half \\u0041nd Half\"\r\n\
    finish = \"two-stage\"\r\n\
    # the base\r\n\
    [[layer]] # first\r\n\
    pours = [ {toner='w10',parts=1}, { parts = 2.50, toner = \"K05\" } ]\r\n\
    role = 'base'\r\n\
    \r\n\
    \r\n\
    # under it\r\n\
    [[layer]]\r\n\
    role = \"undercoat\"\r\n\
    pours = [ # by weight\r\n\
    \t# white first\r\n\
    \t{ toner = \"W10\", parts = \"007\" }, # mind the skin\r\n\
    \t{ toner = \"M85\", parts = \"+.5\" } # last\r\n\
    ]\r\n\
    # the end";

const TABLES: &str = "code = \"T-2\"\nname = \"T\"\nfinish = \"two-stage\"\n\n[[layer]]\nrole = \"base\"\n# white\n[[layer.pours]]\ntoner = \"W10\"\nparts = 1\n[[layer.pours]]\ntoner = \"K05\"\nparts = 2\n\n# clear\n[[layer]]\nrole = \"clear\"\npours = [{ toner = \"C95\", parts = \"1\" }]\n";

const LISTS: &str = "layer = [\n  { role = \"base\", pours = [{ toner = \"W10\", parts = \"1\" }] },\n  { role = \"clear\", pours = [{ toner = \"C95\", parts = \"1\" }] }\n]\ncode = \"T-3\"\nname = \"T\"\nfinish = \"two-stage\"";

#[test]
fn a_write_without_a_change_is_the_same_bytes() {
    for text in colours().map(|(_, text)| text).chain([BY_HAND, TABLES, LISTS]) {
        assert_eq!(changed(text, |_| {}), text);
    }
}

#[test]
fn a_new_file_of_a_colour_of_the_invented_shop_is_as_its_own() {
    for (path, text) in colours() {
        let own: String = text
            .lines()
            .filter(|line| !line.contains('#') || line.contains("swatch"))
            .fold(String::new(), |text, line| text + line + "\n");
        assert_eq!(fresh(&colour_file::read_alone(text).unwrap()), own.trim_start_matches('\n'), "{path}");
    }
}

#[test]
fn what_a_hand_wrote_stays_as_it_was() {
    // A mark that other editors put at the beginning stays too.
    let marked = format!("\u{feff}{BY_HAND}");
    let parts = |draft: &mut Draft| draft.layers[0].rows[1].parts = "2,75".into();
    assert_eq!(changed(&marked, parts), marked.replace("2.50", "2.75"));
    let text = changed(BY_HAND, |draft| {
        draft.layers[0].rows[1].parts = "2,75".into();
        draft.layers[1].rows[1].toner = "W18".into();
        draft.name = "Two \"Halves\"".into();
    });
    let expected = BY_HAND
        .replace("2.50", "2.75")
        .replace("toner = \"M85\"", "toner = \"W18\"")
        .replace("\"Half \\u0041nd Half\"", "\"Two \\\"Halves\\\"\"");
    assert_eq!(text, expected);
}

#[test]
fn a_row_goes_with_its_comments_and_comes_with_a_comma() {
    let text = changed(BY_HAND, |draft| {
        draft.layers[1].rows.swap(0, 1);
        draft.layers[1].rows.push(row("K18", "3.0"));
        draft.layers[0].rows.insert(1, row("R20", "4"));
    });
    let expected = BY_HAND
        .replace(
            "\t# white first\r\n\t{ toner = \"W10\", parts = \"007\" }, # mind the skin\r\n\t{ toner = \"M85\", parts = \"+.5\" } # last\r\n",
            "\t{ toner = \"M85\", parts = \"+.5\" }, # last\r\n\t# white first\r\n\t{ toner = \"W10\", parts = \"007\" }, # mind the skin\r\n\t{ toner = \"K18\", parts = \"3.0\" },\r\n",
        )
        .replace("parts=1}, {", "parts=1}, { toner = \"R20\", parts = \"4\" }, {");
    assert_eq!(text, expected);
}

#[test]
fn keys_come_and_go_as_lines() {
    let text = changed(BY_HAND, |draft| {
        draft.retired = "2026-11-25".into();
        draft.retired_because = "no tins".into();
        draft.swatch = "#ffffff".into();
        draft.variant = "darker".into();
    });
    let line = "finish = \"two-stage\"\r\n";
    let keys = "variant = \"darker\"\r\nswatch = \"#ffffff\"\r\nretired = \"2026-11-25\"\r\nretired-because = \"no tins\"\r\n";
    assert_eq!(text, BY_HAND.replace(line, &format!("{line}{keys}")));
    let back = changed(&text, |draft| {
        draft.retired.clear();
        draft.retired_because.clear();
        draft.swatch.clear();
    });
    assert_eq!(back, BY_HAND.replace(line, &format!("{line}variant = \"darker\"\r\n")));
    let last = changed(LISTS, |draft| draft.swatch = "#ffffff".into());
    assert_eq!(last, format!("{LISTS}\nswatch = \"#ffffff\"\n"));
}

#[test]
fn layers_come_and_go_and_change_places() {
    let text = changed(BY_HAND, |draft| draft.layers.swap(0, 1));
    let (head, rest) = BY_HAND.split_at(BY_HAND.find("# the base").unwrap());
    let (base, under) = rest.split_at(rest.find("# under it").unwrap());
    assert_eq!(text, format!("{head}{under}\r\n\r\n{}", base.trim_end()));
    let text = changed(BY_HAND, |draft| drop(draft.layers.remove(0)));
    assert_eq!(text, format!("{head}{under}"));
    let text = changed(TABLES, |draft| drop(draft.layers.remove(1)));
    assert_eq!(text, TABLES.split("\n# clear").next().unwrap());
    let layer = DraftLayer { role: "blender".into(), rows: vec![row("W10", "1")], ..DraftLayer::default() };
    let text = changed(TABLES, |draft| draft.layers.push(layer.clone()));
    let expected = "\n[[layer]]\nrole = \"blender\"\npours = [\n  { toner = \"W10\", parts = \"1\" },\n]\n";
    assert_eq!(text, format!("{TABLES}{expected}"));
    let text = changed(LISTS, |draft| draft.layers.insert(0, layer));
    assert_eq!(
        difference(LISTS, &text),
        ["+  { role = \"blender\", pours = [{ toner = \"W10\", parts = \"1\" }] },"]
    );
}

#[test]
fn rows_that_are_tables_come_and_go() {
    let text = changed(TABLES, |draft| draft.layers[0].rows.push(row("R20", "3")));
    let expected =
        TABLES.replace("parts = 2\n\n", "parts = 2\n[[layer.pours]]\ntoner = \"R20\"\nparts = \"3\"\n\n");
    assert_eq!(text, expected);
    let text = changed(TABLES, |draft| drop(draft.layers[0].rows.remove(0)));
    assert_eq!(text, TABLES.replace("# white\n[[layer.pours]]\ntoner = \"W10\"\nparts = 1\n", ""));
}

#[test]
fn one_number_is_one_line() {
    let (_, text) = colours().next().unwrap();
    let after = changed(text, |draft| draft.layers[0].rows[0].parts = "281.50".into());
    let expected =
        ["-  { toner = \"M85\", parts = \"281.00\" },", "+  { toner = \"M85\", parts = \"281.50\" },"];
    assert_eq!(difference(text, &after), expected);
}

#[test]
fn what_is_no_colour_is_not_written_over() {
    let colour = Catalogue::demo().colours.remove(0);
    for text in ["", "code = ", "code = \"x\"\n"] {
        assert_eq!(edited(text, &colour), Err(Unwritable::Unreadable));
    }
}

/// One change of a draft, by numbers that mean something for every draft.
fn change(draft: &mut Draft, kind: u8, layer: usize, row_at: usize, other: usize) {
    let toners = Catalogue::demo().toners;
    let count = draft.layers.len();
    match kind {
        0 => draft.name = format!("Name \"{other}\" \\ é"),
        1 => draft.swatch = if other.is_multiple_of(2) { String::new() } else { format!("#{other:06x}") },
        2 => {
            draft.variant = if other.is_multiple_of(2) { "standard".into() } else { format!("shade {other}") }
        }
        3 => (draft.retired, draft.retired_because) = ("2026-11-25".into(), format!("reason {other}")),
        4 => (draft.retired, draft.retired_because) = (String::new(), String::new()),
        5 if count > 1 => drop(draft.layers.remove(layer % count)),
        6 => draft.layers.swap(layer % count, other % count),
        7 => {
            let roles = crate::catalogue::Role::ALL.iter().map(|role| role.word());
            let free: Vec<_> =
                roles.filter(|word| draft.layers.iter().all(|layer| layer.role != **word)).collect();
            if let Some(word) = free.get(other % free.len().max(1)) {
                let rows = vec![row("W10", "1.0"), row("K05", "0.25")];
                draft.layers.insert(
                    layer % (count + 1),
                    DraftLayer { role: (*word).to_owned(), rows, ..DraftLayer::default() },
                );
            }
        }
        _ => {
            let rows = &mut draft.layers[layer % count].rows;
            let at = row_at % rows.len();
            let free = toners.iter().map(|toner| toner.code.as_str());
            let free: Vec<_> =
                free.filter(|code| rows.iter().all(|row| !row.toner.eq_ignore_ascii_case(code))).collect();
            let code = free[other % free.len()];
            match kind {
                8 => rows[at].parts = format!("{},{:02}", other + 1, row_at % 100),
                9 => rows[at].toner = code.to_owned(),
                10 => rows.insert(at, row(code, "12.50")),
                11 if rows.len() > 1 => drop(rows.remove(at)),
                _ => {
                    let to = other % rows.len();
                    rows.swap(at, to);
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    /// Whatever is changed, reading back gives the draft, and every comment is still there that did not stand by
    /// what was taken out.
    #[test]
    fn what_is_written_reads_back_as_the_draft(
        file in 0_usize..19,
        changes in prop::collection::vec((0_u8..13, 0_usize..8, 0_usize..200, 0_usize..1000), 1..6),
    ) {
        let texts: Vec<_> = colours().map(|(_, text)| text).chain([BY_HAND, TABLES, LISTS]).collect();
        let text = texts[file];
        let mut draft = Draft::of(&colour_file::read_alone(text).unwrap());
        for (kind, layer, row, other) in &changes {
            change(&mut draft, *kind, *layer, *row, *other);
        }
        let before = colour_file::read_alone(text).unwrap();
        let colour = draft.check(&Catalogue::demo().toners, []).unwrap().with_papers_of(&before);
        let after = edited(text, &colour).unwrap();
        prop_assert!(says(&colour_file::read_alone(&after).unwrap(), &colour));
        prop_assert_eq!(edited(&after, &colour).unwrap(), after.clone());
        // What stands by nothing that can be taken out stays.
        let top = text.lines().take_while(|line| line.starts_with('#')).collect::<Vec<_>>().join("\n");
        prop_assert!(after.replace("\r\n", "\n").starts_with(&top));
        if changes.iter().all(|(kind, ..)| *kind == 0 || *kind == 8) {
            // values alone: the lines stay as many, and those without a name or parts stay the same
            prop_assert_eq!(after.lines().count(), text.lines().count());
            for (one, other) in text.lines().zip(after.lines()) {
                prop_assert!(one == other || one.contains("name") || one.contains("parts"), "{} {}", one, other);
            }
        }
        let written = fresh(&colour);
        prop_assert!(colour_file::read_alone(&written).unwrap().says_the_same(&colour));
    }

    #[test]
    fn no_text_is_a_panic(text in "(?s).{0,200}", from in 0_usize..400, to in 0_usize..400) {
        let colour = Catalogue::demo().colours.remove(0);
        let _ = edited(&text, &colour);
        // and what is almost a colour
        let mut damaged: String = BY_HAND.chars().take(from).collect();
        damaged.extend(BY_HAND.chars().skip(to));
        if let Ok(after) = edited(&damaged, &colour) {
            prop_assert!(says(&colour_file::read_alone(&after).unwrap(), &colour));
        }
    }
}
