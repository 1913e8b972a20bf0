//! The nearest right spelling of a word that is not one.

/// The candidate that differs from `wanted` by least, if it is near enough to have been meant: one change in
/// three characters, swaps counted as one.
///
/// Capitals, blanks, hyphens and underscores do not count, nor do a letter O for a nought and a letter I or l for a one.
/// Of several equally near the first is taken.
pub(crate) fn nearest<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = loosened(wanted);
    let length = wanted.chars().count();
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let loose = loosened(candidate);
        let other = loose.chars().count();
        let allowed = (length.max(other) / 3).max(1);
        // a difference in length alone rules most out, and keeps a huge word from costing its square
        if length == 0 || length.abs_diff(other) > allowed {
            continue;
        }
        let distance = strsim::damerau_levenshtein(&wanted, &loose);
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

fn loosened(word: &str) -> String {
    let alike = |c| match c {
        'o' => '0',
        'i' | 'l' => '1',
        c => c,
    };
    word.to_lowercase().chars().filter(|c| !matches!(c, ' ' | '-' | '_')).map(alike).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("tolerence", Some("tolerance"))]
    #[case("DENSITY", Some("density"))]
    #[case("desnity", Some("density"))]
    #[case("density_", Some("density"))]
    #[case("weight", None)]
    #[case("", None)]
    fn keys(#[case] wanted: &str, #[case] near: Option<&str>) {
        assert_eq!(nearest(wanted, ["code", "name", "density", "tolerance"]), near);
    }

    #[rstest]
    #[case("W1O", Some("W10"))]
    #[case("W-10", Some("W10"))]
    #[case("W1", Some("W10"))]
    #[case("W14", Some("W10"))]
    #[case("X99", None)]
    fn codes(#[case] wanted: &str, #[case] near: Option<&str>) {
        assert_eq!(nearest(wanted, ["K05", "W10", "W11"]), near);
    }

    #[test]
    fn a_huge_word_is_near_nothing() {
        assert_eq!(nearest(&"x".repeat(1_000_000), ["code", "name"]), None);
    }
}
