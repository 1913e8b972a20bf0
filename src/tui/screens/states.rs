//! The states of the screens, each as what is drawn of it: what the tests of the screens go through.

use super::fixture::{self, g, ml};
use super::*;
use crate::catalogue::{Catalogue, Finder, Listing};
use crate::mix::{Advice, Session, Targets, order, weighable};
use crate::tui::bench::{Answer, Cause, Question};
use crate::tui::keys::{Action, Bindings, Context};
use crate::tui::theme::Theme;
use crate::tui::widgets::banner::{Banner, BannerKind};
use crate::tui::widgets::keyline::Keys;
use crate::tui::widgets::list::{ListCell, ListRow};
use crate::tui::widgets::prompt::{Input, Prompt};
use crate::tui::widgets::record::SavedState;
use crate::units::{Division, Grams, Moment};

pub(super) const BENCH: &[Action] = &[
    Action::Take,
    Action::NextTin,
    Action::WrongToner,
    Action::TypeWeight,
    Action::HandsFree,
    Action::Ways,
    Action::SetAside,
    Action::JumpToToner,
    Action::Order,
];
const WAYS: &[Action] = &[
    Action::Accept,
    Action::Choose1,
    Action::Choose2,
    Action::Choose3,
    Action::Choose4,
    Action::Choose5,
    Action::Up,
    Action::Down,
    Action::TakenOut,
    Action::SetAside,
];

/// What a screen borrows from.
pub(super) struct Shop {
    bindings: Bindings,
    catalogue: Catalogue,
}

impl Shop {
    pub(super) fn new() -> Self {
        Self { bindings: Bindings::default(), catalogue: catalogue() }
    }

    pub(super) fn chrome<'a>(&'a self, context: Context, available: &'a [Action]) -> Chrome<'a> {
        Chrome {
            banners: &[],
            hint: None,
            times: &[],
            keys: Keys { bindings: &self.bindings, context, available },
            prompt: None,
            help: None,
        }
    }
}

/// A small invented shop of its own, so that a change of the demo's changes no picture here.
fn catalogue() -> Catalogue {
    let toner = |code: &str, name: &str, density: &str, swatch: &str| {
        format!(
            "[[toner]]\ncode = \"{code}\"\nname = \"{name}\"\nkind = \"solid\"\ndensity = \"{density}\"\n\
             price = \"40\"\nswatch = \"{swatch}\"\n"
        )
    };
    let toners = [
        toner("W10", "titanium white", "1.482", "#f2f1ec"),
        toner("K05", "carbon black", "1.021", "#161616"),
        toner("Y41", "yellow oxide", "1.604", "#c9962e"),
        toner("P51", "fine white pearl", "1.120", "#f6f4ee"),
        toner("M82", "pearl coat binder", "0.958", "#ece8dc"),
    ]
    .concat();
    let colour = |code: &str, name: &str, variant: &str, swatch: &str| {
        format!(
            "code = \"{code}\"\nname = \"{name}\"\nfinish = \"three-stage\"\nvariant = \"{variant}\"\n\
             swatch = \"{swatch}\"\n\
             [[layer]]\nrole = \"ground\"\npours = [{{ toner = \"W10\", parts = \"812.40\" }}, \
             {{ toner = \"K05\", parts = \"3.15\" }}, {{ toner = \"Y41\", parts = \"21.60\" }}]\n\
             [[layer]]\nrole = \"pearl\"\npours = [{{ toner = \"M82\", parts = \"918.20\" }}, \
             {{ toner = \"P51\", parts = \"48.60\" }}]\n"
        )
    };
    let catalogue = Catalogue::from_files(
        "",
        [
            ("toners.toml", toners),
            (
                "cups.toml",
                [("350", "14.2"), ("600", "21.8"), ("850", "27.5")]
                    .map(|(name, tare)| {
                        format!("[[cup]]\nname = \"{name}\"\nbrim = \"{name}\"\ntare = \"{tare}\"\n")
                    })
                    .concat(),
            ),
            ("colours/a.toml", colour("PB-3140", "Gannet White", "standard", "#f1efe9")),
            ("colours/b.toml", colour("PB-3141", "Ptarmigan", "standard", "#dfe3e6")),
            ("colours/c.toml", colour("PB-2207", "Shale Drizzle", "coarser", "#5b6166")),
            ("colours/d.toml", colour("PB-2207", "Shale Drizzle", "standard", "#596068")),
        ],
    );
    assert_eq!(catalogue.problems, []);
    catalogue
}

pub(super) fn bench<'a>(
    session: &'a Session,
    saved: &'a [Option<SavedState>],
    chrome: Chrome<'a>,
) -> BenchView<'a> {
    BenchView {
        session,
        mix_number: Some(412),
        net: Some(session.holds()),
        steady: true,
        creeps: false,
        doubt: None,
        note: None,
        tin_note: None,
        link_words: "steady",
        readings_per_second: Some(10),
        cup: CupPlace::On,
        held: session.holds(),
        question: None,
        proposed: None,
        saved,
        ways: &[],
        selected: 0,
        peek: false,
        hands_free: true,
        dwell: None,
        pour_in: None,
        landing: None,
        advice: None,
        ease_at: None,
        tip: None,
        chrome,
    }
}

pub(super) fn drawn(view: &View<'_>, width: u16, height: u16, theme: &Theme) -> Buffer {
    let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
    draw(view, buf.area, &mut buf, theme);
    buf
}

/// Every state of every screen, handed on one by one.
pub(super) fn each_view(mut see: impl FnMut(&'static str, &View<'_>)) {
    let shop = Shop::new();
    bench_views(&shop, &mut see);
    colour_views(&shop, &mut see);
    amount_views(&shop, &mut see);
    unfinished_views(&shop, &mut see);
    super::cup_tests::cup_views(&shop, &mut see);
    super::ready_tests::ready_views(&shop, &mut see);
    super::shelf_tests::shelf_views(&shop, &mut see);
    super::waste_tests::waste_views(&shop, &mut see);
    super::stores_tests::stores_views(&shop, &mut see);
    super::delivery_tests::delivery_views(&shop, &mut see);
    super::job_tests::job_views(&shop, &mut see);
    super::scale_tests::scale_views(&shop, &mut see);
    super::said_tests::message_views(&shop, &mut see);
    super::formula_tests::formula_views(&shop, &mut see);
    super::formula_tests::import_views(&shop, &mut see);
    super::first_run_tests::first_run_views(&mut see);
}

/// What is seen before the first pour.
fn begun_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let weighing = shop.chrome(Context::Bench, BENCH);
    let session = fixture::begun();
    let saved = fixture::saved(&session);
    let begun = bench(&session, &saved, weighing);
    see("begun", &View::Bench(BenchView { net: Some(Grams::ZERO), ..begun }));

    let mut session = fixture::begun();
    let turned = session.turn_to(3).unwrap();
    session.apply(&turned).unwrap();
    let saved = fixture::saved(&session);
    let untold = BenchView { proposed: Some("26-101"), ..bench(&session, &saved, weighing) };
    let unstirred = BenchView {
        net: Some(Grams::ZERO),
        tin_note: Some("tin 26-101: not stirred today: stir it first"),
        ..untold.clone()
    };
    see("begun-with-a-tin-to-take", &View::Bench(BenchView { net: Some(Grams::ZERO), ..untold }));
    see("begun-with-a-tin-to-mind", &View::Bench(unstirred.clone()));
    let barred = BenchView {
        proposed: None,
        tin_note: Some("no tin of B15 may be poured: 26-059 was called back"),
        ..unstirred
    };
    see("begun-without-a-tin", &View::Bench(barred));
}

fn bench_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let weighing = shop.chrome(Context::Bench, BENCH);

    begun_views(shop, see);
    let session = fixture::half_poured();
    let saved = fixture::saved(&session);
    let half = bench(&session, &saved, weighing);
    let pouring = BenchView {
        net: Some(g("319.2")),
        steady: false,
        link_words: "moving",
        landing: Some(g("346.2")),
        ..half.clone()
    };
    see("pouring", &View::Bench(pouring.clone()));
    see("pouring-at-the-virtual-bench", &View::Bench(BenchView { tip: Some(38), ..pouring.clone() }));
    let nearer = |net, landing, advice| BenchView {
        net: Some(g(net)),
        landing: Some(g(landing)),
        advice: Some(advice),
        ..pouring.clone()
    };
    let ahead = BenchView { ease_at: Some(g("331.9")), ..nearer("307.2", "314.5", Advice::PourOn) };
    see("pour-on", &View::Bench(ahead));
    see("ease-off", &View::Bench(nearer("332.4", "339.8", Advice::EaseOff)));
    see("set-it-upright", &View::Bench(nearer("341.2", "344.7", Advice::Upright)));
    let drops = nearer("343.6", "343.6", Advice::Drops);
    see(
        "begin-with-drops",
        &View::Bench(BenchView { landing: None, steady: true, link_words: "steady", ..drops }),
    );
    see("right", &View::Bench(BenchView { net: Some(g("346.8")), dwell: Some(60), ..half.clone() }));
    let creeping = BenchView {
        net: Some(g("346.8")),
        creeps: true,
        link_words: "creeping",
        dwell: Some(0),
        ..half.clone()
    };
    see("right-but-creeping", &View::Bench(creeping));
    let by_key = BenchView { net: Some(g("346.8")), hands_free: false, ..half.clone() };
    see("right-by-key", &View::Bench(by_key));
    see(
        "running-over",
        &View::Bench(BenchView {
            net: Some(g("352.4")),
            steady: false,
            link_words: "moving",
            ..half.clone()
        }),
    );
    cup_views(shop, &half, see);

    let mut saving = saved.clone();
    saving[1] = Some(SavedState::Saving);
    let hint = Chrome { hint: Some("Y41 is right. Now W10."), ..weighing };
    see("saving", &View::Bench(BenchView { saved: &saving, chrome: hint, ..half.clone() }));

    let refused = "there is no steady weight to take: The scale sends a number without a unit: set it to send \
                   the unit, or add unit=g to its address.";
    let hint = Chrome { hint: Some(refused), ..weighing };
    let refused = BenchView {
        net: None,
        steady: false,
        link_words: "no weight",
        doubt: Some(
            "The scale sends a number without a unit: set it to send the unit, or add unit=g to its address.",
        ),
        chrome: hint,
        ..half.clone()
    };
    see("refused-with-a-long-reason", &View::Bench(refused));

    let banners = [
        Banner {
            kind: BannerKind::Lost,
            text: "/dev/ttyUSB0 is gone: plug the scale in again; nothing is lost",
        },
        Banner { kind: BannerKind::NotSaved, text: "the disk is full: make room, then press Ctrl-S" },
    ];
    saving[1] = Some(SavedState::NotSaved);
    let lost = BenchView {
        net: None,
        steady: false,
        link_words: "lost",
        readings_per_second: None,
        doubt: Some("/dev/ttyUSB0 is gone: plug the scale in again; nothing is lost"),
        saved: &saving,
        chrome: Chrome { banners: &banners, ..weighing },
        ..half.clone()
    };
    see("scale-lost", &View::Bench(lost));

    let ways = session.ways_at(g("352.4"));
    let peek = BenchView { net: Some(g("352.4")), peek: true, ways: &ways, ..half.clone() };
    see("what-if", &View::Bench(peek));

    asking_views(shop, &half, see);
    super::said_tests::booked_views(shop, &half, see);
    super::said_tests::tin_views(shop, &half, see);
    see("help", &View::Bench(BenchView { chrome: Chrome { help: Some(0), ..weighing }, ..half }));

    ended_views(shop, see);
}

/// The questions that are asked while a mix is weighed.
fn asking_views(shop: &Shop, half: &BenchView<'_>, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let prompt = Prompt {
        label: "what the cup holds",
        input: Some(Input { text: "229,,8", cursor: 6 }),
        hint: "in grams, the cup's own weight taken off, as 229.8",
        error: Some("'229,,8' is not a weight: type it as 229.8"),
        choices: &[],
        selected: 0,
    };
    let typing = shop.chrome(Context::Prompt, &[Action::Accept, Action::Back]);
    see(
        "typing-a-weight",
        &View::Bench(BenchView { chrome: Chrome { prompt: Some(prompt), ..typing }, ..half.clone() }),
    );

    let rows =
        [("K05", "carbon black"), ("G33", "chrome green"), ("R20", "red oxide")].map(|(code, name)| {
            ListRow { swatch: Some(None), cells: vec![ListCell::words(code), ListCell::words(name)] }
        });
    let prompt = Prompt {
        label: "which toner was it?",
        input: Some(Input { text: "", cursor: 0 }),
        hint: "type its code or name",
        error: None,
        choices: &rows,
        selected: 1,
    };
    see(
        "wrong-toner",
        &View::Bench(BenchView { chrome: Chrome { prompt: Some(prompt), ..typing }, ..half.clone() }),
    );
}

/// The cup lifted, and back with another weight.
fn cup_views(shop: &Shop, half: &BenchView<'_>, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let off = [Action::TypeWeight, Action::NewZero, Action::NextTin, Action::HandsFree, Action::SetAside];
    let off = shop.chrome(Context::CupOff, &off);
    let half = &BenchView { held: g("319.2"), chrome: off, ..half.clone() };
    let lifted = BenchView { net: Some(g("-21.8")), ..half.clone() };
    see("cup-lifted", &View::Bench(lifted.clone()));
    let pan = CupPlace::Off { pan: Some(g("0.4")) };
    see("cup-lifted-pan-off", &View::Bench(BenchView { net: Some(g("-21.4")), cup: pan, ..lifted }));
    let back = BenchView { net: Some(g("314.9")), cup: CupPlace::Back, ..half.clone() };
    see("cup-back", &View::Bench(back.clone()));
    let actions =
        [Action::Accept, Action::Choose1, Action::Choose2, Action::Up, Action::Down, Action::SetAside];
    let back = BenchView { chrome: shop.chrome(Context::CupBack, &actions), ..back };
    let less = Question {
        off: g("-4.3"),
        held: g("319.2"),
        unbooked: Some(g("253.1")),
        cause: Cause::Lifted,
        pan_says_so: false,
        answers: vec![Answer::TakenOut, Answer::ZeroMoved],
        marked: 0,
        since: Moment(0),
    };
    see("cup-back-with-less", &View::Bench(BenchView { question: Some(&less), ..back.clone() }));
    let actions = [&actions[..3], &[Action::Choose3], &actions[3..]].concat();
    let back = BenchView { chrome: shop.chrome(Context::CupBack, &actions), ..back };
    let more = Question {
        off: g("12.6"),
        cause: Cause::Unseen,
        answers: vec![Answer::Poured, Answer::OtherToner, Answer::ZeroMoved],
        marked: 1,
        ..less
    };
    see("cup-back-with-more", &View::Bench(BenchView { question: Some(&more), ..back }));
}

/// What is seen when a pour has been taken: over, drawing off, complete.
fn ended_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let session = fixture::over();
    let saved = fixture::saved(&session);
    let ways = session.ways();
    let choosing = shop.chrome(Context::Ways, WAYS);
    let over = BenchView { ways: &ways, ..bench(&session, &saved, choosing) };
    see("over", &View::Bench(over));

    let session = fixture::fouled();
    let saved = fixture::saved(&session);
    let ways = session.ways();
    let fouled = BenchView { ways: &ways, selected: 1, ..bench(&session, &saved, choosing) };
    see("fouled", &View::Bench(fouled));

    let session = fixture::drawing();
    let saved = fixture::saved(&session);
    let chrome = shop.chrome(Context::Drawing, &[Action::Take, Action::TypeWeight, Action::SetAside]);
    let drawing = bench(&session, &saved, chrome);
    let drawing = BenchView { steady: false, link_words: "moving", ..drawing };
    see("drawing-off", &View::Bench(BenchView { net: Some(g("349.0")), ..drawing.clone() }));
    see("drawn-too-much", &View::Bench(BenchView { net: Some(g("344.1")), ..drawing }));

    let session = fixture::complete();
    let saved = fixture::saved(&session);
    let chrome = shop.chrome(Context::Complete, &[Action::Finish, Action::SetAside]);
    see("complete", &View::Bench(bench(&session, &saved, chrome)));
}

fn colour_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let actions = [Action::Accept, Action::Up, Action::Down, Action::Previous, Action::Next, Action::Back];
    let chrome = shop.chrome(Context::Colours, &actions);
    for (name, query, layer) in
        [("colours", "", 0), ("colours-found", "shale dr", 1), ("colours-none", "xyz", 0)]
    {
        let listing = Listing::of(&shop.catalogue.colours);
        let found = Finder::new(&listing).find(&listing, query, 100);
        let full = found.first().and_then(|found| listing.get(found.colour));
        let input = Input { text: query, cursor: query.len() };
        let tins = full.map(|entry| shop.catalogue.from_tins(&entry)).unwrap_or_default();
        let view = ColoursView {
            tins: &tins,
            toners: &shop.catalogue.toners,
            listing: &listing,
            full: full.map(|entry| &shop.catalogue.colours[entry.place]),
            reading: None,
            query: input,
            found: &found,
            recent: if query.is_empty() { &[true, false] } else { &[] },
            count: 4,
            selected: 0,
            layer,
            link_words: "steady",
            chrome,
        };
        see(name, &View::Colours(view));
    }
}

fn amount_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    each_amount(shop, |name, view| see(name, &View::Amount(view)));
}

/// The states of asking how much.
pub(super) fn each_amount(shop: &Shop, mut see: impl FnMut(&'static str, AmountView<'_>)) {
    let recipe = fixture::recipe();
    let own: Vec<usize> = (0..6).collect();
    let smallest = weighable::smallest_weight(Division::TENTH, weighable::Accuracy::default());
    let actions = [Action::Accept, Action::Up, Action::Down, Action::Order, Action::Back];
    for (name, typed) in [("amount", "1 L"), ("amount-too-little", "350 mL"), ("amount-nothing", "35 ml of")]
    {
        let volume = match typed {
            "1 L" => Some(ml("1000")),
            "350 mL" => Some(ml("350")),
            _ => None,
        };
        let order = if name == "amount-too-little" {
            order::least_risk(&recipe, g("472.5"), Division::TENTH, smallest)
        } else {
            own.clone()
        };
        let targets = volume.map(|volume| Targets::new(&recipe, volume, Division::TENTH, &order));
        let too_small = match (&targets, smallest) {
            (Some(targets), Some(smallest)) => weighable::too_small(targets, smallest),
            _ => Vec::new(),
        };
        let view = AmountView {
            recipe: &recipe,
            input: Input { text: typed, cursor: typed.len() },
            error: targets.is_none().then_some("'ml of' is no unit of volume: type it as 350 mL"),
            targets: targets.as_ref(),
            smallest,
            too_small: &too_small,
            smallest_volume: smallest.map(|smallest| weighable::smallest_volume(&recipe, smallest)),
            cups: &shop.catalogue.cups,
            cup: 1,
            least_risk: name == "amount-too-little",
            ready: None,
            notes: &[],
            job: None,
            leftovers: &[],
            begins_with: None,
            division: Division::TENTH,
            capacity: Some(g("6200")),
            link_words: "steady",
            chrome: shop.chrome(Context::Amount, &actions),
        };
        see(name, view);
    }
}

fn unfinished_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let session = fixture::half_poured();
    let row = UnfinishedRow {
        number: 412,
        name: "Gannet White",
        layer: "ground coat",
        volume: ml("350"),
        in_cup: g("66.1"),
        why: "cut off",
        when: "today 14:05",
    };
    let rows =
        [row, UnfinishedRow { number: 398, name: "Ptarmigan", why: "put aside", when: "3 March", ..row }];
    let actions = [Action::Accept, Action::Up, Action::Down, Action::Abandon, Action::Colours, Action::Back];
    let view = UnfinishedView {
        of: ListOf::Unfinished,
        rows: &rows,
        selected: 0,
        preview: Some(&session),
        link_words: "steady",
        chrome: shop.chrome(Context::Unfinished, &actions),
    };
    see("unfinished", &View::Unfinished(view));
    let chrome = shop.chrome(Context::Unfinished, &[Action::Colours, Action::Back]);
    see("unfinished-none", &View::Unfinished(UnfinishedView { rows: &[], preview: None, chrome, ..view }));
}
