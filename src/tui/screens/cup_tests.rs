//! The screens of what comes after a mix.

use super::fixture::{g, ml};
use super::tests::Shop;
use super::{EmptyingView, ListOf, UnfinishedRow, UnfinishedView, View, fixture};
use crate::tui::keys::{Action, Context};
use crate::units::Division;

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
}
