//! Cells of a table that others open: as RFC 4180 has them, and none that a spreadsheet would run.

/// The characters that make a spreadsheet run a cell, and the apostrophe that keeps it from doing so.
const GUARDED: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];

/// A text as it is exported: one that a spreadsheet would run has an apostrophe before it.
pub fn guarded(cell: &str) -> String {
    if cell.starts_with(GUARDED) { format!("'{cell}") } else { cell.to_owned() }
}

/// The same back.
pub fn unguarded(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|rest| rest.starts_with(GUARDED)).unwrap_or(cell)
}

/// A text as a cell of CSV. A number needs nothing: one of ours has neither commas nor quotes, and guarded it would be
/// a text wherever it is below nothing.
pub fn csv_text(text: &str) -> String {
    let cell = guarded(text);
    // A semicolon is what separates cells where a comma stands before decimals.
    if cell.contains([',', '"', '\r', '\n', ';']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_a_spreadsheet_would_run_it_does_not() {
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("+49", "'+49"),
            ("-1", "'-1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\tx", "'\tx"),
            ("\rx", "\"'\rx\""),
            ("=\"a\",b", "\"'=\"\"a\"\",b\""),
            ("Föhn; grey", "\"Föhn; grey\""),
            ("W10", "W10"),
            ("", ""),
        ] {
            assert_eq!(csv_text(text), cell, "{text:?}");
        }
    }

    proptest! {
        /// Any text comes back from a reader of CSV that is not ours, and none begins as a formula does.
        #[test]
        fn a_cell_is_read_back(text in ".*", formula in "[-=+@\t\r'].*") {
            for text in [text, formula] {
                let row = format!("x,{}\r\n", csv_text(&text));
                let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(row.as_bytes());
                let record = reader.records().next().unwrap().unwrap();
                prop_assert_eq!(record.len(), 2);
                prop_assert!(!record[1].starts_with(['=', '+', '-', '@', '\t', '\r']));
                prop_assert_eq!(unguarded(&record[1]), text);
            }
        }
    }
}
