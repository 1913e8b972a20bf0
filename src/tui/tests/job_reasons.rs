//! What a job on the screen asks a reason for, what is taken back, and what runs on when a layer or a job is done.

use super::jobs::{BEGAN, MINUTE, coat, job, only, open_first, waiting, with, words};
use crate::catalogue::Role;
use crate::job::{JobEvent, Timer};
use crate::tui::sound::Sound;
use crate::units::Stamp;

#[test]
fn a_layer_that_is_not_all_there_is_done_with_a_reason_and_opened_again() {
    let mut rig = waiting();
    rig.key("a");
    rig.says("no layer was said to be done");
    rig.key("f");
    rig.says("why all the same?");
    rig.says("the ground coat has 1 of 2 coats. See to that first, or say why it is left so");
    rig.key("Esc");
    assert!(rig.sent.is_empty());
    rig.key("f");
    rig.key("Enter");
    rig.says("say why");
    assert!(rig.sent.is_empty());
    rig.type_text("it hides");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["job/layer-overruled", "job/layer-overruled", "job/layer-finished"]);
    rig.says("saved: the ground coat is done");
    rig.says("next: mix the pearl coat");
    let reasons: Vec<String> = only(&rig).reasons().into_iter().map(|one| one.what).collect();
    assert_eq!(
        reasons,
        ["the ground coat is left with other coats than planned", "the ground coat is left without its bake"]
    );
    rig.key("a");
    rig.says("saved: the ground coat is not done after all");
    rig.says("next: wait for the flash-off of the ground coat");
}

#[test]
fn a_coat_that_was_counted_by_mistake_is_taken_back() {
    let mut rig = waiting();
    assert!(words(&rig).iter().any(|words| words.starts_with("flash-off ground")));
    rig.key("u");
    rig.says("coat 1 of the ground coat: why was it counted?");
    rig.key("Enter");
    rig.says("say why");
    rig.type_text("the wrong job");
    rig.key("Enter");
    rig.says("saved: coat 1 of the ground coat is taken back");
    assert_eq!(rig.kinds(), ["job/coat-taken-back"]);
    rig.says("next: spray coat 1 of 2 of the ground coat");
    assert!(words(&rig).iter().all(|words| !words.starts_with("flash-off ground")), "{:?}", words(&rig));
    rig.key("u");
    rig.says("no coat was sprayed yet");
}

#[test]
fn a_bake_looks_another_way_when_it_is_planned_runs_and_is_over_and_outlives_its_job() {
    let events = [(30, coat(Role::Ground, 1, 30, None)), (20, coat(Role::Ground, 2, 20, None))];
    let mut rig = open_first(with(vec![job("26-118", &events)]));
    let row = |rig: &super::rig::Rig| {
        let screen = rig.screen();
        screen.lines().find(|line| line.contains("ground coat")).unwrap().trim_end().to_owned()
    };
    assert!(row(&rig).ends_with("10 min"), "{}", row(&rig));
    let id = rig.app.jobs[0].id();
    let timer = Timer::Bake { layer: Role::Ground };
    let bake = JobEvent::TimerStarted { timer, from: Stamp(BEGAN - MINUTE), minutes: 10 };
    rig.app.write_job(id, bake).unwrap();
    rig.tick(1_000);
    assert!(row(&rig).ends_with("8:59 left"), "{}", row(&rig));
    rig.key("f");
    rig.says("the bake of the ground coat is not over: 9 min left");
    rig.key("Esc");
    rig.key("x");
    rig.says("still runs: bake ground 8:59; not done: ground coat, pearl coat, clear");
    rig.key("y");
    assert_eq!(words(&rig), ["bake ground 8:59"]);
    rig.key("Esc");
    rig.tick(539_000);
    rig.says("26-118: the bake of the ground coat is over");
    assert_eq!((rig.heard.last(), words(&rig).len()), (Some(&Sound::Timer), 0));
    // Of a job that was closed long ago nothing is news.
    let heard = rig.heard.len();
    let mut old = job("26-90", &[(30, coat(Role::Ground, 1, 30, Some(5)))]);
    let by = super::rig::settings().by;
    let event = crate::book::Ids::counted(9).event(Stamp(BEGAN - 29 * MINUTE));
    old.record(&JobEvent::Closed, event, Stamp(BEGAN - 29 * MINUTE), &by).unwrap();
    rig.app.jobs.push(old);
    rig.tick(1_000);
    assert_eq!(rig.heard.len(), heard);
}
