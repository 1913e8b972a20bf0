//! The states of the screens on which formulas are written and taken in, for the pictures.

use super::formula::{Cell, HeadRow, PartRow};
use super::import::{ColumnRow, Fate, FateRow};
use super::states::Shop;
use super::*;
use crate::catalogue::Swatch;
use crate::tui::keys::{Action, Context};

const ACTIONS: &[Action] = &[
    Action::Accept,
    Action::SaveFormula,
    Action::NextLayer,
    Action::AddRow,
    Action::RemoveRow,
    Action::Back,
];

fn said(text: &str) -> Cell<'_> {
    Cell { text, ..Cell::default() }
}

fn part<'a>(code: &'a str, name: &'a str, swatch: &str, parts: &'a str, share: &'a str) -> PartRow<'a> {
    PartRow {
        toner: said(code),
        name: Some(name),
        swatch: Swatch::parse(swatch),
        parts: said(parts),
        share: Some(share),
    }
}

pub(super) fn formula_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let head = [
        ("code", "PB-3140"),
        ("name", "Gannet White"),
        ("variant", "standard"),
        ("finish", "three-stage"),
        ("swatch", "#f1efe9"),
        ("layer", "ground"),
    ]
    .map(|(label, text)| HeadRow { label, cell: said(text) });
    let layers = [("undercoat", false), ("ground coat", false), ("pearl coat", false), ("blender", false)];
    let mut parts = vec![
        part("M80", "colour binder", "#e9e4d4", "157.00", "15.70 %"),
        part("W10", "titanium white", "#f2f1ec", "810.00", "81.20 %"),
        part("K05", "carbon black", "#161616", "3.15", "0.32 %"),
        part("Y41", "yellow oxide", "#c9962e", "21.60", "2.17 %"),
        part("B15", "phthalo blue", "#123a8c", "4.35", "0.44 %"),
        part("R20", "red oxide", "#8c2f1d", "1.50", "0.15 %"),
    ];
    parts[1].parts = Cell { text: "810.00", cursor: Some(6), wrong: false, was: Some("812.40") };
    let view = FormulaView {
        title: "Change",
        of: "PB-3140 Gannet White",
        head: &head,
        swatch: Swatch::parse("#f1efe9"),
        layers: &layers,
        layer: 1,
        parts: &parts,
        row: Some(1),
        problem: None,
        problems: 0,
        changed: true,
        chrome: shop.chrome(Context::Formula, ACTIONS),
    };
    see("formula", &View::Formula(view));

    let mut wrong = parts.clone();
    wrong[2] = PartRow {
        toner: Cell { text: "K50", cursor: Some(3), wrong: true, was: Some("K05") },
        name: None,
        swatch: None,
        parts: Cell { text: "3,,15", wrong: true, ..Cell::default() },
        share: None,
    };
    let layers = [("undercoat", false), ("ground coat", true), ("pearl coat", false), ("blender", false)];
    see(
        "formula-wrong",
        &View::Formula(FormulaView {
            layers: &layers,
            parts: &wrong,
            row: Some(2),
            problem: Some("no toner has the code 'K50': did you mean K05?"),
            problems: 2,
            ..view
        }),
    );

    let empty = [
        ("code", ""),
        ("name", ""),
        ("variant", "standard"),
        ("finish", ""),
        ("swatch", ""),
        ("layer", "base"),
    ];
    let mut new = empty.map(|(label, text)| HeadRow {
        label,
        cell: Cell { wrong: text.is_empty() && label != "swatch", ..said(text) },
    });
    new[0].cell = Cell { cursor: Some(0), ..said("") };
    see(
        "formula-new",
        &View::Formula(FormulaView {
            title: "New colour",
            of: "",
            head: &new,
            swatch: None,
            layers: &[("base coat", true)],
            layer: 0,
            parts: &[PartRow {
                toner: Cell { wrong: true, ..Cell::default() },
                name: None,
                swatch: None,
                parts: Cell { wrong: true, ..Cell::default() },
                share: None,
            }],
            row: None,
            problem: Some("a colour needs a code, such as the one on the car's plate"),
            problems: 5,
            changed: false,
            ..view
        }),
    );
}

pub(super) fn import_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let column = |header: &str, meaning: &str, sample: &str| ColumnRow {
        header: header.to_owned(),
        meaning: meaning.to_owned(),
        sample: sample.to_owned(),
    };
    let columns = [
        column("Paint code", "code", "PB-4001 PB-4001 PB-4001"),
        column("Name", "name", "Otter Brown Otter Brown"),
        column("Coat", "layer", "ground ground pearl"),
        column("Tinter", "toner", "M80 K05 W10"),
        column("Grams", "parts", "157.00 3,15 812.40"),
        column("Remark", "", "from the old book"),
    ];
    let fate = |fate, what: &str, how: &str| FateRow { fate, what: what.to_owned(), how: how.to_owned() };
    let fates = [
        fate(Fate::Wrong, "line 14, column 5", "'12,,4' is no number: write it as 12.4 or 12,4"),
        fate(
            Fate::Wrong,
            "line 21, column 4",
            "no toner has the code 'W1O': did you mean W10? Toners are in toners.toml",
        ),
        fate(Fate::New, "PB-4001 Otter Brown", "ground coat of 4 toners, pearl coat of 2"),
        fate(Fate::Changed, "PB-3140 Gannet White", "ground coat: W10 812.40 becomes 810.00"),
        fate(Fate::Same, "PB-3141 Ptarmigan", "there already"),
    ];
    let actions = [
        Action::Accept,
        Action::Up,
        Action::Down,
        Action::Previous,
        Action::Next,
        Action::RunningTotals,
        Action::Back,
    ];
    let view = ImportView {
        from: "old-book.csv",
        columns: &columns,
        column: Some(4),
        running_totals: false,
        fates: &fates,
        scroll: 0,
        counts: [1, 1, 1, 2],
        chrome: shop.chrome(Context::Import, &actions),
    };
    see("import", &View::Import(view));
    see(
        "import-folder",
        &View::Import(ImportView {
            from: "old-shop",
            columns: &[],
            column: None,
            fates: &fates[2..],
            counts: [1, 1, 1, 0],
            ..view
        }),
    );
}
