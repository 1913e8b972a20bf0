//! What is typed and what is said where numbers are written another way than they are stored.

use super::rig::*;
use crate::mix::Event;
use crate::tui::app::{FromBook, Settings};
use crate::tui::preferences::Preferences;
use crate::units::{
    Decimal, DecimalSign, Grams, MassShown, MassUnit, Millilitres, Notation, VolumeShown, VolumeUnit,
};

const US: Notation =
    Notation { decimal: DecimalSign::Point, mass: MassShown::Ounces, volume: VolumeShown::Us };
const COMMA: Notation = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };

fn writing(notation: Notation, scale: bool) -> Rig {
    let preferences = Preferences { notation, ..Preferences::default() };
    let settings = Settings { preferences, ..settings() };
    let settings = if scale { settings } else { Settings { scale: None, ..settings } };
    let mut rig = Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() });
    if scale {
        rig.live();
    }
    rig.type_text("gannet");
    rig.key("Right");
    rig.key("Enter");
    rig
}

fn amount(rig: &mut Rig, typed: &str) {
    rig.key("Ctrl-u");
    rig.type_text(typed);
}

/// 12 US fl oz are 354.88235475 mL: NIST Handbook 44, appendix C, gives 29.57353 mL for one.
#[test]
fn a_bare_number_is_fluid_ounces_where_those_are_shown() {
    let mut rig = writing(US, true);
    rig.says("12 US fl oz");
    amount(&mut rig, "12");
    rig.says("17.122 oz for 12.00 US fl oz");
    rig.says_not(" g ");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    let Event::Started(start) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(start.volume, Millilitres::from_unit(Decimal::from(12), VolumeUnit::UsFluidOunce));
    assert_eq!(start.vessel.tare, g(CUP));
    rig.says("mix 0412 · 12.00 US fl oz");
    rig.says("oz to go");
}

#[test]
fn what_can_be_read_in_two_ways_is_refused_in_a_sentence() {
    let mut rig = writing(US, true);
    amount(&mut rig, "1,234");
    rig.says("'1,234' can be read in two");
    amount(&mut rig, "1,234 mL");
    rig.says("'1,234' can be read in two");
    let mut rig = writing(COMMA, true);
    amount(&mut rig, "1.234 L");
    rig.says("'1.234' can be read in two");
    rig.key("Enter");
    assert_eq!(rig.sent.len(), 0);
    amount(&mut rig, "1.234,5 mL");
    rig.says("comma, like 12,5");
    amount(&mut rig, "0,4 L");
    rig.says("g for 400 mL");
}

#[test]
fn a_weight_typed_by_hand_is_in_the_unit_that_is_asked_for() {
    let mut rig = writing(US, false);
    rig.key("Enter");
    rig.key("m");
    rig.says("how many ounces?");
    rig.says("as 0.44");
    rig.type_text("0.5");
    rig.key("Enter");
    let poured = rig.session().holds();
    assert_eq!(poured, Grams::from_unit(Decimal::new(5, 1), MassUnit::Ounce).to_book());
    // With its unit it is what it says.
    rig.answer("m", "100000 g");
    rig.says("oz do not fit into this cup");
}

/// The book is in grams and millilitres with a point, whatever the screen says.
#[test]
fn the_book_is_the_same_in_every_notation() {
    let bodies = |notation: Notation| {
        let mut rig = writing(notation, true);
        amount(&mut rig, "350 mL");
        rig.key("Enter");
        rig.stand(CUP, DWELL);
        rig.stand_net(rig.stop(), DWELL);
        rig.agrees_with_book();
        assert!(rig.sent.len() > 1, "{}", rig.screen());
        rig.sent.iter().map(|envelope| envelope.body.clone()).collect::<Vec<_>>()
    };
    let metric = bodies(Notation::METRIC);
    assert_eq!(bodies(US), metric);
    assert_eq!(bodies(COMMA), metric);
    assert!(metric.iter().all(|body| !body.contains("oz")), "{metric:?}");
}

/// The last volume is proposed again in what it can be typed in without becoming another.
#[test]
fn a_mix_taken_up_proposes_its_volume_again() {
    for (notation, typed, proposed) in
        [(US, "12", "12 US fl oz"), (US, "350 mL", "350 mL"), (COMMA, "355,5 mL", "355,5 mL")]
    {
        let mut rig = writing(notation, true);
        amount(&mut rig, typed);
        rig.key("Enter");
        rig.stand(CUP, DWELL);
        let bench = rig.app.bench().expect("a mix");
        let last = crate::tui::last::Last::of(bench, notation);
        assert_eq!(last.typed, proposed);
    }
}

/// A formula is opened with the person's sign, and that alone is no change.
#[test]
fn a_formula_is_opened_with_the_persons_sign() {
    let preferences = Preferences { notation: COMMA, ..Preferences::default() };
    let mut rig = Rig::opened(Settings { preferences, ..settings() }, FromBook::default());
    rig.live();
    rig.type_text("gannet");
    rig.key("F5");
    rig.key("Enter");
    let point = |line: &str| {
        let letters: Vec<char> = line.chars().collect();
        letters
            .windows(3)
            .any(|three| three[1] == '.' && three[0].is_ascii_digit() && three[2].is_ascii_digit())
    };
    let screen = rig.screen();
    assert!(screen.contains(" %"), "{screen}");
    assert!(!screen.lines().any(point), "{screen}");
    rig.key("F10");
    assert!(rig.works.is_empty(), "{:?}", rig.works);
}

/// With a comma, in ounces and US measures: neither a point between digits nor grams nor millilitres.
#[track_caller]
fn has_nothing_left(rig: &Rig) {
    let screen = rig.screen();
    for line in screen.lines() {
        // The name that the shop gave its weight, and an example of what can be typed.
        let line = line.replace("invented 500 g", "").replace("or 350 mL", "");
        let letters: Vec<char> = line.chars().collect();
        let point =
            |three: &[char]| three[0].is_ascii_digit() && three[1] == '.' && three[2].is_ascii_digit();
        let mut words = line.split(|c: char| !c.is_alphanumeric());
        let unit = words.any(|word| ["g", "mL", "grams"].contains(&word));
        assert!(!letters.windows(3).any(point) && !unit, "{line}\n{screen}");
    }
}

#[test]
fn what_is_said_at_the_bench_has_nothing_left_of_the_other_units() {
    let mut rig = writing(Notation { decimal: DecimalSign::Comma, ..US }, true);
    has_nothing_left(&rig);
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    has_nothing_left(&rig);
    for _ in 0..2 {
        rig.stand_net(rig.stop(), DWELL);
        has_nothing_left(&rig);
    }
    // Which pour, what it was, and what follows.
    rig.key("b");
    rig.says("which pour was it?");
    has_nothing_left(&rig);
    rig.key("Down");
    rig.key("Enter");
    rig.says("oz: what was it?");
    rig.type_text("b15 24-007");
    rig.says("oz over");
    has_nothing_left(&rig);
    rig.key("Enter");
    has_nothing_left(&rig);
    // Start again, which asks first.
    let again = rig.app.bench().unwrap().ways().iter().position(|way| way.way == crate::mix::Way::Restart);
    rig.key(&(again.unwrap() + 1).to_string());
    rig.says("away and start again?");
    rig.says("of paint");
    has_nothing_left(&rig);
    rig.key("Esc");
    // The mix is taken up with less in the cup than the book says.
    let preferences = rig.app.settings.preferences.clone();
    let holds = rig.session().holds();
    let mut rig = rig.reopened(None);
    rig.app.settings.preferences = preferences;
    has_nothing_left(&rig);
    rig.key("Enter");
    rig.says("by the book it holds");
    has_nothing_left(&rig);
    rig.stand_net(holds - g("5"), DWELL);
    rig.says("less than the book says");
    has_nothing_left(&rig);
}

#[test]
fn a_check_of_the_scale_is_said_in_ounces() {
    let preferences = Preferences { notation: US, ..Preferences::default() };
    let settings = Settings { preferences, ..settings() };
    let mut rig = Rig::opened_with(crate::catalogue::Catalogue::demo(), settings, FromBook::default());
    rig.live();
    rig.key("F2");
    rig.says("division 0.0035 oz, weighs up to 218.699 oz");
    rig.key("k");
    rig.stand("0.0", DWELL);
    // 500 g are 17.637 oz: NIST Handbook 44, appendix C, has 28.349523125 g for one.
    rig.says("now put 'invented 500 g' (17.637 oz, M1)");
    rig.stand("500.1", DWELL);
    rig.says("17.641 oz");
    rig.says("+0.0035 oz with 'invented 500 g', ±0.0035 oz allowed, by operator");
    // What it sent stands beside that as it was sent.
    rig.says("500.1 g");
}
