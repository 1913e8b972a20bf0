//! Whatever is pressed and whatever the scale says: no panic, nothing from nowhere, and the book tells the same
//! mix as the screen.

use super::rig::{Book, Rig, moving, settings, stable, virtual_settings};
use crate::scale::{Condition, Frame, LinkState, Mode};
use crate::tui::app::FromBook;
use crate::units::{Decimal, Grams};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Does {
    Key(&'static str),
    Answer(&'static str, &'static str),
    /// The cup stands with so many tenths of a gram beside the reading to stop at.
    NearStop(i64, usize),
    /// The cup stands with so many tenths of a gram beside what it holds by the book.
    NearBook(i64, usize),
    /// So many tenths of a gram stand on the pan, cup or not.
    Gross(i64, usize),
    Moves(i64),
    Spoilt(usize),
    Link(bool),
    Tick(u64),
    Answers(Book),
    Reopen,
}

const KEYS: [&str; 48] = [
    "Ctrl-E",
    "Ctrl-X",
    "Ctrl-K",
    "Ctrl-R",
    "Ctrl-T",
    "Ctrl-L",
    "y",
    "e",
    "k",
    "F7",
    "F8",
    "F9",
    "Enter",
    "Enter",
    "Enter",
    "Enter",
    "Esc",
    "n",
    "w",
    "m",
    "h",
    "o",
    "j",
    "r",
    "d",
    "x",
    "z",
    "1",
    "2",
    "3",
    "4",
    "5",
    "6",
    "Up",
    "Down",
    "Left",
    "Right",
    "Tab",
    "Backspace",
    "s",
    "u",
    "c",
    "t",
    "F1",
    "Ctrl-O",
    "Ctrl-S",
    "Ctrl-U",
    "?",
];

const ANSWERS: [(&str, &str); 17] = [
    ("n", "M80 24-001"),
    ("Enter", "250"),
    ("Enter", "K05"),
    ("n", "24-001"),
    ("n", ""),
    ("w", "K05"),
    ("w", "G62"),
    ("w", "R20 3,5"),
    ("w", "nonsense"),
    ("m", "12,5"),
    ("m", "0"),
    ("m", "99999999"),
    ("j", "B15"),
    ("j", "M80"),
    ("j", "G62"),
    ("x", ""),
    ("x", "spilt"),
];

fn does() -> impl Strategy<Value = Does> {
    let readings = prop_oneof![Just(1_usize), Just(3), Just(15), Just(20)];
    prop_oneof![
        6 => (0..KEYS.len()).prop_map(|key| Does::Key(KEYS[key])),
        3 => (0..ANSWERS.len()).prop_map(|answer| Does::Answer(ANSWERS[answer].0, ANSWERS[answer].1)),
        6 => (-3_i64..3, readings.clone()).prop_map(|(off, count)| Does::NearStop(off, count)),
        2 => (-200_i64..300, readings.clone()).prop_map(|(off, count)| Does::NearStop(off, count)),
        3 => (-300_i64..100, readings.clone()).prop_map(|(off, count)| Does::NearBook(off, count)),
        1 => (-50_i64..8_000, readings.clone()).prop_map(|(gross, count)| Does::Gross(gross, count)),
        1 => readings.prop_map(|count| Does::Gross(218, count)),
        1 => (0_i64..5_000).prop_map(Does::Moves),
        1 => (0_usize..4).prop_map(Does::Spoilt),
        1 => any::<bool>().prop_map(Does::Link),
        1 => (0_u64..3_000).prop_map(Does::Tick),
        1 => prop_oneof![Just(Book::Saves), Just(Book::Withholds), Just(Book::Fails)].prop_map(Does::Answers),
        1 => Just(Does::Reopen),
    ]
}

fn tenths(tenths: i64) -> Grams {
    Grams::new(Decimal::new(tenths, 1))
}

fn shown(gross: i64) -> String {
    Decimal::new(gross, 1).to_string()
}

fn act(rig: &mut Rig, does: &Does) {
    match does {
        Does::Key(key) => rig.key(key),
        Does::Answer(key, text) => rig.answer(key, text),
        Does::NearStop(off, count) => {
            let session = rig.app.bench().map(crate::tui::bench::Bench::session);
            let mark = session.and_then(|session| session.shown_stop().or(session.draw_to()));
            match mark {
                Some(mark) => rig.stand_net(mark + tenths(*off), *count),
                None => rig.stand("21.8", *count),
            }
        }
        Does::NearBook(off, count) => match rig.app.bench().map(|bench| bench.session().holds()) {
            Some(holds) => rig.stand_net(holds + tenths(*off), *count),
            None => rig.stand("21.8", *count),
        },
        Does::Gross(gross, count) => rig.stand(&shown(*gross), *count),
        Does::Moves(gross) => rig.frame(moving(&shown(*gross))),
        Does::Spoilt(which) => {
            let frame = stable("97.0");
            rig.frame(match which {
                0 => Frame { condition: Condition::Over, value: None, ..frame },
                1 => Frame { mode: Mode::Net, ..frame },
                2 => Frame { unit: None, ..frame },
                _ => Frame { high_resolution: true, ..frame },
            });
        }
        Does::Link(live) => {
            let (state, why) = if *live { (LinkState::Live, "") } else { (LinkState::Lost, "unplugged") };
            rig.state(state, why);
        }
        Does::Tick(after) => rig.tick(*after),
        Does::Answers(book) => rig.book = *book,
        Does::Reopen => *rig = rig.reopened(None),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn the_book_and_the_screen_tell_the_same(
        all in prop::collection::vec(does(), 1..60),
        virtual_bench: bool,
    ) {
        let settings = if virtual_bench { virtual_settings() } else { settings() };
        let mut rig = Rig::opened(settings, FromBook { next_number: 1, ..FromBook::default() });
        rig.live();
        rig.pick();
        rig.stand("21.8", 15);
        for does in &all {
            act(&mut rig, does);
            rig.agrees_with_book();
        }
        rig.screen();
    }

    #[test]
    fn without_a_scale_the_same(all in prop::collection::vec(does(), 1..40)) {
        let mut rig = Rig::without_scale();
        rig.pick();
        for does in all.iter().filter(|does| matches!(does, Does::Key(_) | Does::Answer(..) | Does::Answers(_))) {
            act(&mut rig, does);
            rig.agrees_with_book();
        }
        rig.screen();
    }

    #[test]
    fn who_may_only_look_writes_nothing(all in prop::collection::vec(does(), 1..40)) {
        let mut begun = Rig::begun();
        begun.stand_net(begun.stop(), 15);
        let mut rig = begun.reopened(Some("another program has the book"));
        let written = rig.sent.len();
        rig.key("Enter");
        for does in all.iter().filter(|does| !matches!(does, Does::Reopen)) {
            act(&mut rig, does);
            prop_assert_eq!(rig.sent.len(), written);
        }
        rig.screen();
    }
}
