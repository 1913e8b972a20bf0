//! A CSV file (RFC 4180, with what spreadsheets make of it) as rows of cells: separator guessed, byte-order mark and
//! blank lines left out, control characters taken out.

use crate::units::{cell, clean};

/// The rows of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// What stands between two cells.
    pub separator: char,
    /// The first row.
    pub header: Vec<String>,
    /// The others.
    pub rows: Vec<SheetRow>,
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetRow {
    /// Its line in the file, from 1.
    pub line: u64,
    /// Its cells; not always as many as the header has.
    pub cells: Vec<String>,
}

/// The separators that are tried.
const SEPARATORS: [char; 3] = [';', '\t', ','];

impl Sheet {
    /// Reads the file's bytes.
    ///
    /// # Errors
    /// It is no text in UTF-8, or has no header: a sentence with what to do.
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            return Err("this file is UTF-16. Save it again as CSV with the encoding UTF-8.".to_owned());
        }
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = good.split(|byte| *byte == b'\n').count();
            format!("line {line} is not UTF-8. Save the file again as CSV with the encoding UTF-8.")
        })?;
        let text = text.trim_start_matches('\u{feff}');
        let separator = separator(text);
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(u8::try_from(separator).unwrap_or(b','))
            .from_reader(text.as_bytes());
        let (mut counted, mut line) = (0, 1);
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| format!("this cannot be read as CSV: {error}."))?;
            // The reader counts the blank lines before a record as its own.
            let begins = record.position().and_then(|at| usize::try_from(at.byte()).ok()).unwrap_or(counted);
            let after = text.get(begins..).unwrap_or_default();
            let begins = begins + (after.len() - after.trim_start_matches(['\r', '\n']).len());
            line += newlines(text.get(counted..begins).unwrap_or_default());
            counted = counted.max(begins);
            let cells: Vec<_> =
                record.iter().map(|cell| clean(cell::unguarded(cell)).trim().to_owned()).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(SheetRow { line, cells });
            }
        }
        if rows.is_empty() {
            return Err("this file has no rows. Its first row must name the columns.".to_owned());
        }
        let header = rows.remove(0).cells;
        Ok(Self { separator, header, rows })
    }
}

fn newlines(text: &str) -> u64 {
    text.bytes().map(|byte| u64::from(byte == b'\n')).sum()
}

/// The separator that stands most often in the first line that has any, outside quotes.
fn separator(text: &str) -> char {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut quoted = false;
    let mut counts = [0_usize; SEPARATORS.len()];
    for c in first.chars() {
        quoted ^= c == '"';
        if let Some(count) =
            SEPARATORS.iter().position(|s| *s == c && !quoted).and_then(|at| counts.get_mut(at))
        {
            *count += 1;
        }
    }
    let most = counts.iter().max().copied().unwrap_or(0);
    let best = SEPARATORS.iter().zip(counts).find(|(_, count)| *count == most && most > 0);
    best.map_or(',', |(separator, _)| *separator)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn rows(text: &str) -> Vec<(u64, Vec<String>)> {
        Sheet::read(text.as_bytes()).unwrap().rows.into_iter().map(|row| (row.line, row.cells)).collect()
    }

    #[rstest]
    #[case("code;parts\nA;1,5\n", ';', "1,5")]
    #[case("code\tparts\nA\t1,5\n", '\t', "1,5")]
    #[case("code,parts\nA,\"1,5\"\n", ',', "1,5")]
    #[case("\u{feff}\"code; this\",parts\r\n\r\nA,1.5\r\n", ',', "1.5")]
    fn separators_quotes_and_line_ends(#[case] text: &str, #[case] separator: char, #[case] parts: &str) {
        let sheet = Sheet::read(text.as_bytes()).unwrap();
        assert_eq!(sheet.separator, separator);
        assert_eq!(sheet.rows[0].cells, ["A", parts]);
        assert!(!sheet.header[0].contains('\u{feff}'));
    }

    #[test]
    fn lines_are_those_of_the_file() {
        let text = "a,b\n1,\"two\nlines\"\n\n3,\"say \"\"x\"\"\"\n";
        assert_eq!(
            rows(text),
            [(2, vec!["1".into(), "two lines".into()]), (5, vec!["3".into(), "say \"x\"".into()])]
        );
    }

    #[test]
    fn what_is_no_table_is_said() {
        for (bytes, says) in [
            (&b""[..], "no rows"),
            (b"\n\n", "no rows"),
            (b"a,b\n\xfc,1\n", "line 2 is not UTF-8"),
            (b"\xff\xfea\0", "UTF-16"),
        ] {
            let why = Sheet::read(bytes).unwrap_err();
            assert!(why.contains(says), "{why}");
        }
    }

    proptest! {
        #[test]
        fn no_bytes_are_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            if let Ok(sheet) = Sheet::read(&bytes) {
                let all = sheet.rows.iter().flat_map(|row| &row.cells).chain(&sheet.header);
                prop_assert!(all.flat_map(|cell| cell.chars()).all(|c| !crate::units::is_unprintable(c)));
            }
        }
    }
}
