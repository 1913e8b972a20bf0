//! The toners that went over and what was done about it, on a page of their own: what is typed to find one, in which
//! order they stand, and the marked one.

use crate::book::Mark;
use crate::report::overs::{Corrections, Over};
use crate::tui::screens::{GIVEN_UP, PUT_RIGHT};
use tui_input::{Input, InputRequest};

/// By what the toners are sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum OverSort {
    /// How often they went over.
    #[default]
    Often,
    /// How often of all their pours.
    Share,
    /// By how much on the average.
    Mean,
    /// By how much at worst.
    Worst,
    /// Their codes.
    Code,
}

impl OverSort {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Often => "most often first",
            Self::Share => "largest share first",
            Self::Mean => "furthest on average first",
            Self::Worst => "furthest at worst first",
            Self::Code => "by code",
        }
    }

    /// The next one.
    const fn next(self) -> Self {
        match self {
            Self::Often => Self::Share,
            Self::Share => Self::Mean,
            Self::Mean => Self::Worst,
            Self::Worst => Self::Code,
            Self::Code => Self::Often,
        }
    }
}

/// The page.
#[derive(Debug, Default)]
pub(super) struct OversPage {
    /// What was typed.
    pub(super) query: Input,
    /// By what the toners are sorted.
    pub(super) sort: OverSort,
    /// Which of the rows is marked.
    pub(super) selected: usize,
}

impl OversPage {
    /// The rows that have all the words that were typed: the toners that went over, sorted, and at the end what was put right
    /// and what was given up for it, if anything was.
    pub(super) fn rows(&self, overs: &[Over], done: &Corrections) -> Vec<Mark> {
        let typed = self.query.value().to_lowercase();
        let has = |said: &str| typed.split_whitespace().all(|word| said.to_lowercase().contains(word));
        let went = |over: &&Over| over.over > 0 && has(&format!("{} {}", over.toner, over.name));
        let mut toners: Vec<&Over> = overs.iter().filter(went).collect();
        // As often of as many: `a of b` is more than `c of d` where `a × d` is more than `c × b`.
        let times = |one: &Over, other: &Over| u64::from(one.over).saturating_mul(u64::from(other.pours));
        match self.sort {
            // As the book's figures come.
            OverSort::Often => {}
            OverSort::Share => toners.sort_by(|one, other| times(other, one).cmp(&times(one, other))),
            OverSort::Mean => toners.sort_by_key(|over| std::cmp::Reverse(over.mean())),
            OverSort::Worst => toners.sort_by_key(|over| std::cmp::Reverse(over.worst)),
            OverSort::Code => toners.sort_by(|one, other| one.toner.cmp(&other.toner)),
        }
        let toners = toners.into_iter().map(|over| Mark::Over(over.toner.clone()));
        let put_right = (done.count > 0 && has(PUT_RIGHT)).then_some(Mark::PutRight);
        let given_up = (done.given_up > 0 && has(GIVEN_UP)).then_some(Mark::GivenUp);
        toners.chain(put_right).chain(given_up).collect()
    }

    /// The next way to sort; the mark goes to the top.
    pub(super) fn sort_on(&mut self) {
        self.sort = self.sort.next();
        self.selected = 0;
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest) {
        if self.query.handle(request).is_some_and(|change| change.value) {
            self.selected = 0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::TonerCode;
    use crate::units::{Decimal, Grams};

    fn over(toner: &str, name: &str, [pours, over, by, worst]: [u32; 4]) -> Over {
        let grams = |grams: u32| Grams::new(Decimal::from(grams));
        Over {
            toner: TonerCode::new(toner),
            name: name.to_owned(),
            pours,
            over,
            by: grams(by),
            worst: grams(worst),
        }
    }

    fn rows(page: &OversPage) -> Vec<String> {
        let overs = [
            over("K05", "carbon black", [12, 3, 6, 3]),
            over("W10", "titanium white", [8, 2, 18, 10]),
            over("M82", "pearl coat binder", [3, 1, 8, 8]),
            over("B15", "phthalo blue", [6, 2, 2, 1]),
            over("P51", "fine white pearl", [6, 0, 0, 0]),
        ];
        let name = |mark: Mark| match mark {
            Mark::Over(toner) => toner.as_str().to_owned(),
            Mark::PutRight => "put right".to_owned(),
            Mark::GivenUp => "given up".to_owned(),
        };
        let done = Corrections { count: 2, given_up: 1, ..Corrections::default() };
        page.rows(&overs, &done).into_iter().map(name).collect()
    }

    /// By hand: 3 of 12, 2 of 8, 1 of 3 and 2 of 6; on average by 2, 9, 8 and 1 g. Equal ones stay as they were.
    #[test]
    fn toners_are_sorted_and_found() {
        let mut page = OversPage::default();
        let mut seen = Vec::new();
        for _ in 0..6 {
            seen.push(rows(&page));
            page.selected = 3;
            page.sort_on();
            assert_eq!(page.selected, 0);
        }
        let [right, last] = ["put right", "given up"];
        assert_eq!(
            seen,
            [
                ["K05", "W10", "M82", "B15", right, last],
                ["M82", "B15", "K05", "W10", right, last],
                ["W10", "M82", "K05", "B15", right, last],
                ["W10", "M82", "K05", "B15", right, last],
                ["B15", "K05", "M82", "W10", right, last],
                ["K05", "W10", "M82", "B15", right, last],
            ]
        );
        let found = |words: &str| rows(&OversPage { query: Input::from(words), ..OversPage::default() });
        assert_eq!(found("TITAN"), ["W10"]);
        assert_eq!(found("pearl"), ["M82"]);
        assert_eq!(found("right"), [right]);
        assert_eq!(found("given"), [last]);
        assert_eq!(found("p51"), [""; 0]);
        assert!(OversPage::default().rows(&[], &Corrections::default()).is_empty());
    }
}
