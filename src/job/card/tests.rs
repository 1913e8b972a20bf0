//! What is said of cards and read back, which card is nearest, and the count between them.

use super::*;
use crate::catalogue::Role;
use crate::job::{Card, CardCompared, CardMade, JobEvent, Lab};
use crate::units::{Decimal, DecimalSign, Notation, Stamp};
use palette::color_difference::Ciede2000 as _;
use proptest::prelude::*;
use rstest::rstest;

fn lab(l: i64, a: i64, b: i64) -> Measured {
    Measured { l: Decimal::new(l, 1), a: Decimal::new(a, 1), b: Decimal::new(b, 1) }
}

/// A card of the pearl with its readings at each angle: L*a*b* of the car and of the card in tenths.
fn card(number: u32, coats: u32, readings: &[(i16, Measured, Measured)]) -> Card {
    let measured =
        readings.iter().map(|&(angle, car, card)| (Stamp(1), AtAngle { angle, car, card })).collect();
    Card {
        made: CardMade::of(number, Role::Pearl, coats),
        at: Stamp(0),
        seen: Vec::new(),
        sights: Vec::new(),
        measured,
    }
}

/// The same on the grey axis: by angle the L* of the card, where the car has 50.
fn grey(number: u32, coats: u32, readings: &[(i16, i64)]) -> Card {
    let readings: Vec<_> =
        readings.iter().map(|&(angle, l)| (angle, lab(500, 0, 0), lab(l * 10, 0, 0))).collect();
    card(number, coats, &readings)
}

/// A card that was looked at.
fn looked(number: u32, coats: u32, sights: &[(View, Light, &str)]) -> Card {
    let sights = sights.iter().map(|&(view, light, is)| (Stamp(1), Sight::parse(view, light, is).unwrap()));
    Card { sights: sights.collect(), ..card(number, coats, &[]) }
}

fn words(cards: &[Card]) -> Vec<String> {
    comparison(cards).words(Notation::METRIC)
}

fn de(hundredths: i64) -> Decimal {
    Decimal::new(hundredths, 2)
}

/// By hand, where the line crosses the car at two fifths of the way: two coats and four make 2.8, for which there is no
/// card, three and four 3.4, which is card 1's.
#[rstest]
#[case((2, 4), 28, Some(3))]
#[case((3, 4), 34, None)]
#[case((0, 4), 16, Some(2))]
#[case((1, 2), 14, None)]
fn a_whole_count_lies_between_cards_more_than_a_coat_apart(
    #[case] coats: (u32, u32),
    #[case] tenths: u32,
    #[case] whole: Option<u32>,
) {
    let cards = [grey(1, coats.0, &[(45, 52)]), grey(2, coats.1, &[(45, 47)])];
    let count = comparison(&cards).count.unwrap();
    assert_eq!((count.tenths, count.coats_between()), (tenths, whole));
}

/// By hand. On the grey axis ΔE00 = ΔL/S with S = 1 + 0.015·m²/√(20 + m²) and m = (L₁ + L₂)/2 - 50 (Sharma, Wu and
/// Dalal 2005). The car has L* 50 at both angles. At 15° two coats are 4 above it and three are right: x = 4·(1 - t) above
/// between them. At 110° two are right and three are 6 above: x = 6·t. ΔE00 is the same function of x at both, and rises
/// with it, so that the worst is least where 4·(1 - t) = 6·t: t = 0.4, x = 2.4, m = 1.2, S = 1 + 0.015·1.44/√21.44 =
/// 1.004665, ΔE00 = 2.3889. The average of both angles would be least with two coats, which are 4 off at 15°.
#[test]
fn the_count_between_two_cards_is_where_the_worst_angle_is_least() {
    let cards = [grey(1, 2, &[(15, 54), (110, 50)]), grey(2, 3, &[(15, 50), (110, 56)])];
    let count = comparison(&cards).count.unwrap();
    assert_eq!((count.tenths, count.cards, count.coats), (24, (1, 2), (2, 3)));
    assert_eq!((count.worst.de, count.card()), (de(239), None));
    assert_eq!((count.is_fewest, count.is_most), (false, false));
    // With one angle it is where the line crosses the car: 52 and 47 have 50 at two fifths of the way.
    let cards = [grey(1, 2, &[(45, 52)]), grey(2, 3, &[(45, 47)])];
    let count = comparison(&cards).count.unwrap();
    assert_eq!((count.tenths, count.worst), (24, Difference { angle: 45, de: de(0) }));
    assert_eq!(
        words(&cards),
        [
            "By measure card 1 (2 coats) is nearest: ΔE00 1.99 at 45°, its worst angle.",
            "Between 2 and 3 coats, about 2.4, which is no promise: spray 2, look, and put coat 3 on thinner if it wants \
             more. Reckoned in a straight line between cards 1 and 2 (ΔE00 0.00 at 45°, its worst angle).",
        ]
    );
    let comma = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
    assert!(
        comparison(&cards).words(comma)[1].contains("about 2,4")
            && comparison(&cards).words(comma)[0].contains("1,99")
    );
}

/// Card 1 is right at 15° and 4 off at 110°: 2 on average, and as bad as 4. Card 2 is 3 off at both: 3 on average, and no
/// worse than that. An average would choose card 1.
#[test]
fn angles_are_never_averaged() {
    let cards = [grey(1, 1, &[(15, 50), (110, 54)]), grey(2, 2, &[(15, 53), (110, 53)])];
    let compared = comparison(&cards);
    let average = |card: &Compared| card.differences.iter().map(|at| at.de).sum::<Decimal>();
    assert!(average(&compared.cards[0]) < average(&compared.cards[1]));
    assert!(compared.cards[0].worst.unwrap().de > compared.cards[1].worst.unwrap().de);
    assert_eq!(compared.measured.unwrap().best, [2]);
    assert_eq!(compared.cards[0].worst.unwrap().angle, 110);
    // Of several that are as bad the one nearest to the gloss is named.
    assert_eq!(compared.cards[1].worst.unwrap().angle, 15);
}

#[test]
fn what_cannot_be_reckoned_is_said() {
    assert_eq!(words(&[card(1, 2, &[])]), Vec::<String>::new());
    assert!(comparison(&[card(1, 2, &[])]).is_empty());
    // One count, on one card or on two.
    let one = words(&[grey(1, 2, &[(45, 52)]), grey(2, 2, &[(45, 52)])]);
    assert_eq!(
        one,
        [
            "By measure cards 1 and 2 are equally near: ΔE00 1.99 at the worst angle of each.",
            "No count of coats is reckoned between the cards: only cards with 2 coats were measured."
        ]
    );
    // One that was not measured at every angle cannot be held against the others.
    let lacking =
        [grey(1, 1, &[(45, 50)]), grey(2, 2, &[(15, 53), (45, 51)]), grey(3, 3, &[(15, 50), (45, 51)])];
    let compared = comparison(&lacking);
    assert_eq!(compared.cards[0].lacks, [15]);
    let by = compared.measured.as_ref().unwrap();
    assert_eq!((by.best.as_slice(), by.left_out.as_slice()), (&[3][..], &[1][..]));
    assert_eq!(compared.count.as_ref().unwrap().cards, (2, 3));
    assert!(compared.words(Notation::METRIC).contains(
        &"Card 1 was not measured at 15° and is left out: measure every card at every angle.".to_owned()
    ));
    let none = words(&[grey(1, 1, &[(45, 50)]), grey(2, 2, &[(15, 53)])]);
    assert_eq!(none[0], "No card was measured at every angle: by measure they cannot be told apart.");
    assert!(none[3].ends_with("no card was measured at every angle."), "{none:?}");
    // Cards that differ in more than their coats.
    let mut unlike = [grey(1, 2, &[(45, 52)]), grey(2, 3, &[(45, 47)])];
    unlike[0].made.over = Some("grey G3".into());
    unlike[1].made.over = Some("white G1".into());
    assert_eq!(comparison(&unlike).count, Err(NoCount::Unlike));
    unlike[1].made.over = Some(" Grey g3".into());
    assert_eq!(comparison(&unlike).count.unwrap().tenths, 24);
    for (card, tip) in unlike.iter_mut().zip(["1.3 mm", "1.4 mm"]) {
        card.made.gun = Some(Gun { tip: Some(tip.into()), ..Gun::default() });
    }
    assert_eq!(comparison(&unlike).count, Err(NoCount::Unlike));
    // What one says and the other does not is no difference.
    unlike[1].made.gun = Some(Gun { fan: Some("open".into()), ..Gun::default() });
    assert!(comparison(&unlike).count.is_ok());
    // The nearest card has no neighbour of its kind: no count is better than a worse one.
    let mut apart = [grey(1, 1, &[(45, 60)]), grey(2, 2, &[(45, 57)]), grey(3, 3, &[(45, 51)])];
    for (card, over) in apart.iter_mut().zip(["G1", "G1", "G3"]) {
        card.made.over = Some(over.into());
    }
    assert_eq!(comparison(&apart).count, Err(NoCount::Unlike));
}

#[test]
fn a_count_at_the_edge_says_so() {
    let most = words(&[grey(1, 2, &[(45, 60)]), grey(2, 3, &[(45, 55)])]);
    assert!(
        most[1].starts_with("About 3 coats, as on card 2:")
            && most[1].ends_with("more may come nearer still: spray a card with 4."),
        "{most:?}"
    );
    let fewest = words(&[grey(1, 2, &[(45, 55)]), grey(2, 3, &[(45, 60)])]);
    assert!(fewest[1].ends_with("fewer may come nearer still: spray a card with 1."), "{fewest:?}");
    let first = words(&[grey(1, 1, &[(45, 55)]), grey(2, 2, &[(45, 60)])]);
    assert!(first[1].ends_with("its worst angle)."), "{first:?}");
    // Cards more than a coat apart: a whole count of which there is no card.
    let wide = words(&[grey(1, 1, &[(45, 52)]), grey(2, 4, &[(45, 46)])]);
    assert!(
        wide[1]
            .contains("Between 1 and 4 coats, about 2, which is no promise: spray a card with 2, and look.")
            && wide[1].ends_with("one between them tells more."),
        "{wide:?}"
    );
    // What an old book may hold is taken in: a count that nobody sprays is not reckoned with.
    assert_eq!(
        comparison(&[grey(1, 1, &[(45, 52)]), grey(2, u32::MAX, &[(45, 46)])]).count,
        Err(NoCount::OneCount(1))
    );
}

/// A card of the ground coat alone is the lower end of a count: 46 and 51 have the car's 50 at four fifths of the way.
#[test]
fn a_card_without_a_coat_is_there_to_compare_with() {
    let gun = |tip: &str| Some(Gun { tip: Some(tip.into()), ..Gun::default() });
    let mut cards = [grey(1, 0, &[(45, 46)]), grey(2, 1, &[(45, 51)]), grey(3, 2, &[(45, 56)])];
    // With which gun the ground coat was sprayed is no matter.
    (cards[0].made.gun, cards[1].made.gun) = (gun("1.4 mm"), gun("1.2 mm"));
    let count = comparison(&cards).count.unwrap();
    assert_eq!((count.tenths, count.cards, count.coats), (8, (1, 2), (0, 1)));
    let said = words(&cards);
    assert!(
        said[1].starts_with("Between 0 and 1 coats, about 0.8, which is no promise: spray 1 thinner than on the cards, and look."),
        "{said:?}"
    );
    // Between cards with coats it is a matter.
    cards[2].made.gun = gun("1.4 mm");
    cards[0].measured.clear();
    assert_eq!(comparison(&cards).count, Err(NoCount::Unlike));
    // Where no coat comes nearest, that is said, and nobody is told to spray fewer.
    let none = words(&[grey(1, 0, &[(45, 55)]), grey(2, 1, &[(45, 60)])]);
    assert!(none[1].starts_with("No coat at all comes nearest, as on card 1 (ΔE00 4."), "{none:?}");
    assert!(none[1].contains("not to be chosen"), "{none:?}");
    // One more than none is the least that can be chosen.
    let one = words(&[grey(1, 0, &[(45, 60)]), grey(2, 1, &[(45, 55)])]);
    assert!(
        one[1].contains("About 1 coat, as on card 2:") && one[1].ends_with("spray a card with 2."),
        "{one:?}"
    );
}

#[test]
fn what_was_measured_or_seen_last_counts() {
    let mut one = grey(1, 2, &[(45, 60), (45, 51)]);
    one.sights =
        ["lighter", "match"].map(|is| (Stamp(1), Sight::parse(View::Face, Light::Sun, is).unwrap())).to_vec();
    let compared = comparison(&[one]);
    assert_eq!(compared.cards[0].differences.len(), 1);
    assert_eq!(compared.cards[0].worst, Some(Difference { angle: 45, de: de(100) }));
    assert_eq!((compared.cards[0].matches(), &compared.cards[0].worst_sight), (1, &None));
}

#[test]
fn by_eye_the_card_that_matches_most_often_is_nearest() {
    let (face, side, sun, shade) = (View::Face, View::SideTone, Light::Sun, Light::Shade);
    let one = looked(
        1,
        2,
        &[(face, sun, "match"), (side, sun, "much lighter"), (side, shade, "a little lighter, coarser")],
    );
    let two = looked(2, 3, &[(face, sun, "match"), (side, sun, "match"), (side, shade, "a little darker")]);
    let three = looked(3, 4, &[(face, sun, "darker")]);
    assert_eq!(
        words(&[one.clone(), two, three.clone()]),
        [
            "By eye card 2 (3 coats) matches most often: in 2 of 3 views; worst: side tone, shade: a little darker.",
            "Card 3 was not looked at in all of these views."
        ]
    );
    // The worst of a card is where its strongest word is, then where there are more.
    assert_eq!(comparison(std::slice::from_ref(&one)).cards[0].worst_sight.as_ref().unwrap().light, sun);
    let tie = looked(2, 3, &[(face, sun, "darker"), (side, sun, "match"), (side, shade, "a little darker")]);
    assert_eq!(
        words(&[one, tie]),
        [
            "By eye cards 1 and 2 match equally often: in 1 of 3 views.",
            "Worst of card 1: side tone, sun: much lighter.",
            "Worst of card 2: face, sun: darker.",
        ]
    );
    assert_eq!(words(std::slice::from_ref(&three)), ["By eye no card matches in any view."]);
    // Where eye and instrument differ it is said.
    let mut measured = [grey(1, 2, &[(45, 50)]), grey(2, 3, &[(45, 53)])];
    measured[1].sights = looked(2, 3, &[(face, sun, "match")]).sights;
    assert!(words(&measured).last().unwrap().starts_with("Instrument and eye do not agree"));
    measured[0].sights = looked(1, 2, &[(face, sun, "match")]).sights;
    assert!(words(&measured).last().unwrap().starts_with("By eye cards 1 and 2"));
}

#[rstest]
#[case("match", Ok("match"))]
#[case(" A match ", Ok("match"))]
#[case("slightly lighter,much coarser", Ok("a little lighter, much coarser"))]
#[case("Redder, greyer", Ok("redder, greyer"))]
#[case("", Err("'' is not known"))]
#[case("pinker", Err("'pinker' is not known: one of match, lighter"))]
#[case("match, lighter", Err("stands alone"))]
#[case("a little match", Err("stands alone"))]
#[case("lighter, much darker", Err("cannot be lighter and darker"))]
#[case("finer, coarser", Err("cannot be coarser and finer"))]
#[case("lighter, a little lighter", Err("lighter is said twice"))]
fn what_was_seen_is_read_in_the_trade_s_own_words(#[case] text: &str, #[case] expected: Result<&str, &str>) {
    match (Sight::parse(View::SideTone, Light::Booth, text), expected) {
        (Ok(sight), Ok(words)) => {
            assert_eq!(sight.words(), format!("side tone, booth light: {words}"));
            let again = serde_json::from_str::<Sight>(&serde_json::to_string(&sight).unwrap()).unwrap();
            assert_eq!(again, sight);
        }
        (Err(problem), Err(says)) => assert!(problem.contains(says), "{problem}"),
        (found, _) => panic!("{found:?}"),
    }
}

#[rstest]
#[case(
    "tip=1.3 mm, pressure=2 bar, fan=open, distance=15 cm",
    Ok("tip 1.3 mm, pressure 2 bar, fan open, distance 15 cm")
)]
#[case("Tip = 1,3 mm,fan=three quarters, and a bit", Ok("tip 1,3 mm, fan three quarters, and a bit"))]
#[case("1.3", Err("'1.3': one of tip="))]
#[case("needle=1.3", Err("'needle': one of tip="))]
#[case("tip=", Err("nothing is said"))]
#[case("tip=1, tip=2", Err("tip is said twice"))]
fn a_gun_is_set_up_in_the_painter_s_own_words(#[case] text: &str, #[case] expected: Result<&str, &str>) {
    match (Gun::parse(text), expected) {
        (Ok(gun), Ok(words)) => assert_eq!(gun.words(), words),
        (Err(problem), Err(says)) => assert!(problem.contains(says), "{problem}"),
        (found, _) => panic!("{found:?}"),
    }
}

#[rstest]
#[case("45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6", Ok((45, "61.2", "4.6")))]
#[case("-15°: card 60.9 -1.2 4,60 car 61,2 −1,3 4.5", Ok((-15, "61.2", "4.60")))]
#[case("45 car 61.2 -1.3 4.5 card 60.9 -1.2 4.6", Err("has no angle"))]
#[case("45.5: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6", Err("'45.5' is no angle"))]
#[case("200: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6", Err("an angle of 200° cannot be"))]
#[case("45: car 61.2 -1.3 card 60.9 -1.2 4.6", Err("not two samples of three numbers"))]
#[case("45: car 61.2 -1.3 4.5 car 60.9 -1.2 4.6", Err("are not car and card"))]
#[case("45: car NaN -1.3 4.5 card 60.9 -1.2 4.6", Err("'NaN' is not a number"))]
#[case("45: car 6e1 -1.3 4.5 card 60.9 -1.2 4.6", Err("'6e1' is not a number"))]
#[case("45: car 612 -1.3 4.5 card 60.9 -1.2 4.6", Err("L* 612 cannot be"))]
#[case("45: car 61.2 -1.3 4.5 card 60.9 -1.2 460", Err("b* 460 cannot be"))]
fn readings_are_read_as_they_are_typed(
    #[case] text: &str,
    #[case] expected: Result<(i16, &str, &str), &str>,
) {
    match (AtAngle::parse(text), expected) {
        (Ok(at), Ok((angle, l, b))) => {
            assert_eq!(
                (at.angle, at.car.l.to_string().as_str(), at.card.b.to_string().as_str()),
                (angle, l, b)
            );
            assert_eq!(at.car.lab(), Lab { l: 61.2, a: -1.3, b: 4.5 });
        }
        (Err(problem), Err(says)) => assert!(problem.contains(says), "{problem}"),
        (found, _) => panic!("{found:?}"),
    }
}

#[test]
fn a_file_holds_several_cards_at_once() {
    let text = "\u{feff}sample;angle;L;a;b;who\ncar;15;61,2;-1,3;4,5;x\ncar;45°;50;0;0\ncar;110;30;0;0\n\n\
                2;15;60,9;-1,2;4,6\nCard 1;15;62;0;0\n1;45;51;0;0\n";
    let table = read_table(text.as_bytes()).unwrap();
    let cards: Vec<_> = table.cards.iter().map(|card| (card.card, card.line, card.measured.len())).collect();
    assert_eq!(cards, [(1, 7, 2), (2, 6, 1)]);
    assert_eq!(table.unused, [110]);
    let both = AtAngle { angle: 15, car: lab(612, -13, 45), card: lab(609, -12, 46) };
    assert_eq!(table.cards[1].measured, [both]);
    let wrong = |text: &str| -> Vec<String> {
        read_table(text.as_bytes()).unwrap_err().iter().map(ToString::to_string).collect()
    };
    assert_eq!(
        wrong(
            "sample,angle,L,a,b\ncar,45,50,0,0\nvan,45,50,0,0\n1,4x,50,0,0\n1,45,5o,0,0\n1,45,50,NaN,0\n1,45,50,0,900\n1,45,612,0,0\n1,45,50\n"
        ),
        [
            "line 3, column sample: 'van' is neither car nor the number of a card",
            "line 4, column angle: '4x' is no angle: whole degrees from the gloss were expected, as 45",
            "line 5, column L: '5o' is not a number: write digits with a decimal point, like 12.5",
            "line 6, column a: 'NaN' is not a number: write digits with a decimal point, like 12.5",
            "line 7, column b: b* 900 cannot be: the strongest colours are below 150",
            "line 8, column L: L* 612 cannot be: 0 is black and 100 is white",
            "line 9, column a: a number was expected, but nothing is there",
        ]
    );
    assert_eq!(
        wrong("sample,angle,L,a,b\ncar,45,50,0,0\ncar,45,51,0,0\n2,15,50,0,0\n"),
        [
            "line 3: the car at 45° stands in line 2 already",
            "line 4: the car was not measured at 15°: there is nothing to hold card 2 against"
        ]
    );
    assert!(wrong("sample,angle,L,a\ncar,45,50,0\n")[0].starts_with("there is no column 'b'"));
    assert!(wrong("sample,angle,L,a,b\ncar,45,50,0,0\n")[0].starts_with("no card was measured"));
    assert!(wrong("")[0].contains("no rows"));
    assert!(read_table(&[0xff, 0xfe, 0]).is_err());
}

/// As the book keeps them; and as it kept them before there was more to say.
#[test]
fn what_an_older_book_says_of_cards_is_read() {
    let read = |body: &str| serde_json::from_str::<JobEvent>(body).unwrap();
    assert_eq!(
        read(r#"{"kind":"job/card-made","card":1,"layer":"pearl","coats":2,"note":"over G3"}"#),
        JobEvent::CardMade(CardMade { note: Some("over G3".into()), ..CardMade::of(1, Role::Pearl, 2) })
    );
    assert_eq!(
        read(r#"{"kind":"job/card-compared","card":1,"seen":"too light"}"#),
        JobEvent::CardCompared(CardCompared::seen(1, "too light"))
    );
    let gun = Gun { tip: Some(" 1.3 mm\u{7} ".into()), fan: Some(" ".into()), ..Gun::default() };
    let made = CardMade { over: Some("G3".into()), gun: Some(gun), ..CardMade::of(1, Role::Pearl, 2) };
    let compared = CardCompared {
        sights: vec![Sight::parse(View::SideTone, Light::Sun, "a little lighter, coarser").unwrap()],
        measured: vec![AtAngle::parse("45: car 61.20 -1.3 4.5 card 60.9 -1.2 4.6").unwrap()],
        ..CardCompared::of(1)
    };
    for (event, body) in [
        (
            JobEvent::CardMade(made).cleaned(),
            r#"{"kind":"job/card-made","card":1,"layer":"pearl","coats":2,"over":"G3","gun":{"tip":"1.3 mm"}}"#,
        ),
        (
            JobEvent::CardCompared(compared),
            r#"{"kind":"job/card-compared","card":1,"sights":[{"view":"side-tone","light":"sun","is":[{"what":"lighter","how":"a-little"},{"what":"coarser"}]}],"measured":[{"angle":45,"car":{"L":"61.20","a":"-1.3","b":"4.5"},"card":{"L":"60.9","a":"-1.2","b":"4.6"}}]}"#,
        ),
    ] {
        assert_eq!(serde_json::to_string(&event).unwrap(), body);
        assert_eq!(read(body), event);
    }
    let empty = CardMade { gun: Some(Gun::default()), ..CardMade::of(1, Role::Pearl, 2) };
    assert_eq!(JobEvent::CardMade(empty).cleaned(), JobEvent::CardMade(CardMade::of(1, Role::Pearl, 2)));
}

/// Two to five cards of different counts, all measured at the same angles, the car anew for each.
fn measured_cards() -> impl Strategy<Value = Vec<Card>> {
    let colour = || (0_i64..1200, -600_i64..600, -600_i64..600).prop_map(|(l, a, b)| lab(l, a, b));
    let near = |one: Measured, by: (i64, i64, i64)| Measured {
        l: one.l + Decimal::new(by.0, 1),
        a: one.a + Decimal::new(by.1, 1),
        b: one.b + Decimal::new(by.2, 1),
    };
    let small = || (-40_i64..40, -40_i64..40, -40_i64..40);
    let angles = prop::sample::subsequence(vec![-15_i16, 15, 25, 45, 75, 110], 1..=5);
    let counts = prop::sample::subsequence(vec![1_u32, 2, 3, 4, 6], 2..=5);
    (angles, counts).prop_flat_map(move |(angles, counts)| {
        let readings = prop::collection::vec((colour(), small(), small()), angles.len() * counts.len());
        let cars = prop::collection::vec(colour(), angles.len());
        (readings, cars, any::<bool>()).prop_map(move |(readings, cars, is_far)| {
            let cards = counts.iter().zip(1_u32..).zip(readings.chunks(angles.len()));
            cards
                .map(|((coats, number), readings)| {
                    let at: Vec<_> = angles
                        .iter()
                        .zip(&cars)
                        .zip(readings)
                        .map(|((angle, car), (far, little, again))| {
                            let card = if is_far { *far } else { near(*car, *little) };
                            let car = if is_far {
                                *car
                            } else {
                                near(*car, (again.0 / 10, again.1 / 10, again.2 / 10))
                            };
                            (*angle, car, card)
                        })
                        .collect();
                    card(number, *coats, &at)
                })
                .collect()
        })
    })
}

/// ΔE00 by another library.
fn other(one: [f64; 3], two: [f64; 3]) -> f64 {
    let lab = |[l, a, b]: [f64; 3]| palette::Lab::<palette::white_point::D65, f64>::new(l, a, b);
    lab(one).difference(lab(two))
}

/// The rule read plainly: every tenth of a coat between neighbours, its worst angle, and the least of those.
fn least_worst(cards: &[Card]) -> f64 {
    let numbers =
        |lab: Measured| [lab.l, lab.a, lab.b].map(|number| number.to_string().parse::<f64>().unwrap());
    let between = |one: [f64; 3], two: [f64; 3], t: f64| [0, 1, 2].map(|k| one[k] + t * (two[k] - one[k]));
    let mut least = f64::MAX;
    for pair in cards.windows(2) {
        let (below, above) = (&pair[0], &pair[1]);
        let steps = 10 * (above.made.coats - below.made.coats);
        for step in 0..=steps {
            let t = f64::from(step) / f64::from(steps);
            let at = below.measured.iter().zip(&above.measured).map(|((_, one), (_, two))| {
                let car = between(numbers(one.car), numbers(two.car), t);
                other(car, between(numbers(one.card), numbers(two.card), t))
            });
            least = least.min(at.fold(0.0, f64::max));
        }
    }
    least
}

proptest! {
    /// The count that is reckoned is never expected to be further off than either of the cards it lies between, nor than
    /// the best of all; and it is as good as a plain reading of the rule finds with another library's ΔE00.
    #[test]
    fn no_card_comes_nearer_than_the_count_between(cards in measured_cards()) {
        let compared = comparison(&cards);
        let count = compared.count.unwrap();
        let of = |number: u32| compared.cards.iter().find(|card| card.card == number).unwrap();
        for number in [count.cards.0, count.cards.1] {
            prop_assert!(count.worst.de <= of(number).worst.unwrap().de);
        }
        prop_assert!((count.coats.0 * 10..=count.coats.1 * 10).contains(&count.tenths));
        let best = compared.measured.unwrap();
        prop_assert!(count.worst.de <= best.worst.unwrap());
        let shown: f64 = count.worst.de.to_string().parse().unwrap();
        let expected = least_worst(&cards);
        prop_assert!((shown - expected).abs() < 0.0051 + 2e-5 * expected, "{shown} and not {expected}");
        // Each card's worst is the greatest of its angles, and the best card's is the least of those.
        for card in &compared.cards {
            let greatest = card.differences.iter().map(|at| at.de).max();
            prop_assert_eq!(card.worst.map(|worst| worst.de), greatest);
            prop_assert!(best.worst.unwrap() <= greatest.unwrap());
            prop_assert_eq!(best.best.contains(&card.card), greatest == best.worst);
        }
    }

    /// In whatever order the cards come.
    #[test]
    fn the_order_of_the_cards_does_not_matter(cards in measured_cards()) {
        let mut turned = cards.clone();
        turned.reverse();
        let (one, two) = (comparison(&cards), comparison(&turned));
        prop_assert_eq!(one.count.unwrap().worst.de, two.count.unwrap().worst.de);
    }

    #[test]
    fn no_text_is_a_panic(text in ".{0,60}", bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        let _ = (AtAngle::parse(&text), Gun::parse(&text), Sight::parse(View::Face, Light::Sun, &text));
        let _ = (read_table(text.as_bytes()), read_table(&bytes));
    }
}

/// What is typed at the screen is a reading or words of one's own, and a reading that is none is refused.
#[test]
fn a_typed_line_is_readings_or_words() {
    let text = "45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6";
    let read = AtAngle::parse_line(text).unwrap().unwrap();
    assert_eq!(read, [AtAngle::parse(text).unwrap()]);
    let two =
        AtAngle::parse_line("15°: car 80 0 0 card 79 0 0; 45: card 60 0 0 car 61 0 0").unwrap().unwrap();
    assert_eq!(two.iter().map(|at| at.angle).collect::<Vec<_>>(), [15, 45]);
    for wrong in [
        "45: car 61.2 -1.3 4.5 card 60.9 -1.2",
        "car 61 -1 4 card 60 -1 4",
        "45: car dark",
        "45: car x 1 1 card 1 1 1",
    ] {
        assert!(AtAngle::parse_line(wrong).unwrap().is_err(), "{wrong}");
    }
    for words in [
        "a little darker",
        "card 2 is darker than the car",
        "face sun: match",
        "45: dark",
        "at 3 m like the car",
    ] {
        assert!(AtAngle::parse_line(words).is_none(), "{words}");
    }
}
