//! Mixes from the first cup to the last pour, by the scale and by hand.

use super::rig::{CUP, DWELL, Rig, g, moving, settings};
use crate::catalogue::Catalogue;
use crate::mix::{Event, How, Phase};
use crate::tui::app::{FromBook, Settings};
use crate::tui::message::Message;
use crate::tui::preferences::Preferences;
use crate::units::{Decimal, Division, Grams, Share};

#[test]
fn a_whole_mix_without_a_key() {
    let mut rig = Rig::new();
    rig.pick();
    rig.says("put the empty cup on the scale");
    rig.stand("0.0", DWELL);
    assert!(rig.sent.is_empty(), "an empty scale is no cup");
    rig.stand(CUP, DWELL - 1);
    assert!(rig.sent.is_empty(), "not before it has stood long enough");
    rig.stand(CUP, 1);
    let Event::Started(start) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((start.vessel.tare, start.vessel.name.as_str()), (g(CUP), "600"));
    rig.says("mix 0412");

    let lines = rig.session().recipe().lines().len();
    for pour in 1..=lines {
        let (toner, stop, written) = (rig.toner(), rig.stop(), rig.sent.len());
        rig.says(&format!("pour {pour} of {lines}"));
        rig.says(&format!("stop at {stop:.1}", stop = stop.decimal()));
        // The reading before it counts for nothing more, and a pour that goes through the stop is not there yet.
        rig.stand_net(rig.session().holds(), DWELL);
        let gross = rig.gross(stop);
        for _ in 0..DWELL {
            rig.frame(moving(&gross));
        }
        rig.stand_net(stop, DWELL - 1);
        assert_eq!(rig.sent.len(), written, "nothing is taken before it has stood long enough");
        let bells = rig.bells;
        rig.stand_net(stop, 1);
        assert_eq!(rig.sent.len(), written + 1);
        assert!(rig.bells > bells, "it can be heard");
        let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
        assert_eq!((poured.toner.as_str(), poured.after, poured.how), (&*toner, stop, How::Scale));
        rig.stand_net(stop, 3 * DWELL);
        assert_eq!(rig.sent.len(), written + 1, "the same reading is not taken twice");
        rig.agrees_with_book();
    }
    assert_eq!(rig.phase(), Phase::Complete);
    rig.says("everything is in, and right: Enter ends the mix");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::Finished);
    rig.says("the mix is done and in the book");
    rig.key("Enter");
    assert!(rig.app.bench().is_none() && rig.app.waiting.is_empty());
    rig.says("16 colours");
}

#[test]
fn with_hands_free_off_a_key_takes() {
    let mut rig = Rig::begun();
    rig.key("h");
    rig.says("hands-free is off");
    let stop = rig.stop();
    rig.stand_net(stop, 3 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started"], "nothing is taken by itself");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    rig.key("Enter");
    assert_eq!(rig.sent.len(), 2, "and not twice");
    rig.says("nothing was poured");

    // A pour in three goes: each is booked, and only the last is right.
    let (toner, stop) = (rig.toner(), rig.stop());
    let holds = rig.session().holds();
    for part in [g("10.0"), g("20.0"), stop - holds] {
        rig.stand_net(holds + part, DWELL);
        assert_eq!(rig.toner(), toner);
        rig.key("Enter");
    }
    assert_eq!(rig.kinds()[2..], ["mix/poured"; 3]);
    assert_ne!(rig.toner(), toner);
    assert_eq!(rig.session().holds(), stop);
    rig.agrees_with_book();
}

#[test]
fn a_key_takes_nothing_that_moves() {
    let mut rig = Rig::begun();
    let gross = rig.gross(rig.stop());
    rig.frame(moving(&gross));
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("there is no steady weight to take");
}

#[test]
fn a_short_pour_is_never_taken_by_itself() {
    let mut rig = Rig::begun();
    let short = rig.stop() - g("2.0");
    rig.stand_net(short, 5 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("2.0");
}

#[test]
fn a_cup_that_is_not_the_one_on_file_waits_for_a_key() {
    let mut rig = Rig::new();
    rig.pick();
    rig.stand("150.0", 2 * DWELL);
    assert!(rig.sent.is_empty(), "a full cup is not the empty one");
    rig.key("Enter");
    let Event::Started(start) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(start.vessel.tare, g("150.0"), "but a person may say so");
}

#[test]
fn without_a_scale_every_weight_is_typed() {
    let mut rig = Rig::without_scale();
    rig.pick();
    assert_eq!(rig.kinds(), ["mix/started"], "there is no cup to wait for");
    let mut pours = 0;
    while rig.phase() == Phase::Weighing {
        rig.key("Enter");
        rig.says("how many grams?");
        let missing = rig.stop() - rig.session().holds();
        rig.type_text(&missing.decimal().to_string().replace('.', ","));
        rig.key("Enter");
        let Event::Poured(poured) = rig.last() else { panic!("{}", rig.screen()) };
        assert_eq!((poured.after - poured.before, poured.how), (missing, How::Typed));
        pours += 1;
        assert!(pours < 10);
    }
    assert_eq!((rig.phase(), pours), (Phase::Complete, 6));
    rig.key("Enter");
    assert_eq!(rig.last(), Event::Finished);
    rig.agrees_with_book();
}

#[test]
fn what_is_no_weight_stays_in_the_prompt() {
    let mut rig = Rig::without_scale();
    rig.pick();
    for wrong in ["229,,8", "0", "abc", "-3", ""] {
        rig.answer("m", wrong);
        assert_eq!(rig.kinds(), ["mix/started"], "{wrong:?}");
        rig.says(format!("how many grams?  {wrong}").trim_end());
        assert!(rig.app.prompt.as_ref().is_some_and(|prompt| prompt.error.is_some()), "{wrong:?}");
        rig.key("Esc");
    }
    assert_eq!(rig.session().holds(), Grams::ZERO);
}

#[test]
fn a_slip_in_typing_is_caught_where_no_cup_takes_so_much() {
    for mut rig in [Rig::begun(), Rig::without_scale()] {
        if rig.app.bench().is_none() {
            rig.pick();
        }
        let written = rig.sent.len();
        // The decimal point was forgotten.
        rig.answer("m", "7520");
        rig.says("7520 g do not fit into this cup: look at the weight and type it again");
        rig.says("how many grams?  7520");
        rig.key("Esc");
        rig.answer("w", "K05");
        rig.key("Esc");
        rig.answer("w", "K05 7520");
        assert_eq!(rig.sent.len(), written);
        rig.says("7520 g do not fit into this cup");
    }
}

#[test]
fn a_mix_names_the_version_it_is_weighed_from_and_has_it_kept() {
    let mut rig = Rig::begun();
    let recipe = rig.session().recipe();
    let colour = rig.app.known.colour(recipe.colour.as_str()).unwrap();
    let source = colour.source.clone().unwrap();
    assert_eq!(rig.session().start().version.as_deref(), Some(source.version.as_str()));
    assert_eq!(rig.versions, [source]);
    // That it was not kept is said, and the mix goes on.
    rig.send(Message::VersionNotKept("The mix goes on, but its version was not kept.".to_owned()));
    rig.says("its version was not kept");
    let stop = rig.stop();
    rig.stand_net(stop, 3 * DWELL);
    assert!(matches!(rig.last(), Event::Poured(_)));
    rig.agrees_with_book();
}

/// What counts as right is the shop's to say, where a toner's own sheet does not.
#[test]
fn the_tolerance_that_is_set_decides_what_is_over() {
    let over_by_three_percent = |tolerance: Option<Share>| {
        let preferences = Preferences { tolerance, ..Preferences::default() };
        let settings = Settings { preferences, ..settings() };
        let mut shop = Catalogue { scale: None, ..Catalogue::demo() };
        shop.toners.iter_mut().for_each(|toner| toner.tolerance = None);
        let mut rig = Rig::opened_with(shop, settings, FromBook { next_number: 412, ..FromBook::default() });
        rig.live();
        rig.pick();
        rig.stand(CUP, DWELL);
        rig.stand_net(rig.stop(), DWELL);
        let (before, stop) = (rig.session().holds(), rig.stop());
        let three = Division::TENTH.round((stop - before).times(Decimal::new(3, 2)));
        rig.stand_net(stop + three, DWELL);
        assert_eq!(rig.kinds().len(), 3, "{}", rig.screen());
        matches!(rig.phase(), Phase::Over(_))
    };
    assert!(over_by_three_percent(None));
    assert!(over_by_three_percent(Some(Share::from_percent(Decimal::TWO))));
    assert!(!over_by_three_percent(Some(Share::from_percent(Decimal::new(5, 0)))));
}
