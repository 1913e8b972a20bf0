//! The job sheet as a page on its own: nothing is fetched and nothing runs, and it can be printed.

use super::{Block, Look, Sheet};
use maud::{DOCTYPE, Markup, PreEscaped, html};

impl Sheet {
    /// As HTML. All text goes through the one escaping of the template.
    pub fn html(&self, look: &Look<'_>) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                    meta name="color-scheme" content="light dark";
                    title { "Job " (self.name) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    header { h1 { (self.name) } }
                    dl { @for (what, text) in self.head(look) { div { dt { (what) } dd { (text) } } } }
                    @for block in self.blocks(look) { (drawn(&block)) }
                    footer { @for note in self.notes(look) { p { (note) } } }
                }
            }
        };
        page.into_string()
    }
}

fn drawn(block: &Block) -> Markup {
    let cell = |place: usize| {
        if block.columns.get(place).is_some_and(|(_, number)| *number) { "number" } else { "words" }
    };
    html! {
        section id=(block.id) class=[block.is_wide().then_some("wide")] {
            h2 { (block.title) }
            table {
                thead {
                    tr { @for (place, (title, _)) in block.columns.iter().enumerate() { th scope="col" class=(cell(place)) { (title) } } }
                }
                tbody {
                    @for row in &block.rows {
                        tr { @for (place, text) in row.iter().enumerate() { td class=(cell(place)) { (text) } } }
                    }
                }
            }
            @for note in &block.notes { p { (note) } }
        }
    }
}

const STYLE: &str = "
:root { --paper:#fff; --ink:#1b1f24; --faint:#5b6470; --line:#d5dae0; }
@media screen and (prefers-color-scheme: dark) { :root { --paper:#14181d; --ink:#e8ebee; --faint:#a3adb8; --line:#3a424c; } }
* { box-sizing:border-box; }
body { margin:0 auto; padding:1.5rem; max-width:60rem; background:var(--paper); color:var(--ink);
  font:15px/1.45 system-ui, sans-serif; }
h1 { margin:0 0 .6rem; font-size:1.7rem; overflow-wrap:anywhere; }
h2 { margin:1.6rem 0 .4rem; font-size:1.15rem; border-bottom:1px solid var(--line); padding-bottom:.2rem; }
dl { margin:0; } dl div { display:flex; gap:.8rem; } dt { flex:0 0 5rem; color:var(--faint); }
dd { margin:0; overflow-wrap:anywhere; }
table { border-collapse:collapse; width:100%; font-size:.88rem; font-variant-numeric:tabular-nums; }
th, td { padding:.2rem .4rem; border-bottom:1px solid var(--line); vertical-align:top; }
th { color:var(--faint); font-weight:600; vertical-align:bottom; }
.number { text-align:right; white-space:nowrap; } th.number { white-space:normal; }
.words { text-align:left; overflow-wrap:break-word; }
section p, footer { color:var(--faint); font-size:.85rem; } footer { margin-top:1.6rem; }
/* On paper it is one leaf, both sides: letters that can be read at a bench, narrow tables two beside each other, wide ones
   across. */
@media print { @page { size:A4; margin:8mm; } body { padding:0; max-width:none; columns:2; column-gap:5mm;
    font-size:8pt; line-height:1.2; }
  h1 { font-size:11pt; margin:0 0 1mm; } h2 { font-size:9pt; margin:1.6mm 0 .3mm; padding:0; break-after:avoid; }
  dl { display:flex; flex-wrap:wrap; column-gap:5mm; } dl div { gap:1.5mm; } dt { flex:none; }
  header, dl, .wide, footer { column-span:all; } table { font-size:7.6pt; } th, td { padding:.1mm .7mm; }
  section p, footer { font-size:7pt; margin:.3mm 0; } tr { break-inside:avoid; } }
";
