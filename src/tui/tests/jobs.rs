//! The repairs at the screen: a job opened by keys, its cards, its coats, its times, and what the book has of it.

use super::rig::{Book, Rig, settings};
use crate::book::{EventId, Ids, JobId, MixId};
use crate::catalogue::{Finish, Role};
use crate::job::{
    Activation, CardChosen, CardMade, Coat, Job, JobEvent, JobJournal, Joined, LayerPlan, Opening, Timer,
};
use crate::tui::app::{FromBook, Screen};
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::sound::Sound;
use crate::units::Stamp;

pub(super) const MINUTE: i64 = 60_000_000;
/// When the rig's clock begins, about.
pub(super) const BEGAN: i64 = 1_700_000_001_000_000;

fn plan(role: Role, coats: Option<u32>, flash_off: Option<u32>, bake: Option<u32>) -> LayerPlan {
    LayerPlan { coats, flash_off, bake, ..LayerPlan::of(role) }
}

fn opening(name: &str) -> JobEvent {
    JobEvent::Opened(Opening {
        name: name.to_owned(),
        vehicle: Some("grey estate".to_owned()),
        colour: crate::catalogue::ColourCode::new("PB-3140"),
        variant: "standard".to_owned(),
        finish: Finish::ThreeStage,
        panels: Vec::new(),
        layers: vec![
            plan(Role::Ground, Some(2), Some(5), Some(10)),
            plan(Role::Pearl, None, Some(8), None),
            plan(Role::Clear, Some(1), None, None),
        ],
    })
}

/// A job that was opened an hour ago and to which that happened, each so many minutes before now.
pub(super) fn job(name: &str, events: &[(i64, JobEvent)]) -> JobJournal {
    let mut ids = Ids::counted(name.len() as u64);
    let by = settings().by;
    let at = Stamp(BEGAN - 60 * MINUTE);
    let id: JobId = ids.job(at);
    let event_id: EventId = ids.event(at);
    let (mut journal, _) = JobJournal::begin(id, &opening(name), event_id, at, &by).unwrap();
    for (before, event) in events {
        let at = Stamp(BEGAN - before * MINUTE);
        let id = ids.event(at);
        journal.record(event, id, at, &by).unwrap();
    }
    journal
}

pub(super) fn with(jobs: Vec<JobJournal>) -> Rig {
    let book = FromBook { next_number: 412, jobs, ..FromBook::default() };
    let mut rig = Rig::opened(settings(), book);
    rig.live();
    rig
}

fn mix() -> MixId {
    Ids::counted(77).mix(Stamp(BEGAN))
}

fn chosen(coats: u32) -> JobEvent {
    JobEvent::CardChosen(CardChosen::of(Role::Pearl, coats))
}

/// Why the pearl gets so many coats without a card.
fn as_ever() -> JobEvent {
    JobEvent::CardOverruled { layer: Role::Pearl, reason: "as ever".into() }
}

fn joined() -> JobEvent {
    JobEvent::MixJoined(Joined::of(mix(), Role::Ground))
}

fn activated(before: i64, pot_life: u32) -> JobEvent {
    JobEvent::Activated(Activation { mix: mix(), since: Stamp(BEGAN - before * MINUTE), pot_life })
}

pub(super) fn coat(layer: Role, coat: u32, before: i64, flash_off: Option<u32>) -> JobEvent {
    JobEvent::CoatSprayed(Coat { layer, coat, at: Stamp(BEGAN - before * MINUTE), flash_off })
}

/// The ground coat is mixed and activated, one coat of it sprayed a minute ago.
fn under_way() -> Vec<(i64, JobEvent)> {
    vec![
        (30, as_ever()),
        (30, chosen(3)),
        (20, joined()),
        (20, activated(20, 60)),
        (1, coat(Role::Ground, 1, 1, Some(5))),
    ]
}

pub(super) fn open_first(mut rig: Rig) -> Rig {
    rig.key("F9");
    rig.key("Enter");
    assert!(matches!(rig.app.screen, Screen::Job(_)), "{}", rig.screen());
    rig
}

pub(super) fn listed() -> Rig {
    let mut rig = with(vec![job("26-118", &[]), job("26-121 van", &under_way())]);
    rig.key("F9");
    rig
}

pub(super) fn colour_asked() -> Rig {
    let mut rig = listed();
    rig.key("Ctrl-N");
    rig.type_text("26-130");
    rig.key("Enter");
    rig.key("Enter");
    rig
}

pub(super) fn opened() -> Rig {
    open_first(with(vec![job("26-118", &[])]))
}

pub(super) fn with_cards() -> Rig {
    let made = |card| {
        let made = CardMade::of(card, Role::Pearl, card);
        (30, JobEvent::CardMade(made))
    };
    open_first(with(vec![job("26-118", &[made(1), made(2), made(3)])]))
}

pub(super) fn waiting() -> Rig {
    open_first(with(vec![job("26-118", &under_way())]))
}

pub(super) fn over() -> Rig {
    let events = [(30, as_ever()), (30, chosen(3)), (29, joined()), (29, activated(29, 20))];
    open_first(with(vec![job("26-118", &events)]))
}

pub(super) fn closed() -> Rig {
    let mut rig = with(Vec::new());
    rig.key("F9");
    rig.key("Tab");
    rig.send(Message::ClosedJobsRead(Ok(vec![job("26-001", &[(1, JobEvent::Closed)])])));
    rig.key("Enter");
    rig
}

pub(super) fn only(rig: &Rig) -> &Job {
    assert_eq!(rig.app.jobs.len(), 1);
    rig.app.jobs[0].job()
}

/// That what is in the book makes the jobs that are on the screen.
#[track_caller]
fn agrees(rig: &Rig) {
    for known in &rig.app.jobs {
        let own: Vec<_> =
            rig.sent.iter().filter(|envelope| envelope.subject == known.id().subject()).cloned().collect();
        let folded = JobJournal::fold(known.id(), &own).unwrap();
        assert_eq!(&folded, known);
    }
}

pub(super) fn words(rig: &Rig) -> Vec<String> {
    rig.app.ticking_words(rig.now().stamp)
}

#[test]
fn an_empty_shop_is_told_what_to_do() {
    let mut rig = Rig::new();
    rig.key("F9");
    rig.says("no job is open: Ctrl-N opens one");
    rig.key("Tab");
    assert_eq!(rig.closed_reads, 1);
    rig.says("reading the book");
    rig.send(Message::ClosedJobsRead(Ok(Vec::new())));
    rig.says("no job was closed yet");
    rig.key("Esc");
    assert!(matches!(rig.app.screen, Screen::Colours(_)));
}

/// From the form to the book: the colour found by some of its name, panels out of the shop's file.
#[test]
fn a_job_is_opened_by_keys_alone() {
    let mut rig = Rig::new();
    rig.key("F9");
    rig.key("Ctrl-N");
    rig.key("Enter");
    rig.says("say what the job is called");
    rig.type_text("26-118 tailgate");
    rig.key("Enter");
    rig.type_text("grey estate");
    rig.key("Enter");
    rig.type_text("qqqq");
    rig.key("Enter");
    rig.says("no colour of the shop has that");
    rig.key("Ctrl-U");
    rig.type_text("gannet");
    rig.says("PB-3140 Gannet White");
    rig.key("Enter");
    rig.type_text("tailgate, spoilr");
    rig.key("Enter");
    rig.says("'spoilr' is not in panels.toml");
    for _ in 0..6 {
        rig.key("Backspace");
    }
    rig.type_text("spoiler=0,3 m2");
    rig.key("Enter");
    rig.says("which layers cover less or more than these panels?");
    rig.type_text("gound=0.3, blender=2,2 m2");
    rig.key("Enter");
    rig.says("'gound' is no layer");
    rig.key("Ctrl-U");
    rig.type_text("ground=0.3, blender=2,2 m2");
    rig.key("Enter");
    rig.key("Enter");
    rig.says("saved: job 26-118 tailgate is opened");
    rig.says("next: make spray-out cards of the pearl coat");
    assert_eq!(rig.kinds(), ["job/opened"]);
    agrees(&rig);
    let job = only(&rig);
    let panels: Vec<_> =
        job.panels.iter().map(|panel| (panel.name.as_str(), panel.area.unwrap().to_string())).collect();
    assert_eq!(panels, [("tailgate", "1.3".to_owned()), ("spoiler", "0.3".to_owned())]);
    assert_eq!((job.vehicle.as_deref(), job.finish), (Some("grey estate"), Finish::ThreeStage));
    rig.says("not the whole: ground coat 0.3 m2, blender 2.2 m2");
    // Its name is used once.
    rig.key("Esc");
    rig.key("Ctrl-N");
    rig.type_text("26-118 tailgate");
    for _ in 0..6 {
        rig.key("Enter");
    }
    rig.says("a name is used once");
    assert_eq!(rig.kinds().len(), 1);
    rig.key("Esc");
    rig.says("what was typed is kept");
}

/// What is painted is put right on the job's own page, line by line; what is left as it is is not written.
#[test]
fn what_is_painted_is_put_right() {
    let mut rig = opened();
    rig.key("p");
    rig.says("which vehicle?");
    for _ in 0..3 {
        rig.key("Enter");
    }
    rig.says("nothing of it was changed");
    assert_eq!(rig.kinds(), Vec::<&str>::new());
    rig.key("p");
    rig.key("Ctrl-U");
    rig.key("Enter");
    rig.says("the vehicle was said");
    rig.type_text("grey estate, 2019");
    rig.key("Down");
    rig.says("which panels?");
    rig.type_text("tailgate, spoilr");
    rig.key("Enter");
    rig.says("'spoilr' is not in panels.toml");
    rig.key("Ctrl-U");
    rig.type_text("tailgate");
    rig.key("Enter");
    rig.type_text("ground=0.3 m2");
    rig.key("Enter");
    rig.says("saved: what is painted is changed");
    rig.says("not the whole: ground coat 0.3 m2");
    rig.says("grey estate, 2019; tailgate (1.3 m2)");
    assert_eq!(rig.kinds(), ["job/amended"]);
    let area = |rig: &Rig| only(rig).standing(Role::Ground).unwrap().plan.area.map(|area| area.to_string());
    assert_eq!(area(&rig).as_deref(), Some("0.3"));
    // As it stands it is typed again, and a line that is emptied means all panels.
    for key in ["p", "Down", "Down"] {
        rig.key(key);
    }
    rig.says("ground=0.3 m2");
    rig.key("Ctrl-U");
    rig.key("Enter");
    rig.says("saved: what is painted is changed");
    assert_eq!(area(&rig), None);
    // Leaving writes nothing.
    rig.key("p");
    rig.type_text("x");
    rig.key("Esc");
    assert_eq!(rig.kinds(), ["job/amended", "job/amended"]);
}

/// Enter alone, as a foot switch would: a card, the choice, two coats of ground with its flash-off and bake, and so on.
#[test]
fn enter_alone_goes_through_a_job() {
    let mut rig = opened();
    for key in ["Enter", "Enter", "Enter", "Enter"] {
        rig.key(key);
    }
    rig.says("card 1: 1 coat of the pearl coat");
    rig.key("Enter");
    rig.says("which card matches the car?");
    rig.key("Enter");
    rig.says("next: mix the ground coat");
    rig.key("Enter");
    assert!(matches!(rig.app.screen, Screen::Amount(_)), "{}", rig.screen());
    rig.key("Esc");
    rig.says("next: mix the ground coat");
    // The mix itself is the bench's: it is joined as the bench joins it.
    let id = rig.app.jobs[0].id();
    rig.app.write_job(id, joined()).unwrap();
    rig.send(Message::Tick);
    rig.key("Enter");
    rig.says("saved: coat 1 of 2 of the ground coat is on");
    assert_eq!(words(&rig), ["flash-off ground 5:00"]);
    rig.key("Enter");
    rig.says("the flash-off of the ground coat: 5 min left");
    rig.tick(300_000);
    rig.says("26-118: the flash-off of the ground coat is over");
    assert_eq!(rig.heard.last(), Some(&Sound::Timer));
    let heard = rig.heard.len();
    rig.tick(1_000);
    assert_eq!(rig.heard.len(), heard, "it is heard once");
    rig.key("Enter");
    rig.tick(300_000);
    rig.key("Enter");
    rig.says("the bake of the ground coat began, 10 min");
    rig.tick(600_000);
    rig.key("Enter");
    rig.says("saved: the ground coat is done");
    rig.says("next: mix the pearl coat");
    rig.app.write_job(id, JobEvent::MixJoined(Joined::of(mix(), Role::Pearl))).unwrap();
    rig.key("Enter");
    rig.tick(480_000);
    rig.key("Enter");
    rig.says("next: mix the clear");
    rig.app.write_job(id, JobEvent::MixJoined(Joined::of(mix(), Role::Clear))).unwrap();
    rig.key("Enter");
    rig.key("Enter");
    rig.says("everything is sprayed: close the job");
    rig.key("Enter");
    rig.says("saved: closed");
    assert!(only(&rig).closed.is_some());
    rig.key("r");
    rig.says("saved: open again");
}

#[test]
fn a_coat_is_not_counted_twice_by_one_foot() {
    let mut rig = open_first(with(vec![job("26-118", &[(30, as_ever()), (30, chosen(3)), (20, joined())])]));
    // Without a flash-off nothing else would keep the second from counting.
    let id = rig.app.jobs[0].id();
    let mut layers = rig.app.jobs[0].job().plan().to_vec();
    layers[0].flash_off = None;
    let amended = crate::job::Amendment { layers: Some(layers), ..crate::job::Amendment::default() };
    rig.app.write_job(id, JobEvent::Amended(amended)).unwrap();
    rig.key("Enter");
    rig.key("Enter");
    rig.says("coat 1 was counted just now");
    assert_eq!(only(&rig).standing(Role::Ground).unwrap().sprayed(), 1);
    rig.tick(10_000);
    rig.key("Enter");
    assert_eq!(only(&rig).standing(Role::Ground).unwrap().sprayed(), 2);
}

#[test]
fn a_time_is_not_waited_for_only_with_a_reason() {
    let mut rig = waiting();
    rig.key("Enter");
    rig.says("4 min left");
    assert!(rig.sent.is_empty());
    rig.key("o");
    rig.says("why is it not waited for?");
    rig.says("the flash-off of the ground coat, 4 min left; a word or two");
    rig.key("Enter");
    rig.says("say why");
    rig.type_text("hot air");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["job/timer-overruled"]);
    rig.says("next: spray coat 2 of 2 of the ground coat");
    rig.answer("w", "a run at the edge");
    rig.says("noted, coat 1 of the ground coat: a run at the edge");
    assert_eq!(only(&rig).standing(Role::Ground).unwrap().sprayed(), 1, "it stays counted");
}

#[test]
fn the_booths_clearance_is_started_and_stopped() {
    let mut rig = waiting();
    rig.answer("t", "x");
    rig.says("is no number of minutes");
    rig.key("Backspace");
    rig.type_text("12");
    rig.key("Enter");
    assert!(words(&rig).contains(&"clearance 12 min".to_owned()), "{:?}", words(&rig));
    rig.key("t");
    rig.says("saved: the clearance of the booth is stopped");
    assert!(only(&rig).time(Timer::Clearance).unwrap().ended.is_some());
}

/// On every screen, the most urgent first, after a restart as before; with names where several jobs have one.
#[test]
fn the_times_stand_on_every_screen() {
    let mut rig = with(vec![job("26-118", &under_way())]);
    rig.says(" flash-off ground 4:00 ─ pot life ground 40 min ");
    for key in ["F2", "Esc", "F7", "Esc", "F8", "Esc", "F9", "Enter", "F3", "Esc", "b", "Esc"] {
        rig.key(key);
        rig.says("flash-off ground ");
    }
    assert_eq!(rig.app.next_tick(), Some(500));
    let two =
        with(vec![job("26-118", &under_way()), job("26-121 van", &[(2, coat(Role::Ground, 1, 2, Some(5)))])]);
    let told = words(&two);
    assert_eq!(told[0], "26-121 van: flash-off ground 3:00");
    assert_eq!(told.len(), 3);
    // What has no room is counted.
    two.says("26-121 van: flash-off ground 3:00 ─ 26-118: flash-off ground 4:00 ─ +1 ");
    rig.state(crate::scale::LinkState::Lost, "gone");
    rig.tick(9_000);
    let mut without = Rig::opened(
        crate::tui::app::Settings { scale: None, ..settings() },
        FromBook { jobs: vec![job("26-118", &under_way())], ..FromBook::default() },
    );
    without.send(Message::Tick);
    assert_eq!(without.app.next_tick(), Some(1_000), "it goes on without keys");
}

#[test]
fn a_pot_life_that_is_over_stays_until_it_is_seen() {
    let mut rig = over();
    rig.says("POT LIFE  26-118: pot life of the ground coat over: do not spray it");
    rig.tick(60_000);
    rig.key("Esc");
    rig.key("Esc");
    rig.says("POT LIFE");
    rig.key("F12");
    rig.says_not("POT LIFE");
    // One that ends while the program runs is heard, too.
    let mut rig = with(vec![job("26-118", &under_way())]);
    rig.send(Message::Tick);
    rig.tick(40 * 60_000);
    assert!(rig.heard.contains(&Sound::Timer));
    rig.says("POT LIFE");
    rig.send(Message::Clicked(vec![Action::Seen]));
    rig.says_not("POT LIFE");
}

#[test]
fn closing_a_job_that_is_not_done_is_asked_about() {
    let mut rig = waiting();
    rig.key("x");
    rig.says("close job 26-118?");
    rig.says("still runs: flash-off ground 4:00, pot life ground 40 min; not done: ground");
    rig.key("Enter");
    assert!(rig.sent.is_empty());
    rig.key("x");
    rig.tick(1_000);
    rig.key("y");
    assert_eq!(rig.kinds(), ["job/closed"]);
    assert_eq!(words(&rig), ["flash-off ground 3:59"], "what runs goes on; of the mix there is no cup");
    rig.key("Esc");
    rig.says("no job is open");
    rig.key("Tab");
    rig.says("26-118");
}

#[test]
fn a_closed_job_is_opened_again() {
    let mut rig = closed();
    rig.says("next: nothing: the job is closed");
    rig.key("Enter");
    rig.says("open it again");
    assert!(rig.sent.is_empty());
    rig.key("r");
    assert_eq!(rig.kinds(), ["job/reopened"]);
    rig.says("next: make spray-out cards");
}

#[test]
fn a_job_is_found_by_typing() {
    let mut rig = listed();
    rig.says("26-118");
    rig.type_text("van");
    rig.says_not("26-118");
    rig.says("26-121 van");
    rig.key("Enter");
    rig.says("next: wait for the flash-off of the ground coat");
}

#[test]
fn what_is_not_saved_is_said() {
    let mut rig = with_cards();
    rig.book = Book::Fails;
    rig.key("Enter");
    rig.key("Enter");
    rig.says("NOT SAVED");
    rig.says_not("saved: card");
    rig.book = Book::Saves;
    rig.key("Ctrl-S");
    rig.says("saved: card 3 is chosen");
}

#[test]
fn who_may_only_look_writes_no_job() {
    let book = FromBook {
        jobs: vec![job("26-118", &under_way())],
        look_only: Some("another program has the book".to_owned()),
        ..FromBook::default()
    };
    let mut rig = open_first(Rig::opened(settings(), book));
    for key in ["Enter", "o", "m", "f", "t", "b", "w", "x", "n", "c", "s"] {
        rig.key(key);
        rig.key("Enter");
        rig.key("Esc");
        rig.key("F9");
        rig.key("Enter");
    }
    assert!(rig.sent.is_empty());
}

#[test]
fn a_key_has_the_sheet_written_once_everything_is_saved() {
    let mut rig = opened();
    rig.key("s");
    assert_eq!(rig.sheets.len(), 1);
    assert_eq!(rig.sheets[0].job, "26-118");
    rig.says("the sheet is being written");
    rig.send(Message::SheetWritten(Ok("books/sheets/26-118 2023-11-14 2213.html".into())));
    rig.says("sheet, and the same as .txt: books/sheets/26-118 2023-11-14 2213.html");
    rig.send(Message::SheetWritten(Err("the disk is full".to_owned())));
    rig.says("the sheet is not written: the disk is full");
    rig.book = Book::Withholds;
    rig.send(Message::Clicked(vec![Action::NoteOnJob]));
    rig.type_text("scratch on the left");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["job/noted"]);
    rig.key("s");
    rig.says("not everything is saved yet");
    assert_eq!(rig.sheets.len(), 1);
}

/// What ended while the program was closed is said at the start, with one sound for all of it: unless somebody has gone on
/// with the job since, or it is long ago.
#[test]
fn what_ended_while_it_was_closed_is_said_once() {
    let ground = || (10, coat(Role::Ground, 1, 10, Some(5)));
    let mut rig = with(vec![job("26-118", &[ground()])]);
    // It ended five minutes before 22:13:21.
    rig.says("26-118: the flash-off of the ground coat is over since 22:08");
    assert_eq!(rig.heard, [Sound::Timer]);
    rig.tick(60_000);
    rig.tick(1_000);
    assert_eq!(rig.heard, [Sound::Timer]);
    rig.says_not("is over since");
    let bake = JobEvent::TimerStarted {
        timer: Timer::Bake { layer: Role::Ground },
        from: Stamp(BEGAN - 20 * MINUTE),
        minutes: 12,
    };
    let two = with(vec![job("26-118", &[ground()]), job("26-121 van", &[(20, bake)])]);
    two.says("26-118: the flash-off of the ground coat is over since 22:08; one more ");
    two.says("    ended before");
    assert_eq!(two.heard, [Sound::Timer]);
    let mut two = two;
    two.key("F3");
    two.says("26-121 van: the bake of the ground coat is over");
    // Somebody has gone on since.
    let noted = || (3, JobEvent::Noted { text: "looked at".to_owned() });
    let gone_on = with(vec![job("26-118", &[ground(), noted()])]);
    gone_on.says_not("is over");
    assert!(gone_on.heard.is_empty(), "{:?}", gone_on.heard);
    let book = FromBook { jobs: vec![job("26-118", &[ground()])], ..FromBook::default() };
    let mut long_ago = Rig::opened(settings(), book);
    long_ago.now += 25 * 3_600_000;
    long_ago.live();
    long_ago.says_not("is over");
    assert!(long_ago.heard.is_empty(), "{:?}", long_ago.heard);
}
