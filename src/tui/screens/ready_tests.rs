//! The screens of a mix that is made ready to spray at the bench, for a job or for none.

use super::fixture::{self, g, ml};
use super::states::{BENCH, Shop, bench};
use super::{AmountView, BenchView, EmptyingView, ListOf, UnfinishedRow, UnfinishedView, View};
use crate::mix::{How, Session, Targets};
use crate::tui::keys::{Action, Context};
use crate::tui::theme::Meaning;
use crate::units::Division;

const CAUTION: &str = "isocyanates: air-fed breathing apparatus while spraying and until the booth is clear; gloves and eye protection while mixing";

/// Takes what is due to its stop, until that many pours are in.
fn poured(session: &mut Session, pours: usize) {
    while session.pours().len() < pours {
        let event = session.take(session.shown_stop().unwrap(), How::Scale).unwrap();
        session.apply(&event).unwrap();
    }
}

pub(super) fn ready_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let mut session = fixture::readied();
    poured(&mut session, 6);
    let saved = fixture::saved(&session);
    let chrome = shop.chrome(Context::Bench, BENCH);
    let due = BenchView { note: Some((CAUTION, Meaning::Doubt)), ..bench(&session, &saved, chrome) };
    see("hardener-due", &View::Bench(due));

    poured(&mut session, 7);
    let saved = fixture::saved(&session);
    let note = Some(("sprayable until 14:20, 58 min left", Meaning::Plain));
    let running = BenchView { note, ..bench(&session, &saved, chrome) };
    see("pot-life-runs", &View::Bench(running.clone()));
    let note = Some(("pot life over for 3 min (until 14:20): do not spray it any more", Meaning::Over));
    see("pot-life-over", &View::Bench(BenchView { note, ..running }));

    poured(&mut session, 8);
    let finished = session.finish().unwrap();
    session.apply(&finished).unwrap();
    let row = UnfinishedRow {
        number: 412,
        name: "Gannet White",
        layer: "ground coat",
        volume: ml("310"),
        in_cup: session.holds(),
        why: "26-118 tailgate",
        when: "58 min left",
    };
    let rows = [
        row,
        UnfinishedRow { number: 409, why: "26-117 door, left", when: "pot life over", ..row },
        UnfinishedRow { number: 398, name: "Ptarmigan", why: "done", when: "yesterday", ..row },
    ];
    let actions = [Action::Accept, Action::Up, Action::Down, Action::Colours, Action::Back];
    let cups = UnfinishedView {
        of: ListOf::Cups,
        rows: &rows,
        selected: 0,
        preview: Some(&session),
        link_words: "steady",
        chrome: shop.chrome(Context::Cups, &actions),
    };
    see("cups-of-jobs", &View::Unfinished(cups));
    // Past its pot life nothing is kept.
    let keys = [Action::ThrowAway, Action::AllSprayed, Action::TypeWeight, Action::ForJob, Action::Back];
    let back = EmptyingView {
        session: &session,
        number: 412,
        when: "today 14:05",
        left: Some(g("41.3")),
        is_typed: false,
        steady: true,
        doubt: None,
        ready: None,
        pot_life: Some("pot life over"),
        job: Some("26-118 tailgate"),
        division: Division::TENTH,
        link_words: "steady",
        chrome: shop.chrome(Context::Emptying, &keys),
    };
    see("emptying-with-hardener", &View::Emptying(back));
    see("emptying-with-hardener-more", &View::Emptying(EmptyingView { left: Some(g("900")), ..back }));
    amounts(shop, see);
}

/// Asking how much ready to spray.
fn amounts(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let recipe = fixture::readied_recipe();
    let order: Vec<usize> = (0..8).collect();
    let targets = Targets::new(&recipe, ml("310"), Division::TENTH, &order);
    let keys = [
        Action::Accept,
        Action::Up,
        Action::Down,
        Action::Order,
        Action::MakeReady,
        Action::Thinner,
        Action::OfferedAmount,
        Action::Back,
    ];
    let notes = [
        "310 mL: enough nine times in ten; mixing 400, as last time, would leave 90".to_owned(),
        "310 mL ready to spray: 221 mL colour, 22 mL hardener H60, 66 mL thinner T70; pot life 60 min from the hardener"
            .to_owned(),
        "562 mL could be weighed well, 252 mL over: F7 takes that".to_owned(),
    ];
    super::states::each_amount(shop, |name, amount| {
        if name != "amount" {
            return;
        }
        let view = AmountView {
            recipe: &recipe,
            input: crate::tui::widgets::prompt::Input { text: "310 mL", cursor: 6 },
            targets: Some(&targets),
            ready: Some("GC-2: H60, T70"),
            notes: &notes,
            job: Some("26-118 tailgate"),
            chrome: shop.chrome(Context::Amount, &keys),
            ..amount
        };
        see("amount-ready", &View::Amount(view));
        let colour = AmountView { ready: Some("nothing (GC-2 can)"), job: None, ..amount };
        let chrome = shop.chrome(Context::Amount, &keys);
        see("amount-colour-alone", &View::Amount(AmountView { chrome, ..colour }));
    });
}
