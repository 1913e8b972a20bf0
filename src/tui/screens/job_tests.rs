//! The screens of the repairs.

use super::states::Shop;
use super::{CardBox, Chrome, JobRow, JobView, JobsView, LayerRow, View};
use crate::tui::keys::{Action, Context};
use crate::tui::widgets::banner::{Banner, BannerKind};
use crate::tui::widgets::prompt::Input;

const LAYERS: [LayerRow<'static>; 4] = [
    LayerRow {
        name: "ground coat",
        cells: ["310 mL", "mix 0412", "-", "2 of 2", "-", "over"],
        is_next: false,
        is_done: true,
    },
    LayerRow {
        name: "blender",
        cells: ["150 mL", "mix 0413", "41 min", "1 of 1", "-", "10 min"],
        is_next: false,
        is_done: false,
    },
    LayerRow {
        name: "pearl coat",
        cells: ["420 mL", "2 mixes", "-", "1 of 3", "2:10", "-"],
        is_next: true,
        is_done: false,
    },
    LayerRow {
        name: "clear",
        cells: ["-", "-", "-", "0 of 2", "-", "30 min"],
        is_next: false,
        is_done: false,
    },
];

pub(super) fn job_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    list_views(shop, see);
    one_views(shop, see);
}

fn list_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let keys = [
        Action::Accept,
        Action::NewJob,
        Action::Up,
        Action::Down,
        Action::ClosedJobs,
        Action::Back,
        Action::Help,
    ];
    let rows = [
        JobRow {
            name: "26-118 tailgate",
            vehicle: "grey estate, 4 years",
            colour: "PB-3140 Gannet White",
            next: "spray coat 2 of 3 of the pearl coat",
        },
        JobRow {
            name: "26-121",
            vehicle: "",
            colour: "PB-2207 Shale Drizzle",
            next: "make spray-out cards of the pearl coat, one for each count of coats",
        },
        JobRow {
            name: "26-122 van, sliding door",
            vehicle: "van",
            colour: "PB-0007",
            next: "mix the base coat",
        },
    ];
    let times =
        ["26-118 tailgate: flash-off pearl 2:10".to_owned(), "26-121: pot life ground 41 min".to_owned()];
    let chrome = Chrome { times: &times, ..shop.chrome(Context::Jobs, &keys) };
    let view = JobsView {
        rows: &rows,
        closed: false,
        reading: false,
        query: Input { text: "", cursor: 0 },
        selected: 0,
        link_words: "steady",
        chrome,
    };
    see("jobs", &View::Jobs(view));
    let none = [Action::NewJob, Action::ClosedJobs, Action::Back, Action::Help];
    let chrome = shop.chrome(Context::Jobs, &none);
    see("jobs-none", &View::Jobs(JobsView { rows: &[], chrome, ..view }));
    let query = Input { text: "qqqq", cursor: 4 };
    see("jobs-not-found", &View::Jobs(JobsView { rows: &[], query, chrome, ..view }));
    see(
        "jobs-closed-being-read",
        &View::Jobs(JobsView { rows: &[], closed: true, reading: true, chrome, ..view }),
    );
}

fn one_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let keys = [
        Action::Accept,
        Action::NotWaited,
        Action::AnotherCard,
        Action::CompareCard,
        Action::ChooseCard,
        Action::Previous,
        Action::Next,
        Action::MixLayer,
        Action::LayerDone,
        Action::Clearance,
        Action::Back,
        Action::Help,
    ];
    let words = "card 3: 3 coats of the pearl coat; over G3 and ground coat, tip 1,3 mm; face, sun: match";
    let card = |number, is_chosen| CardBox { number, coats: number, is_chosen, words };
    let cards = [card(1, false), card(2, false), card(3, true), card(4, false)];
    let times = ["flash-off pearl 2:10".to_owned(), "pot life blender 41 min".to_owned()];
    let chrome = Chrome { times: &times, ..shop.chrome(Context::Job, &keys) };
    let view = JobView {
        name: "26-118 tailgate",
        colour: "PB-3140 Gannet White, three-stage",
        about: "grey estate, 4 years; tailgate; rear wing",
        areas: "",
        layers: &LAYERS,
        sentence: "420 mL: enough nine times in ten; mixing 500, as last time, would leave 80",
        cards: &cards,
        compared: "By eye card 3 matches in most views.",
        card: 2,
        note: "coat 1 of the pearl coat: a little dry at the edge",
        caution: "",
        next: "wait for the flash-off of the pearl coat: 3 min left",
        link_words: "steady",
        chrome,
    };
    see("job", &View::Job(view));
    let areas = "ground coat 1 m2, blender 2 m2";
    see("job-areas", &View::Job(JobView { areas, ..view }));
    let over = [Banner {
        kind: BannerKind::PotLife,
        text: "26-118 tailgate: pot life of the blender over: do not spray it",
    }];
    let seen = [&[Action::Accept, Action::Seen], &keys[1..]].concat();
    let warned = Chrome { banners: &over, times: &times[..1], ..shop.chrome(Context::Job, &seen) };
    see("job-pot-life-over", &View::Job(JobView { chrome: warned, card: 0, ..view }));
    let begun = JobView {
        about: "",
        layers: &LAYERS[3..],
        sentence: "",
        cards: &[],
        compared: "",
        note: "",
        next: "mix the clear",
        chrome: shop.chrome(Context::Job, &keys[..1]),
        ..view
    };
    see("job-begun", &View::Job(begun));
    let many: Vec<CardBox<'_>> = (1..=14).map(|number| card(number, number == 13)).collect();
    see("job-many-cards", &View::Job(JobView { cards: &many, card: 12, sentence: "", note: "", ..view }));
}
