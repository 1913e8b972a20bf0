//! The label as a PDF of one page in the fonts that every reader has, so that no font need be in it.

use super::layout::{Alphabet, HEIGHT, Item, WIDTH, lay_out};
use super::{Label, When, latin};
use pdf_writer::{Content, Finish as _, Name, Rect, Ref, Str, TextStr};

/// A label as a PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many letters the fonts do not have: a question mark stands for each, and the label says so.
    pub missing: usize,
}

const REGULAR: Name<'static> = Name(b"F1");
const BOLD: Name<'static> = Name(b"F2");

impl Label {
    /// The label as a PDF of one page of 62 by 100 millimetres. The same label gives the same bytes.
    pub fn pdf(&self, when: When<'_>) -> Pdf {
        let sheet = lay_out(self, when, Alphabet::Latin);
        let [catalog, pages, page, regular, bold, content, info] = [1, 2, 3, 4, 5, 6, 7].map(Ref::new);
        let mut pdf = pdf_writer::Pdf::new();
        pdf.catalog(catalog).pages(pages);
        pdf.pages(pages).kids([page]).count(1);
        let mut writes = pdf.page(page);
        writes.media_box(Rect::new(0.0, 0.0, WIDTH, HEIGHT));
        writes.parent(pages).contents(content);
        let mut resources = writes.resources();
        resources.fonts().pair(REGULAR, regular).pair(BOLD, bold);
        resources.finish();
        writes.finish();
        for (font, name) in [(regular, Name(b"Helvetica")), (bold, Name(b"Helvetica-Bold"))] {
            pdf.type1_font(font).base_font(name).encoding_predefined(Name(b"WinAnsiEncoding"));
        }
        let title = format!("mix {:04}", self.number);
        pdf.document_info(info).title(TextStr(&title));
        pdf.stream(content, &drawn(&sheet.items));
        Pdf { bytes: pdf.finish(), missing: sheet.missing }
    }
}

/// What is drawn on the page, whose places count from the lower left corner.
fn drawn(items: &[Item]) -> pdf_writer::Buf {
    let mut content = Content::new();
    for item in items {
        match item {
            Item::Bar { x, y, width, height } => {
                content.set_fill_gray(0.0);
                content.rect(*x, HEIGHT - y - height, *width, *height);
                content.fill_nonzero();
            }
            Item::Words { x, y, letters, text, white } => {
                content.set_fill_gray(if *white { 1.0 } else { 0.0 });
                content.begin_text();
                content.set_font(if letters.bold { BOLD } else { REGULAR }, letters.size);
                content.next_line(*x, HEIGHT - y);
                let bytes: Vec<u8> = text.chars().filter_map(latin::byte).collect();
                content.show(Str(&bytes));
                content.end_text();
            }
        }
    }
    content.finish()
}
