//! The screens of what comes after a mix.

use super::fixture::{g, ml};
use super::states::Shop;
use super::{AmountView, BenchView, EmptyingView, ListOf, UnfinishedRow, UnfinishedView, View, fixture};
use crate::barcode::Day;
use crate::book::figures::MixHead;
use crate::book::{Flows, Ids, MixTotals};
use crate::catalogue::TonerCode;
use crate::stock::Leftover;
use crate::tui::keys::{Action, Context};
use crate::units::{Division, Money, Stamp};

pub(super) fn cup_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let session = fixture::finished();
    let row = UnfinishedRow {
        number: 412,
        name: "Gannet White",
        layer: "ground coat",
        volume: ml("350"),
        in_cup: session.holds(),
        why: "done",
        when: "today 14:05",
    };
    let rows = [row, UnfinishedRow { number: 409, name: "Ptarmigan", when: "yesterday", ..row }];
    let actions = [Action::Accept, Action::Up, Action::Down, Action::Colours, Action::Back];
    let list = UnfinishedView {
        of: ListOf::Cups,
        rows: &rows,
        selected: 0,
        preview: Some(&session),
        link_words: "steady",
        chrome: shop.chrome(Context::Cups, &actions),
    };
    see("cups", &View::Unfinished(list));
    let keys = [
        Action::Accept,
        Action::ThrowAway,
        Action::AllSprayed,
        Action::Ready,
        Action::TypeWeight,
        Action::ForJob,
        Action::Back,
    ];
    let back = EmptyingView {
        session: &session,
        number: 412,
        when: "today 14:05",
        left: Some(g("92.4")),
        is_typed: false,
        steady: true,
        doubt: None,
        ready: None,
        pot_life: None,
        job: Some("26-118 tailgate"),
        division: Division::TENTH,
        link_words: "steady",
        chrome: shop.chrome(Context::Emptying, &keys),
    };
    see("emptying", &View::Emptying(back));
    see("emptying-thinned", &View::Emptying(EmptyingView { ready: Some(g("531.0")), ..back }));
    let more = EmptyingView { left: Some(g("531.0")), job: None, ..back };
    see("emptying-more-than-mixed", &View::Emptying(more));
    let none = EmptyingView { left: None, steady: false, link_words: "not there", job: None, ..back };
    see("emptying-nothing-yet", &View::Emptying(none));

    let session = fixture::begun();
    let saved = fixture::saved(&session);
    let keys = [Action::Take, Action::WithoutLeftover, Action::TypeWeight, Action::SetAside];
    let pour_in = BenchView {
        net: Some(g("61.8")),
        pour_in: Some((412, g("92.4"))),
        steady: false,
        link_words: "moving",
        ..super::states::bench(&session, &saved, shop.chrome(Context::PourIn, &keys))
    };
    see("pour-in", &View::Bench(pour_in));

    let leftover = |number, mass: &str| Leftover {
        of: MixTotals {
            mix: Ids::counted(number).mix(Stamp(0)),
            head: MixHead { number: 412, ..MixHead::default() },
            flows: Flows::default(),
            cost: Money::ZERO,
            unpriced: g("0"),
        },
        made_of: vec![(TonerCode::new("W10"), g(mass))],
        tins: Vec::new(),
        kept: None,
        use_by: Day::parse("2026-12-05"),
        is_thinned: false,
    };
    let leftovers = [leftover(1, "92.4"), leftover(2, "310.0")];
    super::states::each_amount(shop, |name, amount| {
        if name != "amount" {
            return;
        }
        let keys =
            [Action::Accept, Action::Up, Action::Down, Action::Order, Action::WithLeftover, Action::Back];
        let amount =
            AmountView { leftovers: &leftovers, chrome: shop.chrome(Context::Amount, &keys), ..amount };
        see("amount-leftover-there", &View::Amount(amount));
        see("amount-with-leftover", &View::Amount(AmountView { begins_with: Some(0), ..amount }));
    });
}
