//! What tests of several floors share.

use std::fs;
use std::path::Path;
use std::sync::Mutex;

/// Holds a piece of a document against what the program has to say there. The piece stands between `<!-- name -->` and
/// `<!-- /name -->`; `POURBOOK_REBUILD=1` writes it anew, to be read before it is kept.
#[track_caller]
pub(crate) fn block(path: &Path, name: &str, should: &str) {
    // Two tests may write the same document.
    static ONE: Mutex<()> = Mutex::new(());
    let _one = ONE.lock();
    let text = fs::read_to_string(path).unwrap();
    let (start, end) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
    let (before, rest) =
        text.split_once(&start).unwrap_or_else(|| panic!("no {start} in {}", path.display()));
    let (is, after) = rest.split_once(&end).unwrap_or_else(|| panic!("no {end} in {}", path.display()));
    let should = format!("{}\n", should.trim_end());
    if std::env::var_os("POURBOOK_REBUILD").is_some() {
        fs::write(path, format!("{before}{start}{should}{end}{after}")).unwrap();
    } else {
        assert!(
            is == should,
            "{} between the marks '{name}' is not what the program says:\n{should}",
            path.display()
        );
    }
}
