//! From the state to what is drawn: reads, decides nothing.

use super::amount_view;
use super::app::{App, Screen, Waiting};
use super::bench::{Bench, Place, Question};
use super::colours::Colours;
use super::cups::Emptying;
use super::formula_view;
use super::keys::{Action, Context};
use super::message::Now;
use super::of_use::available;
use super::on_scan::{WhyWrong, WrongTin};
use super::prompt_view::{Asked, prompt_view};
use super::saving::Saved;
use super::screens::{
    self, BenchView, Chrome, ColoursView, CupPlace, EmptyingView, ListOf, MessagesView, OpenedView,
    ScaleView, ShelfView, UnfinishedRow, UnfinishedView, View,
};
use super::shelf::ShelfPage;
use super::stores_view::{with_delivery, with_leftovers, with_stocktake};
use super::theme::{Meaning, Theme};
use super::widgets::banner::{Banner, BannerKind};
use super::widgets::keyline::Keys;
use super::widgets::list::ListRow;
use super::widgets::prompt::Input;
use super::widgets::record::SavedState;
use crate::book::Journal;
use crate::mix::{Judgement, Phase};
use crate::scale::{Mode, STEPS};
use crate::units::Grams;
use ratatui::Frame;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Draws the state.
pub fn draw(app: &App, now: Now, frame: &mut Frame<'_>, theme: &Theme) {
    let area = frame.area();
    draw_in(app, now, area, frame.buffer_mut(), theme);
}

/// Draws the state into a buffer.
pub fn draw_in(app: &App, now: Now, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let banners = Banners::of(app);
    let banners = banners.list();
    let context = app.context_below_help();
    let available = available(app, context);
    let hint = hint(app, theme);
    let times = app.ticking_words(now.stamp);
    let asked = app.prompt.as_ref().map(|prompt| Asked::of(app, prompt));
    let rows: Vec<ListRow<'_>> = asked.iter().flat_map(Asked::rows).collect();
    let chrome = Chrome {
        banners: &banners,
        hint: hint.as_deref(),
        times: &times,
        keys: Keys { bindings: &app.bindings, context, available: &available },
        prompt: app
            .prompt
            .as_ref()
            .zip(asked.as_ref())
            .map(|(prompt, asked)| prompt_view(prompt, asked, &rows)),
        help: app.help,
    };
    let mut show = |view: View<'_>| screens::draw(&view, area, buf, theme);
    if let Some(scroll) = app.messages_page {
        return show(View::Messages(MessagesView {
            messages: &app.messages,
            scroll,
            seconds_east: app.settings.seconds_east,
            link_words: app.scale.word(),
            chrome,
        }));
    }
    if let Some(page) = &app.scale_page {
        let (notes, place) = (app.scale_notes(page), app.settings.place());
        return show(View::Scale(ScaleView {
            place: &place,
            live: app.scale.live(),
            net: app.scale.mode() == Some(Mode::Net),
            steady: app.scale.weight().is_some(),
            doubt: app.scale.doubt().filter(|_| app.scale.is_live()).as_deref(),
            division: app.limits().division,
            capacity: app.settings.capacity,
            link_words: app.scale.word(),
            readings_per_second: app.scale.rate(now.moment),
            log: &app.scale_log,
            now: now.moment,
            notes: &notes,
            chrome,
        }));
    }
    match &app.screen {
        Screen::Unfinished { selected } => {
            with_list(app, ListOf::Unfinished, *selected, chrome, |view| show(View::Unfinished(view)));
        }
        Screen::Cups { selected } => {
            with_list(app, ListOf::Cups, *selected, chrome, |view| show(View::Unfinished(view)));
        }
        Screen::Waste(page) => {
            super::waste_view::with_waste(app, page, (chrome, theme), |view| show(View::Waste(view)));
        }
        Screen::Shelf(page) => with_shelf(app, page, chrome, |view| show(View::Shelf(view))),
        Screen::Stocktake(stocktake) => {
            with_stocktake(app, stocktake, chrome, |view| show(View::Stocktake(view)));
        }
        Screen::Delivery(page) => with_delivery(app, page, chrome, |view| show(View::Delivery(view))),
        Screen::Leftovers(page) => with_leftovers(app, page, chrome, |view| show(View::Leftovers(view))),
        Screen::Jobs(page) => {
            super::jobs_view::with_jobs(app, page, now, chrome, |view| show(View::Jobs(view)));
        }
        Screen::Job(page) => {
            super::jobs_view::with_job(app, *page, now, (chrome, theme), |view| show(View::Job(view)));
        }
        Screen::Emptying(cup) => with_emptying(app, cup, chrome, |view| show(View::Emptying(view))),
        Screen::Colours(colours) => with_colours(app, colours, chrome, |view| show(View::Colours(view))),
        Screen::Amount(amount) => {
            amount_view::with_amount(app, amount, (chrome, theme), |view| show(View::Amount(view)));
        }
        Screen::Formula(formula) => {
            formula_view::with_formula(app, formula, chrome, |view| show(View::Formula(view)));
        }
        Screen::Import(importing) => {
            formula_view::with_import(importing, chrome, |view| show(View::Import(view)));
        }
        Screen::Bench(bench) => {
            show(View::Bench(bench_view(app, bench, now, chrome, &Beside::of(app, bench))));
        }
    }
}

/// Hands on the view of the colours.
fn with_colours(app: &App, colours: &Colours, chrome: Chrome<'_>, see: impl FnOnce(ColoursView<'_>)) {
    let recent: Vec<bool> = colours.found.iter().map(|found| app.known.is_recent(found.colour)).collect();
    let marked = colours.found.get(colours.selected);
    let tins = colours.colour(&app.known).map(|(_, entry)| app.catalogue.from_tins(&entry));
    see(ColoursView {
        tins: tins.as_deref().unwrap_or_default(),
        toners: &app.catalogue.toners,
        listing: &app.known.listing,
        full: marked.and_then(|found| app.known.full(found.colour)),
        reading: app.known.reading,
        query: input(&colours.query),
        found: &colours.found,
        recent: &recent,
        count: app.known.count(),
        selected: colours.selected,
        layer: colours.layer,
        link_words: app.scale.word(),
        chrome,
    });
}

/// Hands on the view of the mixes that wait, or of the cups that do.
fn with_list(
    app: &App,
    of: ListOf,
    selected: usize,
    chrome: Chrome<'_>,
    see: impl FnOnce(UnfinishedView<'_>),
) {
    let entries = if of == ListOf::Cups { &app.cups } else { &app.waiting };
    // The texts must outlive the rows that borrow them.
    let times: Vec<Option<String>> = entries
        .iter()
        .map(|entry| entry.journal.as_ref().ok().and_then(|journal| app.pot_life_in_short(journal)))
        .collect();
    let rows: Vec<UnfinishedRow<'_>> = entries
        .iter()
        .zip(&times)
        .map(|(entry, time)| {
            let row = unfinished_row(entry);
            let job =
                entry.journal.as_ref().ok().and_then(|journal| journal.session().start().job.as_deref());
            // All cups are done: what for is worth more there, and how long yet more than since when.
            let why = if of == ListOf::Cups { job.unwrap_or(row.why) } else { row.why };
            UnfinishedRow { why, when: time.as_deref().unwrap_or(row.when), ..row }
        })
        .collect();
    let preview = entries.get(selected).and_then(|entry| entry.journal.as_ref().ok());
    see(UnfinishedView {
        of,
        rows: &rows,
        selected,
        preview: preview.map(Journal::session),
        link_words: app.scale.word(),
        chrome,
    });
}

/// Hands on the view of the shelf.
fn with_shelf(app: &App, page: &ShelfPage, chrome: Chrome<'_>, see: impl FnOnce(ShelfView<'_>)) {
    let shelf = app.shelf.as_ref().map(|read| read.as_ref().map_err(String::as_str));
    let known = shelf.and_then(Result::ok);
    let rows = known.map(|shelf| page.rows(shelf)).unwrap_or_default();
    let opened = page.opened.as_ref().map(|opened| OpenedView {
        toner: known.and_then(|shelf| shelf.toner(opened.toner.as_str())),
        moves: opened.moves.as_ref().map(|read| read.as_deref().map_err(String::as_str)),
        scroll: opened.scroll,
        tin: opened.tin,
        of_tin: app.only_of_tin(),
    });
    see(ShelfView {
        shelf,
        rows: &rows,
        query: input(&page.query),
        sort: page.sort.words(),
        selected: page.selected,
        opened,
        seconds_east: app.settings.seconds_east,
        link_words: app.scale.word(),
        chrome,
    });
}

/// Hands on the view of a cup that came back.
fn with_emptying(app: &App, emptying: &Emptying, chrome: Chrome<'_>, see: impl FnOnce(EmptyingView<'_>)) {
    let session = emptying.bench.session();
    let live = app.scale.live().map(|gross| gross - session.tare());
    // The empty pan of a cup that is still in the booth is no weight of it.
    let live = live.filter(|net| *net > -session.tare().times(crate::units::Decimal::new(5, 1)));
    let doubt =
        app.scale.doubt().filter(|_| emptying.typed.is_none() && app.scale.is_live() && live.is_some());
    see(EmptyingView {
        session,
        number: emptying.bench.number(),
        when: &emptying.when,
        left: emptying.typed.or(live.map(|net| net.max(Grams::ZERO))),
        is_typed: emptying.typed.is_some(),
        steady: app.scale.weight().is_some(),
        doubt: doubt.as_deref(),
        ready: emptying.ready,
        pot_life: app.pot_life_in_short(emptying.bench.journal()).as_deref(),
        job: emptying.job.as_deref(),
        division: app.limits().division,
        link_words: app.scale.word(),
        chrome,
    });
}

/// What the bench's view borrows that the state does not keep.
struct Beside {
    saved: Vec<Option<SavedState>>,
    ways: Vec<crate::mix::Choice>,
    doubt: Option<String>,
    net: Option<Grams>,
    question: Option<Question>,
    note: Option<(String, Meaning)>,
    tin_note: Option<String>,
}

impl Beside {
    fn of(app: &App, bench: &Bench) -> Self {
        let net = bench.net(&app.scale);
        let lines = bench.session().recipe().lines().len();
        let saved = (0..lines).map(|line| saved_state(app, bench, line)).collect();
        let ways = match net {
            Some(net) if bench.peek => bench.session().ways_at(net),
            _ => bench.ways().to_vec(),
        };
        let cup_off = net.is_some_and(|net| bench.session().is_without_cup(net))
            || matches!(bench.cup_place(), Place::Off(_));
        let doubt = if cup_off && net.is_some() {
            Some("the cup is off the scale: put it back".to_owned())
        } else {
            bench.other_mode(&app.scale).map(str::to_owned).or_else(|| app.scale.doubt())
        };
        let (note, tin_note) = (app.bench_note(bench), app.tin_note());
        Self { saved, ways, doubt, net, question: bench.question(), note, tin_note }
    }
}

fn saved_state(app: &App, bench: &Bench, line: usize) -> Option<SavedState> {
    if !bench.session().poured(line).is_positive() {
        return None;
    }
    Some(match bench.saved(line, |id| app.saving.state(id)) {
        Saved::Yes => SavedState::Saved,
        Saved::NotYet => SavedState::Saving,
        Saved::Failed => SavedState::NotSaved,
    })
}

fn bench_view<'a>(
    app: &'a App,
    bench: &'a Bench,
    now: Now,
    chrome: Chrome<'a>,
    beside: &'a Beside,
) -> BenchView<'a> {
    let dwell = bench.dwell(&app.scale).filter(|_| app.hands_free);
    let percent = |part: u64, whole: u64| {
        u8::try_from(part.saturating_mul(100).checked_div(whole).unwrap_or(0)).unwrap_or(100)
    };
    let tip = percent(u64::from(app.hand.tipped), u64::from(STEPS));
    let other_mode = bench.other_mode(&app.scale).is_some();
    BenchView {
        session: bench.session(),
        mix_number: Some(bench.number()),
        net: beside.net,
        steady: app.scale.weight().is_some() && !other_mode,
        creeps: app.scale.creeps() && !other_mode && !bench.is_cup_away(),
        doubt: beside.doubt.as_deref(),
        note: beside.note.as_ref().map(|(words, meaning)| (words.as_str(), *meaning)),
        tin_note: beside.tin_note.as_deref(),
        link_words: if other_mode { "no weight" } else { app.scale.word() },
        readings_per_second: app.scale.rate(now.moment),
        cup: match bench.cup_place() {
            Place::On => CupPlace::On,
            Place::Off(_) => CupPlace::Off { pan: bench.pan_is_off() },
            Place::Back(_) => CupPlace::Back,
        },
        held: bench.held(),
        question: beside.question.as_ref(),
        proposed: app.proposed_tin(),
        saved: &beside.saved,
        ways: &beside.ways,
        selected: bench.selected(),
        peek: bench.peek,
        hands_free: app.hands_free,
        dwell: dwell.map(|ms| percent(ms, app.scale.taking().dwell_ms)),
        pour_in: bench.pour_in().map(|leftover| (leftover.of.head.number, leftover.holds())),
        landing: app
            .scale
            .landing(bench.session().limits().division.grams())
            .filter(|_| !other_mode)
            .map(|gross| gross - bench.session().tare()),
        advice: bench.advice().filter(|_| !other_mode),
        ease_at: bench.ease_at().filter(|_| !other_mode),
        tip: app.settings.is_virtual_bench().then_some(tip),
        chrome,
    }
}

fn unfinished_row(entry: &Waiting) -> UnfinishedRow<'_> {
    let (name, layer, volume, in_cup, why) = match &entry.journal {
        Ok(journal) => {
            let session = journal.session();
            let recipe = session.recipe();
            let why = match session.phase() {
                Phase::Aside => "put aside",
                Phase::Finished => "done",
                _ => "cut off",
            };
            (recipe.name.as_str(), recipe.role.name(), session.start().volume, session.holds(), why)
        }
        Err(_) => ("cannot be read", "", crate::units::Millilitres::ZERO, Grams::ZERO, "damaged"),
    };
    UnfinishedRow { number: entry.number, name, layer, volume, in_cup, why, when: &entry.when }
}

pub(super) fn input(input: &tui_input::Input) -> Input<'_> {
    Input { text: input.value(), cursor: input.cursor() }
}

/// What must be known on every screen.
struct Banners {
    not_saved: Option<String>,
    lost: Option<String>,
    /// Whether the scale is not lost but only not there yet.
    beginning: bool,
    wrong_tin: Option<String>,
    pot_life: Option<String>,
    look_only: Option<String>,
    check: Option<String>,
    remarks: Option<String>,
    note: Option<String>,
}

impl Banners {
    fn of(app: &App) -> Self {
        let mistakes = app.catalogue.problems.len();
        let on_colours = app.scale_page.is_none() && matches!(app.screen, Screen::Colours(_));
        Self {
            beginning: app.scale.is_beginning(),
            not_saved: app.saving.failure().map(|why| format!("{why}. Ctrl-S tries again")),
            lost: app.lost_in_short(),
            wrong_tin: app.wrong_tin.as_ref().map(|wrong| app.wrong_tin_words(&wrong.tin, &wrong.why)),
            pot_life: app.unseen_pot_lives(),
            look_only: app.look_only.clone(),
            check: app.check_amiss().filter(|_| app.scale_page.is_none()),
            remarks: (!app.settings.remarks.is_empty() && on_colours).then(|| {
                let count = app.settings.remarks.len();
                let what = if count == 1 { "mistake" } else { "mistakes" };
                format!("{count} {what} in the settings, which hold without: F3 says which")
            }),
            note: (mistakes > 0 && on_colours).then(|| {
                let what = if mistakes == 1 { "mistake" } else { "mistakes" };
                format!("{mistakes} {what} in the shop's files: `pourbook check` shows what and where")
            }),
        }
    }

    fn list(&self) -> Vec<Banner<'_>> {
        [
            (BannerKind::NotSaved, &self.not_saved),
            (if self.beginning { BannerKind::Doubt } else { BannerKind::Lost }, &self.lost),
            (BannerKind::WrongTin, &self.wrong_tin),
            (BannerKind::PotLife, &self.pot_life),
            (BannerKind::LookOnly, &self.look_only),
            (BannerKind::Check, &self.check),
            (BannerKind::Note, &self.remarks),
            (BannerKind::Note, &self.note),
        ]
        .into_iter()
        .filter_map(|(kind, text)| Some(Banner { kind, text: text.as_deref()? }))
        .collect()
    }
}

/// What just happened, or what to do next.
fn hint(app: &App, theme: &Theme) -> Option<String> {
    if let Some(wrong) = &app.wrong_tin {
        return Some(wrong_tin_hint(app, wrong, theme));
    }
    if let Some(notice) = &app.notice {
        return Some(notice.text.clone());
    }
    if app.scale_page.is_some() {
        return None;
    }
    let key = |action| app.bindings.shown(app.context(), action, theme.symbols).unwrap_or_default();
    match &app.screen {
        Screen::Amount(amount) if amount.awaiting_cup => {
            Some(format!("put the empty cup on the scale; {} takes what stands there", key(Action::Accept)))
        }
        Screen::Shelf(page) if page.opened.is_none() && app.prompt.is_none() => stir_hint(app, &key),
        Screen::Bench(bench) if app.look_only.is_none() && app.prompt.is_none() => {
            bench_hint(app, bench, &key)
        }
        _ => None,
    }
}

/// That the rack waits to be stirred.
fn stir_hint(app: &App, key: &dyn Fn(Action) -> String) -> Option<String> {
    let (_, unstirred) = app.to_stir();
    let tins = match unstirred {
        0 => return None,
        1 => "1 open tin was".to_owned(),
        many => format!("{many} open tins were"),
    };
    (app.look_only.is_none())
        .then(|| format!("{tins} not stirred today: {} once the rack is stirred", key(Action::StirRack)))
}

/// What to do about a tin that is not to be poured as it is.
fn wrong_tin_hint(app: &App, wrong: &WrongTin, theme: &Theme) -> String {
    let key = |action| app.bindings.shown(Context::WrongTin, action, theme.symbols).unwrap_or_default();
    let poured = app.has_begun_to_pour();
    match wrong.why {
        WhyWrong::Expired | WhyWrong::Said(_) => {
            format!("take another tin, or {} if it is to be poured all the same", key(Action::Accept))
        }
        _ if poured => format!("something is poured already: {} if it was this", key(Action::WrongToner)),
        WhyWrong::Other(_) => {
            format!("scan the right tin, or {} turns to this toner", key(Action::JumpToToner))
        }
        WhyWrong::Foreign => "put it back and scan the right tin".to_owned(),
    }
}

fn bench_hint(app: &App, bench: &Bench, key: &dyn Fn(Action) -> String) -> Option<String> {
    let session = bench.session();
    let (division, notation) = (session.limits().division, app.notation());
    let net = bench.net(&app.scale);
    if app.taking_up {
        let holds = notation.mass(session.holds(), division);
        let Some(net) = net.filter(|net| !session.is_without_cup(*net)) else {
            return Some(format!("put the cup back on the scale: by the book it holds {holds}"));
        };
        let off = net - session.holds();
        let (go_on, zero) = (key(Action::Accept), key(Action::NewZero));
        return Some(if off.abs() <= division.grams() {
            format!("the cup holds {holds} as in the book; it goes on by itself")
        } else if let Some(leftover) = bench.pour_in().filter(|_| off.is_positive()) {
            format!(
                "{} in the cup count as the leftover of mix {:04}: {go_on}, then take it",
                notation.mass(off, division),
                leftover.of.head.number
            )
        } else if off.is_positive() {
            format!(
                "{} more than the book says: {go_on} if poured, {zero} if the zero moved",
                notation.mass(off, division)
            )
        } else {
            format!(
                "{} less than the book says: {zero} if the zero moved, {go_on} to go on",
                notation.mass(off.abs(), division)
            )
        });
    }
    match session.phase() {
        Phase::Over(_) | Phase::Fouled if bench.is_cup_away() && bench.question().is_none() => {
            let off = net.map(|net| net - bench.held()).filter(|off| *off > division.grams());
            Some(match off {
                Some(off) => {
                    let off = notation.mass(off, division);
                    format!("the cup is {off} heavier: choose here first, then it is asked why")
                }
                None => "the cup is off the scale".to_owned(),
            })
        }
        Phase::Complete => Some(format!("everything is in, and right: {} ends the mix", key(Action::Finish))),
        Phase::Finished => {
            Some(format!("the mix is done and in the book: {} for the next colour", key(Action::Finish)))
        }
        Phase::Weighing if bench.is_cup_away() => None,
        Phase::Weighing => match net.and_then(|net| session.judge(net)) {
            Some(Judgement::Gone(by)) if net.is_some_and(|net| !session.is_without_cup(net)) => {
                Some(format!(
                    "{} less than the book says: put it back, or {} if taken out",
                    notation.mass(by, division),
                    key(Action::TakenOut)
                ))
            }
            // Zeroed in the middle of a mix, the scale would have the cup itself poured.
            _ if bench.stands_at_zero(&app.scale) => Some(format!(
                "drips may be lost at zero: give up ({}), zero without the cup, never tare",
                key(Action::Abandon)
            )),
            _ => app.proposed_tin().map(|tin| {
                format!("tin {tin} is to be used up first: {} if it is that one", key(Action::TakeProposed))
            }),
        },
        _ => None,
    }
}
