//! The figures as a page on its own: nothing is fetched and nothing runs, and it can be printed.

use super::Shown;
use super::chart::Chart;
use super::table::{Cell, Table};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// One part of a page: a picture, if there is one, and its figures.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Section {
    /// A name for it within the page.
    pub id: &'static str,
    /// The picture.
    pub chart: Option<Chart>,
    /// The figures.
    pub table: Table,
}

/// A whole page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Page {
    /// What it is of.
    pub title: String,
    /// Of which days.
    pub days: String,
    /// The few figures that matter most: what, and how much.
    pub tiles: Vec<(&'static str, String)>,
    /// Its parts.
    pub sections: Vec<Section>,
    /// What has to be said of all of it.
    pub notes: Vec<String>,
}

impl Page {
    /// As HTML. All text goes through the one escaping of the template.
    pub fn html(&self, shown: Shown) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                    meta name="color-scheme" content="light dark";
                    title { (self.title) ", " (self.days) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    (patterns())
                    header {
                        h1 { (self.title) }
                        p { (self.days) }
                    }
                    dl.tiles {
                        @for (what, how_much) in &self.tiles { div { dt { (what) } dd { (how_much) } } }
                    }
                    @for section in &self.sections { (section.drawn(shown)) }
                    footer { @for note in &self.notes { p { (note) } } }
                }
            }
        };
        page.into_string()
    }
}

impl Section {
    fn drawn(&self, shown: Shown) -> Markup {
        let table = &self.table;
        html! {
            section id=(self.id) {
                h2 { (table.title) }
                @if let Some(chart) = self.chart.as_ref().and_then(|chart| chart.drawn(shown)) { (chart) }
                @if table.rows.is_empty() { p { "Nothing." } } @else { (figures(table, shown)) }
                @for note in &table.notes { p { (note) } }
            }
        }
    }
}

/// The columns in which there is something.
fn figures(table: &Table, shown: Shown) -> Markup {
    let places: Vec<usize> = (0..table.columns.len()).filter(|place| table.says(*place)).collect();
    let row = |row: &[Cell]| {
        html! {
            tr {
                @for cell in places.iter().filter_map(|place| row.get(*place)) {
                    @if let Cell::Text(text) = cell { td.words { (text) } } @else { td.number { (cell.shown(shown)) } }
                }
            }
        }
    };
    html! {
        table {
            thead {
                tr {
                    @for place in &places {
                        @let title = table.columns.get(*place).map_or("", |column| column.title);
                        @if table.is_words(*place) { th.words scope="col" { (title) } }
                        @else { th.number scope="col" { (title) @if table.is_mass(*place) { ", " (shown.unit()) } } }
                    }
                }
            }
            tbody { @for cells in &table.rows { (row(cells)) } }
            @if let Some(total) = &table.total { tfoot { (row(total)) } }
        }
    }
}

/// What tells the parts of a bar apart where there is no colour.
fn patterns() -> Markup {
    html! {
        svg.patterns width="0" height="0" aria-hidden="true" {
            defs {
                pattern id="dots" width="6" height="6" patternUnits="userSpaceOnUse" {
                    rect.kept-ground width="6" height="6" {} circle.kept-sign cx="3" cy="3" r="1.2" {}
                }
                pattern id="slant" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    rect.drawn-ground width="6" height="6" {} rect.drawn-sign width="2" height="6" {}
                }
                pattern id="cross" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    rect.thrown-ground width="7" height="7" {}
                    rect.thrown-sign width="1.6" height="7" {} rect.thrown-sign width="7" height="1.6" {}
                }
            }
        }
    }
}

const STYLE: &str = "
:root { --paper:#fff; --ink:#1b1f24; --faint:#5b6470; --line:#d5dae0;
  --sprayed:#2f6690; --kept:#81c3d7; --kept-sign:#16425b; --cup:#eef1f4;
  --drawn:#f3c969; --drawn-sign:#8a5a00; --thrown:#e07a5f; --thrown-sign:#fff; --given:#8f1d2c; }
@media screen and (prefers-color-scheme: dark) {
  :root { --paper:#14181d; --ink:#e8ebee; --faint:#a3adb8; --line:#3a424c;
    --sprayed:#5fa3d3; --kept:#2b6777; --kept-sign:#bfe6f0; --cup:#252c34;
    --drawn:#7a5a12; --drawn-sign:#f3c969; --thrown:#e07a5f; --thrown-sign:#14181d; --given:#e0566a; }
}
* { box-sizing:border-box; }
body { margin:0 auto; padding:1.5rem; max-width:60rem; background:var(--paper); color:var(--ink);
  font:15px/1.45 system-ui, sans-serif; -webkit-print-color-adjust:exact; print-color-adjust:exact; }
h1 { margin:0; font-size:1.7rem; } header p { margin:.1rem 0 1rem; color:var(--faint); }
h2 { margin:1.8rem 0 .5rem; font-size:1.15rem; border-bottom:1px solid var(--line); padding-bottom:.2rem; }
.tiles { display:flex; flex-wrap:wrap; gap:.6rem; margin:0; }
.tiles div { flex:1 1 11rem; border:1px solid var(--line); border-radius:.4rem; padding:.5rem .7rem; }
.tiles dt { color:var(--faint); font-size:.85rem; } .tiles dd { margin:0; font-size:1.2rem; white-space:nowrap; }
figure { margin:.5rem 0 1rem; } figure > svg { width:100%; height:auto; display:block; }
svg text { font:12px system-ui, sans-serif; fill:var(--ink); } svg text.tick { fill:var(--faint); font-size:11px; }
.grid { stroke:var(--line); stroke-width:1; }
.part { stroke:var(--paper); stroke-width:1; }
.sprayed { fill:var(--sprayed); } .kept { fill:url(#dots); } .cup { fill:var(--cup); stroke:var(--faint); }
.drawn { fill:url(#slant); } .thrown { fill:url(#cross); } .given { fill:var(--given); }
.kept-ground { fill:var(--kept); } .kept-sign { fill:var(--kept-sign); }
.drawn-ground { fill:var(--drawn); } .drawn-sign { fill:var(--drawn-sign); }
.thrown-ground { fill:var(--thrown); } .thrown-sign { fill:var(--thrown-sign); }
.patterns { position:absolute; } .swatch { width:1em; height:1em; vertical-align:-.15em; }
figcaption { font-size:.85rem; color:var(--faint); margin-left:29%; } .key { margin-right:1rem; white-space:nowrap; }
table { border-collapse:collapse; width:100%; font-size:.88rem; font-variant-numeric:tabular-nums; }
th, td { text-align:right; padding:.2rem .4rem; border-bottom:1px solid var(--line); vertical-align:bottom; }
th { color:var(--faint); font-weight:600; } td.number { white-space:nowrap; }
th.words, td.words { text-align:left; min-width:6.5em; overflow-wrap:anywhere; }
tfoot td { font-weight:600; border-bottom:0; border-top:2px solid var(--line); }
footer { margin-top:1.8rem; color:var(--faint); font-size:.85rem; }
@media print { @page { margin:14mm; } body { padding:0; max-width:none; font-size:12.5px; } table { font-size:11px; }
  section { break-inside:auto; } figure, tr, .tiles { break-inside:avoid; } h2 { break-after:avoid; } tfoot { display:table-row-group; } }
";
