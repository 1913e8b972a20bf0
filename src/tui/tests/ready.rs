//! From a job to the bench: a layer of it mixed, made ready to spray, and what the job hears of it.

use super::rig::{CUP, DWELL, Rig, g, settings};
use crate::book::{Envelope, Ids, JobId, Journal};
use crate::catalogue::{Catalogue, ColourCode, Finish, Role};
use crate::job::{JobEvent, JobJournal, Joined, LayerPlan, Opening};
use crate::mix::{Event, LinePart, Phase, Way};
use crate::tui::app::{FromBook, Screen, Settings, Waiting};
use crate::tui::known::Then;
use crate::tui::message::Message;
use crate::tui::sound::Sound;
use crate::units::{Division, Millilitres, Stamp, VolumeShown};

const NAME: &str = "26-118 tailgate";
const MINUTE: u64 = 60_000;

fn ml(text: &str) -> Millilitres {
    Millilitres::parse(text).unwrap()
}

/// Three stages of Gannet White; 310 mL of the ground coat are asked for. With its first envelope.
fn opened() -> (JobJournal, Envelope) {
    let layer = |role, asked: Option<&str>| LayerPlan { asked: asked.map(ml), ..LayerPlan::of(role) };
    let opening = Opening {
        name: NAME.to_owned(),
        vehicle: None,
        colour: ColourCode::new("PB-3140"),
        variant: "standard".to_owned(),
        finish: Finish::ThreeStage,
        panels: Vec::new(),
        layers: vec![layer(Role::Ground, Some("310")), layer(Role::Pearl, None)],
    };
    let mut ids = Ids::counted(3);
    let at = Stamp(1_699_999_000_000_000);
    let (job, id) = (ids.job(at), ids.event(at));
    JobJournal::begin(job, &JobEvent::Opened(opening), id, at, &settings().by).unwrap()
}

/// The invented shop with its products, and one job.
fn shop() -> (Rig, JobId) {
    let (job, _) = opened();
    let id = job.id();
    let book = FromBook { next_number: 412, jobs: vec![job], ..FromBook::default() };
    (with(book), id)
}

fn with(book: FromBook) -> Rig {
    let mut rig = Rig::opened_with(Catalogue { scale: None, ..Catalogue::demo() }, settings(), book);
    rig.live();
    rig
}

/// The ground coat is asked for.
fn asked() -> Rig {
    let (mut rig, job) = shop();
    rig.app.mix_for_job(job, Role::Ground, false);
    rig.tick(0);
    rig
}

/// The empty cup is taken.
fn begun() -> Rig {
    let mut rig = asked();
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    rig
}

/// Weighs until the hardener is due.
fn hardener_due() -> Rig {
    let mut rig = begun();
    while rig.toner() != "H60" {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig
}

/// The hardener is in.
fn hardened() -> Rig {
    let mut rig = hardener_due();
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.toner(), "T70");
    rig
}

/// Everything is in, the mix is done, the colours are on the screen.
fn done() -> Rig {
    let mut rig = hardened();
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.phase(), Phase::Complete, "{}", rig.screen());
    rig.key("Enter");
    rig.key("Enter");
    // Back to the job first, and from there to the colours.
    rig.says("26-118 tailgate");
    rig.key("Esc");
    rig.key("Esc");
    assert!(matches!(rig.app.screen, Screen::Colours(_)), "{}", rig.screen());
    rig.stand("0", 3);
    rig
}

fn job_events(rig: &Rig) -> Vec<JobEvent> {
    let of_jobs = rig.sent.iter().filter(|envelope| envelope.kind.starts_with("job/"));
    of_jobs.map(|envelope| serde_json::from_str(&envelope.body).unwrap()).collect()
}

/// What the ratio 10 : 1 : 3 makes of 310 mL is worked by hand: 221.43, 22.14 and 66.43 mL.
#[test]
fn a_job_asks_for_its_volume_ready_to_spray() {
    let rig = asked();
    rig.says("how much · 26-118 tailgate");
    rig.says("310 mL ");
    rig.says("310 mL, as it is asked for");
    rig.says("310 mL ready to spray: 221 mL colour, 22");
    rig.says("GC-2: H60, T70");
    let Screen::Amount(amount) = &rig.app.screen else { panic!("{}", rig.screen()) };
    assert_eq!(amount.volume(), Ok(ml("310")));
}

#[test]
fn the_job_hears_of_the_mix_and_of_its_hardener() {
    let rig = begun();
    assert_eq!(rig.kinds(), ["mix/started", "job/mix-joined"]);
    let Event::Started(start) = &rig.events()[0] else { panic!("started") };
    assert_eq!((start.job.as_deref(), start.volume), (Some(NAME), ml("310")));
    let [JobEvent::MixJoined(joined)] = &job_events(&rig)[..] else { panic!("{:?}", rig.kinds()) };
    assert_eq!((joined.mix, joined.layer, joined.for_cards), (rig.sent[0].subject, Role::Ground, false));

    let rig = hardened();
    let hardener = rig.sent.iter().rfind(|envelope| envelope.kind == "mix/poured").unwrap();
    let [_, JobEvent::Activated(activated)] = &job_events(&rig)[..] else { panic!("{:?}", rig.kinds()) };
    assert_eq!((activated.mix, activated.since), (hardener.subject, hardener.at));
    assert_eq!(activated.pot_life, 120);
    rig.agrees_with_book();
}

#[test]
fn the_caution_stands_there_until_the_hardener_is_in() {
    let mut rig = begun();
    rig.says_not("isocyanates");
    rig.says("then hardener");
    while rig.toner() != "H60" {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.says("isocyanates: air-fed breathing apparatus");
    rig.says("gloves and eye protection while mixing");
    rig.says("then thinner");
    rig.stand_net(rig.stop(), DWELL);
    rig.says_not("isocyanates");
    // 22:13:20 UTC and what the weighing took.
    rig.says("sprayable until 00:13, 2 h 0 min left");
}

#[test]
fn a_pot_life_that_runs_out_at_the_bench_is_said_once() {
    let mut rig = hardened();
    rig.tick(111 * MINUTE);
    rig.says("9 min left");
    rig.heard.clear();
    rig.tick(10 * MINUTE);
    rig.live();
    rig.tick(500);
    rig.says("do not spray it any more");
    assert_eq!(rig.heard.iter().filter(|sound| **sound == Sound::Over).count(), 1, "{:?}", rig.heard);
    rig.tick(MINUTE);
    assert_eq!(rig.heard.iter().filter(|sound| **sound == Sound::Over).count(), 1, "{:?}", rig.heard);
}

/// What was weighed with it is not asked for again, and the job is known.
#[test]
fn after_spraying_nothing_is_asked_twice() {
    let mut rig = done();
    rig.key("F6");
    rig.says("what is in the cup of mix 0412, for 26-118 tailgate");
    rig.says("120 min left");
    rig.key("Enter");
    rig.says("thinner and hardener were weighed with it");
    rig.says("26-118 tailgate");
    rig.says_not("r ready to spray");
    let Screen::Emptying(emptying) = &rig.app.screen else { panic!("{}", rig.screen()) };
    let gross = emptying.bench.session().tare() + g("41.3");
    rig.stand(&gross.to_string(), 4);
    rig.key("r");
    assert!(rig.screen().contains("nothing to note"), "{}", rig.screen());
    rig.key("Enter");
    rig.type_text("1");
    rig.key("Enter");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((emptied.left, emptied.thinned, emptied.job.as_deref()), (g("41.3"), None, Some(NAME)));

    // What is kept has hardener in: it is no start of another mix, and that is said.
    let (job, _) = opened();
    rig.app.mix_for_job(job.id(), Role::Ground, false);
    rig.tick(0);
    assert_eq!(
        rig.app.notice.as_ref().unwrap().text,
        "41.3 g are left of mix 0412 with hardener in: it can be sprayed within its pot life, and is no start of another mix"
    );
    let Screen::Amount(amount) = &rig.app.screen else { panic!("{}", rig.screen()) };
    assert_eq!(amount.leftovers, []);
    rig.key("Esc");
    rig.tick(121 * MINUTE);
    rig.app.mix_for_job(job.id(), Role::Ground, false);
    rig.tick(0);
    assert!(rig.app.notice.as_ref().unwrap().text.ends_with("its pot life is over: throw it away"));
}

#[test]
fn a_pearl_without_a_chosen_card_wants_a_reason_and_one_for_cards_does_not() {
    let (mut rig, job) = shop();
    rig.app.mix_for_job(job, Role::Pearl, false);
    rig.tick(0);
    rig.says("why is it mixed all the same?");
    rig.says("no card of the pearl coat was chosen yet");
    rig.key("Enter");
    rig.says("say why, in a word or two");
    assert_eq!(rig.kinds(), [""; 0]);
    rig.type_text("matched last week");
    rig.key("Enter");
    rig.says("how much · 26-118 tailgate");
    let overruled = JobEvent::CardOverruled { layer: Role::Pearl, reason: "matched last week".to_owned() };
    assert_eq!(job_events(&rig), [overruled]);

    let (mut rig, job) = shop();
    rig.app.mix_for_job(job, Role::Pearl, true);
    rig.tick(0);
    rig.says("for spray-out cards alone: 65 mL for 4");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    // It is a larger cup than so little wants.
    rig.key("Enter");
    let [JobEvent::MixJoined(joined)] = &job_events(&rig)[..] else { panic!("{:?}", rig.kinds()) };
    assert!(joined.for_cards);
}

/// The program opened again on the mix alone, as if it had been cut off before the job was told.
fn cut_off(rig: &Rig, told: usize) -> Rig {
    let mixes: Vec<Envelope> =
        rig.sent.iter().filter(|envelope| envelope.kind.starts_with("mix/")).cloned().collect();
    let journal = Journal::fold(mixes[0].subject, &mixes).unwrap();
    let (job, first) = opened();
    let of_job = rig.sent.iter().filter(|envelope| envelope.kind.starts_with("job/")).take(told).cloned();
    let envelopes: Vec<_> = std::iter::once(first).chain(of_job).collect();
    let job = JobJournal::fold(job.id(), &envelopes).unwrap();
    let waiting = vec![Waiting { journal: Ok(journal), number: 412, when: "today".to_owned() }];
    let book = FromBook { waiting, jobs: vec![job], next_number: 413, ..FromBook::default() };
    let mut again = Rig::opened_with(Catalogue { scale: None, ..Catalogue::demo() }, settings(), book);
    again.app.ids = Ids::counted(9);
    again.now = rig.now + 5 * MINUTE;
    again.live();
    again
}

#[test]
fn what_a_crash_kept_from_the_job_is_told_at_the_next_start_and_once() {
    let rig = hardened();
    let told = job_events(&rig);
    for heard in 0..=2 {
        let again = cut_off(&rig, heard);
        assert_eq!(job_events(&again), told[heard..], "{heard} were told before");
    }
    let again = cut_off(&rig, 0);
    let pot_life = again.app.jobs[0].job().pot_life(rig.sent[0].subject).unwrap();
    assert_eq!(Some(pot_life.from), again.app.waiting[0].journal.as_ref().unwrap().activated());
}

/// What the layer was estimated to need is told after a crash as it would have been before: where the colours are in a folder,
/// once the colour's file was read.
#[test]
fn the_estimate_outlives_a_crash() {
    let (mut job, first) = opened();
    let panels = vec![crate::job::Panel { name: "tailgate".to_owned(), area: None }];
    let amended =
        JobEvent::Amended(crate::job::Amendment { vehicle: None, panels: Some(panels), layers: None });
    let mut ids = Ids::counted(4);
    let at = Stamp(1_699_999_100_000_000);
    let (second, _) = job.record(&amended, ids.event(at), at, &settings().by).unwrap();
    let id = job.id();
    let mut rig = with(FromBook { next_number: 412, jobs: vec![job], ..FromBook::default() });
    rig.app.mix_for_job(id, Role::Ground, false);
    rig.tick(0);
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    let told = job_events(&rig);
    let [JobEvent::MixJoined(joined)] = &told[..] else { panic!("{told:?}") };
    assert!(joined.estimate.is_some_and(Millilitres::is_positive), "{joined:?}");

    let mixes: Vec<Envelope> =
        rig.sent.iter().filter(|envelope| envelope.kind.starts_with("mix/")).cloned().collect();
    let journal = Journal::fold(mixes[0].subject, &mixes).unwrap();
    let again = || {
        let job = JobJournal::fold(id, &[first.clone(), second.clone()]).unwrap();
        let waiting = vec![Waiting { journal: Ok(journal.clone()), number: 412, when: "today".to_owned() }];
        let book = FromBook { waiting, jobs: vec![job], next_number: 413, ..FromBook::default() };
        let shop = Catalogue { scale: None, ..Catalogue::demo() };
        let mut again = Rig::opened_with(shop, settings(), book);
        again.app.ids = Ids::counted(9);
        again.now = rig.now + 5 * MINUTE;
        again
    };
    let mut in_memory = again();
    in_memory.live();
    assert_eq!(job_events(&in_memory), told);

    let folder = tempfile::tempdir().unwrap();
    for (path, text) in crate::catalogue::demo::FILES {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    let index = crate::catalogue::index::ShopIndex::new(folder.path(), None);
    let seen = index.looker().look(Stamp(1), &mut |_| true).unwrap();
    let in_folder = || {
        let mut rig = again();
        rig.app.know_folder(seen.listing.clone());
        rig.live();
        assert!(job_events(&rig).is_empty(), "its colour is not read yet");
        rig
    };
    let mut rig = in_folder();
    rig.tick(1_000);
    let asked: Vec<_> = rig.reads.iter().filter(|(_, then)| *then == Then::Show).cloned().collect();
    let [(file, then)] = &asked[..] else { panic!("{asked:?}") };
    let read = Ok(Box::new(index.colour(file).unwrap()));
    rig.send(Message::ColourRead { file: file.clone(), read, then: *then });
    assert_eq!(job_events(&rig), told);
    // One that cannot be read any more is no reason to keep it from the job.
    let mut rig = in_folder();
    rig.send(Message::ColourRead { file: file.clone(), read: Err("gone".to_owned()), then: *then });
    let without = Joined { estimate: None, ..joined.clone() };
    assert_eq!(job_events(&rig), [JobEvent::MixJoined(without)]);
}

/// A pearl that was begun for cards: nothing else can have been meant, since no card was chosen.
#[test]
fn a_mix_for_cards_stays_one_after_a_crash() {
    let (mut rig, job) = shop();
    rig.app.mix_for_job(job, Role::Pearl, true);
    rig.tick(0);
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    // It is a larger cup than so little wants.
    rig.key("Enter");
    assert_eq!(job_events(&cut_off(&rig, 0)), job_events(&rig));
}

#[test]
fn a_mix_that_is_given_up_is_the_jobs_no_more() {
    let mut rig = hardened();
    rig.answer("x", "wrong panel");
    let Some(JobEvent::MixParted { mix, .. }) = job_events(&rig).pop() else { panic!("{:?}", rig.kinds()) };
    assert_eq!(mix, rig.sent[0].subject);
    assert_eq!(rig.app.jobs[0].job().mixes().count(), 0);
}

#[test]
fn hardener_that_goes_over_can_be_put_right_with_more_of_all_or_by_drawing_off() {
    let mut rig = hardener_due();
    let over = rig.stop() + g("2");
    rig.stand_net(over, DWELL);
    let line = rig.session().recipe().lines().iter().position(|line| line.part == LinePart::Hardener);
    assert_eq!(Some(rig.phase()), line.map(Phase::Over));
    let ways = rig.session().ways();
    let all_more = ways.iter().find(|choice| choice.way == Way::Exact).unwrap();
    // Two of some twenty-four grams too many are a twelfth more of all, the thinner's own too.
    assert!(all_more.add.iter().enumerate().all(|(at, mass)| Some(at) == line || mass.is_positive()));
    assert!(ways.iter().any(|choice| choice.way == Way::DrawOff));
    // Hardener is in all the same: the pot life runs.
    rig.says("min left");
    rig.agrees_with_book();
}

#[test]
fn a_key_makes_it_colour_alone_and_ready_again() {
    let mut rig = asked();
    rig.key("F9");
    rig.says("GC-2: H66, T70");
    rig.key("F10");
    rig.says("GC-2: H66, T74");
    rig.key("F9");
    rig.says("nothing (GC-2 can)");
    rig.says_not("ready to spray");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    assert_eq!(rig.session().recipe().lines().len(), 6);
    assert_eq!(rig.session().recipe().readied, None);
    rig.says_not("then hardener");
}

/// With tenths of a gram there is no cup for what everything could be weighed of; with hundredths there is.
#[test]
fn the_least_that_can_be_weighed_is_offered_with_what_it_leaves_and_not_forced() {
    let offers = |rig: &Rig| {
        let Screen::Amount(amount) = &rig.app.screen else { panic!("{}", rig.screen()) };
        (amount.volume().unwrap(), amount.offers(rig.app.limits(), rig.app.accuracy()))
    };
    assert_eq!(offers(&asked()), (ml("310"), vec![ml("310")]));

    let (job, _) = opened();
    let fine = Settings { division: Division::parse("0.01").ok(), ..settings() };
    let id = job.id();
    let book = FromBook { next_number: 412, jobs: vec![job], ..FromBook::default() };
    let mut rig = Rig::opened_with(Catalogue { scale: None, ..Catalogue::demo() }, fine, book);
    rig.live();
    rig.app.mix_for_job(id, Role::Ground, false);
    rig.tick(0);
    let (volume, all) = offers(&rig);
    let [asked, least] = all[..] else { panic!("{all:?}") };
    assert_eq!((volume, asked), (ml("310"), ml("310")));
    rig.says(&format!("{} mL could be weighed", least.with_decimals(0)));
    rig.key("F7");
    assert_eq!(offers(&rig).0, least);
    rig.says(&format!("{} mL over", (least - asked).with_decimals(0)));
    rig.says_not("on everything can be weighed");
    rig.key("F7");
    assert_eq!(offers(&rig).0, asked);
}

/// Worked by hand: 310 mL are 10.48 US fluid ounces.
#[test]
fn what_is_said_of_the_amount_is_said_in_the_painters_measures() {
    let mut rig = asked();
    rig.app.settings.preferences.notation.volume = VolumeShown::Us;
    rig.key("Backspace");
    rig.type_text("L");
    rig.says_not("mL colour");
    rig.says("fl oz colour");
}

/// A mix that was put aside is not mixed yet: the job goes on with it, and no coat of it is counted.
#[test]
fn what_is_put_aside_is_gone_on_with_before_it_is_sprayed() {
    let mut rig = hardened();
    let job = rig.app.jobs[0].id();
    let unmatched = JobEvent::CardOverruled { layer: Role::Pearl, reason: "no light for cards".into() };
    rig.app.write_job(job, unmatched).unwrap();
    let held = rig.session().holds();
    rig.key("Esc");
    rig.says("next: go on with the mix of the ground coat: it is not done");
    rig.key("Enter");
    assert!(matches!(rig.app.screen, Screen::Bench(_)), "{}", rig.screen());
    assert_eq!(rig.session().holds(), held);
    assert_eq!(rig.app.jobs[0].job().standing(Role::Ground).unwrap().sprayed(), 0);
}

/// What has set in the cup is never kept, whichever key is pressed first, as by a foot switch.
#[test]
fn what_is_past_its_pot_life_is_not_kept() {
    let mut rig = done();
    rig.tick(121 * MINUTE);
    rig.key("F6");
    rig.key("Enter");
    let Screen::Emptying(emptying) = &rig.app.screen else { panic!("{}", rig.screen()) };
    let gross = emptying.bench.session().tare() + g("41.3");
    rig.stand(&gross.to_string(), 4);
    rig.says_not("keep it");
    let written = rig.sent.len();
    rig.key("Enter");
    assert!(rig.app.prompt.is_none() && rig.sent.len() == written, "{}", rig.screen());
    rig.says("can only be thrown away");
    rig.key("t");
    rig.type_text("pot life over");
    rig.key("Enter");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((emptied.kept, emptied.left), (g("0"), g("41.3")));
}
