//! A whole three-stage repair in a real terminal, on a scale at the far end of a real serial line: quantities, cards, the
//! choice, undercoat, ground coat and blender activated, pearl to the chosen count of coats, clear from the tin, what is left
//! weighed back, label and sheet; and the next such job asks for less.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, ready_shop};
use pourbook::book::{JobsOf, Ledger as _, Store as _, open_to_look};
use pourbook::catalogue::Role;
use pourbook::job::JobJournal;
use pourbook::scale::{Hand, Manner, Spec, StandIn, shape};
use pourbook::units::Grams;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

/// The empty cup, in grams: what [`Spec::default`] has on its pan.
const CUP: &str = "21.4";
const F9: &str = "\x1b[20~";
const F6: &str = "\x1b[17~";
const CTRL_N: &str = "\x0e";
const CTRL_U: &str = "\x15";
const JOB: &str = "26-118 bumper";
const NEXT_JOB: &str = "26-119 bumper";

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// The number behind a word on the screen.
fn number_after(screen: &str, word: &str) -> Option<Grams> {
    let rest = screen.split(word).nth(1)?;
    let text: String =
        rest.trim_start().chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-')).collect();
    Grams::parse(&text).ok()
}

/// The bench: the program in its terminal, the scale and the places they know.
struct Shop {
    folder: PathBuf,
    papers: String,
    scale: StandIn,
    terminal: Terminal,
}

impl Shop {
    fn open(folder: &Path) -> Self {
        let manner =
            Manner { shape: shape::by_name("sma").unwrap(), spec: Spec::default(), seed: 11, streams: true };
        let scale = StandIn::on_pty(&folder.join("scale"), manner).unwrap();
        let papers = ready_shop(folder);
        let terminal = Self::start(folder, &papers, scale.place());
        Self { folder: folder.to_path_buf(), papers, scale, terminal }
    }

    fn start(folder: &Path, papers: &str, place: &str) -> Terminal {
        let book = folder.join("book.sqlite").display().to_string();
        let settings = folder.join("settings.toml").display().to_string();
        let scale = format!("serial:{place}?shape=sma&division=0.1&capacity=7500");
        let args = ["--shop", papers, "--book", &book, "--settings", &settings, "--scale", &scale];
        Terminal::start(&args, (100, 30), &[])
    }

    /// The program is killed, and started again.
    fn power_fails(&mut self) {
        self.terminal.signal("KILL");
        self.terminal.wait_end();
        self.terminal = Self::start(&self.folder, &self.papers, self.scale.place());
    }

    /// The program run beside it, with those arguments, on the same book.
    fn run(&self, args: &[&str]) -> Output {
        let (book, settings) = (self.folder.join("book.sqlite"), self.folder.join("settings.toml"));
        Command::new(env!("CARGO_BIN_EXE_pourbook"))
            .args(["--shop", &self.papers, "--book"])
            .arg(book)
            .arg("--settings")
            .arg(settings)
            .args(args)
            .output()
            .unwrap()
    }

    /// What it says.
    fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// Types a line and takes it.
    fn answer(&mut self, asked: &str, typed: &str) {
        self.terminal.wait_for(asked);
        if !typed.is_empty() {
            self.terminal.send(CTRL_U);
            self.terminal.send(typed);
            self.terminal.wait_for(&format!("{asked}  {typed}"));
        }
        self.terminal.send("\r");
    }

    fn open_job(&mut self, name: &str) {
        self.terminal.send(F9);
        self.terminal.wait_for("new job");
        self.terminal.send(CTRL_N);
        self.answer("what is it called?", name);
        self.answer("which vehicle?", "pearl white van");
        self.answer("which colour?", "gannet");
        self.answer("which panels?", "bumper, tailgate");
        self.answer("which layers cover less or more", "");
        self.answer("built up how?", "");
        self.terminal.wait_for(&format!("saved: job {name} is opened"));
    }

    /// From the amount that is offered to the cup that is done: every toner is poured to its stop. The last of the pours
    /// that is `over` is poured over by so much, and put right the way that is marked.
    fn mix(&mut self, over: Option<(&str, &str)>) {
        self.scale.hand(Hand::Load(grams(CUP)));
        self.terminal.wait_for("Enter begin");
        self.terminal.send("\r");
        let mut before = None;
        let mut over = over;
        loop {
            let screen = self.terminal.wait("the next stop, or the end", |screen| {
                screen.contains("everything is in")
                    || number_after(screen, "stop at").is_some_and(|stop| Some(stop) != before)
            });
            if screen.contains("everything is in") {
                break;
            }
            let stop = number_after(&screen, "stop at").unwrap();
            before = Some(stop);
            let pours_over = over.filter(|(toner, _)| screen.contains(&format!("▸ {toner}")));
            let Some((_, by)) = pours_over else {
                self.scale.hand(Hand::Load(grams(CUP) + stop));
                continue;
            };
            over = None;
            self.scale.hand(Hand::Load(grams(CUP) + stop + grams(by)));
            // The way that wastes least is marked: so much is drawn off.
            let screen = self.terminal.wait_for("Enter take the marked one");
            let draw = number_after(&screen, "▸ 1  draw off").unwrap();
            self.terminal.send("\r");
            self.terminal.wait_for("stir, then draw off");
            self.scale.hand(Hand::Load(grams(CUP) + stop + grams(by) - draw));
            before = None;
        }
        assert!(over.is_none(), "nothing was poured over");
        self.terminal.wait("everything to be saved", |screen| {
            screen.lines().filter(|line| line.starts_with(" ✓")).all(|line| line.contains("saved"))
        });
        self.terminal.send("p");
        let screen = self.terminal.wait_for("the label of mix");
        assert!(screen.contains("is printed"), "{screen}");
        self.terminal.send("\r");
        self.terminal.wait_for("and on with the job");
        self.terminal.send("\r");
    }

    /// Enter until so many coats are on; a time between them is first waited for, and then not.
    fn spray(&mut self, layer: &str, coats: u32) {
        let mut last: Option<Instant> = None;
        for coat in 1..=coats {
            self.wait_no_more(&format!("next: spray coat {coat} of {coats} of the {layer}"));
            // Two keys within ten seconds are one coat: no painter is that fast.
            if let Some(last) = last {
                std::thread::sleep(Duration::from_secs(10).saturating_sub(last.elapsed()));
            }
            self.terminal.send("\r");
            self.terminal.wait_for(&format!("saved: coat {coat} of {coats} of the {layer} is on"));
            last = Some(Instant::now());
        }
    }

    /// Until that is what comes next; what has to be waited for before is seen, and then not waited for.
    fn wait_no_more(&mut self, next: &str) {
        loop {
            let screen = self
                .terminal
                .wait(next, |screen| screen.contains(next) || screen.contains("next: wait for the"));
            if screen.contains(next) {
                return;
            }
            self.not_waited("hot air");
        }
    }

    /// The time that is waited for is not waited for.
    fn not_waited(&mut self, why: &str) {
        self.terminal.send("o");
        self.answer("why is it not waited for?", why);
        self.terminal.wait_for(&format!("is not waited for: {why}"));
    }

    /// Until the scale shows that so much is left. It stands there in large figures; what was sprayed is in words.
    fn left_stands_still(&self, left: &str) {
        self.terminal.wait("what is left to stand still", |screen| {
            let mixed = number_after(screen, "mixed ");
            mixed.zip(number_after(screen, "sprayed ")).is_some_and(|(mixed, sprayed)| {
                mixed - sprayed == grams(left) && screen.contains("scale  steady")
            })
        });
    }

    /// Baked if it is to be, and done; what is left of it stands on the scale, and is thrown away.
    fn finish(&mut self, layer: &str, bakes: bool, left: &str) {
        if bakes {
            self.wait_no_more(&format!("next: bake the {layer}"));
            self.terminal.send("\r");
            self.terminal.wait_for("next: wait for the bake");
        }
        self.wait_no_more(&format!("next: look at the {layer}, and say that it is done"));
        self.terminal.send("\r");
        self.terminal.wait_for(&format!("next: weigh what is left of the {layer}"));
        self.terminal.send("\r");
        self.terminal.wait_for("after spraying");
        self.scale.hand(Hand::Load(grams(CUP) + grams(left)));
        self.left_stands_still(left);
        self.terminal.send("t");
        self.answer("why is it thrown away?", "left over");
        self.terminal.wait_for(&format!("{left} g thrown away"));
    }

    /// What each layer of a job wants, in millilitres, and the sentence with it.
    fn amounts(&self, job: &str) -> Vec<(String, Grams, String)> {
        let told: Value = serde_json::from_str(&self.says(&["job", "amounts", job, "--json"])).unwrap();
        let layers = told["layers"].as_array().unwrap();
        let text = |layer: &Value, key: &str| layer[key].as_str().unwrap().to_owned();
        layers
            .iter()
            .map(|layer| (text(layer, "layer"), grams(&text(layer, "mix_ml")), text(layer, "says")))
            .collect()
    }

    fn journal(&self) -> JobJournal {
        let book = open_to_look(&self.folder.join("book.sqlite")).unwrap();
        let row = book.jobs(JobsOf::Name(JOB)).unwrap().pop().unwrap();
        JobJournal::fold(row.job, &book.events(row.job.subject()).unwrap()).unwrap()
    }
}

#[test]
fn from_the_card_to_the_clear_and_the_next_job_asks_for_less() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = Shop::open(folder.path());
    let label = folder.path().join("label.pdf");
    shop.says(&["settings", "set", "label-print", &format!("cp {{file}} '{}'", label.display())]);
    shop.power_fails();
    shop.terminal.wait_for("Gannet White");
    shop.open_job(JOB);
    let first = shop.amounts(JOB);

    // Cards before the car: a little of everything for them, and one with each count of coats.
    shop.terminal.wait_for("next: make spray-out cards of the pearl coat");
    shop.terminal.send("m");
    shop.terminal.wait_for("how much");
    shop.terminal.send(CTRL_U);
    shop.terminal.send("400 mL");
    shop.terminal.wait_for("400 mL ready to spray");
    shop.mix(None);
    for coats in ["1", "2", "3", "4"] {
        shop.terminal.wait_for("next: ");
        shop.terminal.send("c");
        shop.answer("with how many coats?", coats);
        shop.answer("over what?", "G2, ground coat");
        shop.answer("with which gun set-up?", "tip=1.3 mm, pressure=2 bar");
        shop.terminal.wait_for(&format!("saved: card {coats}"));
    }
    for (card, seen) in [("4", "face sun: darker"), ("3", "face sun: match"), ("2", "face sun: lighter")] {
        shop.terminal.send("v");
        shop.answer("what is seen beside the car?", seen);
        shop.terminal.wait_for(&format!("saved: card {card} was compared"));
        shop.terminal.send("\x1b[D");
    }
    // The one that comes nearest is offered.
    shop.terminal.send("\r");
    shop.terminal.wait_for("which card matches the car?  3");
    shop.terminal.send("\r");
    shop.terminal.wait_for("saved: card 3 is chosen: the car gets 3 coats");

    // What is left of the paint for the cards is weighed and kept.
    shop.scale.hand(Hand::Load(grams(CUP) + grams("250.0")));
    shop.terminal.send(F6);
    shop.terminal.wait_for("after spraying");
    shop.left_stands_still("250.0");
    shop.terminal.send("\r");
    shop.answer("keep it until when?", "30");
    shop.terminal.wait_for("250.0 g kept");

    // The layers.
    for (role, layer, coats, bakes, left) in [
        (Role::Undercoat, "undercoat", 2, false, "180.0"),
        (Role::Ground, "ground coat", 2, true, "160.0"),
        (Role::Blender, "blender", 1, true, "80.0"),
        (Role::Pearl, "pearl coat", 3, false, "290.0"),
        (Role::Clear, "clear", 2, true, "210.0"),
    ] {
        shop.terminal.wait_for("next: mix");
        shop.terminal.send("\r");
        shop.terminal.wait_for("ready to spray");
        let over = (role == Role::Pearl).then_some(("P", "3.0"));
        shop.mix(over);
        shop.spray(layer, coats);
        if role == Role::Pearl {
            shop.power_fails();
            shop.terminal.wait_for("Gannet White");
            shop.terminal.send(F9);
            shop.terminal.wait_for(JOB);
            shop.terminal.send("\r");
            shop.terminal.wait_for("3 of 3");
        }
        shop.finish(layer, bakes, left);
    }
    shop.terminal.wait_for("next: everything is sprayed: close the job");
    shop.terminal.send("\r");
    shop.terminal.wait_for("nothing: the job is closed");
    check_book(&shop);
    check_papers(&mut shop, &label);

    // The next one like it asks for less, and says why.
    shop.terminal.send("\x1b");
    shop.terminal.wait_for("Jobs");
    shop.open_job(NEXT_JOB);
    let next = shop.amounts(NEXT_JOB);
    for ((layer, before, _), (_, now, says)) in first.iter().zip(&next) {
        assert!(now < before, "{layer}: {before}, then {now}: {says}");
    }
    shop.says(&["check"]);
    shop.terminal.send("\x03");
    assert_eq!(shop.terminal.wait_end(), 0);
}

/// What the book has of the job.
fn check_book(shop: &Shop) {
    let journal = shop.journal();
    let job = journal.job();
    let coats: Vec<_> = job.standings().map(|layer| (layer.plan.role, layer.sprayed())).collect();
    let roles = [Role::Undercoat, Role::Ground, Role::Blender, Role::Pearl, Role::Clear];
    assert_eq!(coats, roles.into_iter().zip([2, 2, 1, 3, 2]).collect::<Vec<_>>());
    assert!(job.closed.is_some() && job.standings().all(|layer| layer.finished.is_some()));
    let activated: Vec<_> = job.standings().map(|layer| layer.activated.is_some()).collect();
    assert_eq!(activated, [true, true, true, false, true], "all but the pearl have hardener in");
    // Each mix went onto the car but for what was left of it; nothing is in a cup any more.
    let told: Value = serde_json::from_str(&shop.says(&["waste", "--by", "layer", "--json"])).unwrap();
    let all = |what: &str| grams(told["total"][what]["mass_g"].as_str().unwrap());
    let away = all("sprayed") + all("kept") + all("thrown") + all("drawn_off");
    assert_eq!(told["total"]["mixes"], 6);
    assert_eq!(all("mixed"), away, "{told:#}");
    assert_eq!((all("kept"), all("thrown")), (grams("250.0"), grams("920.0")), "{told:#}");
    let trace = shop.says(&["trace", "job", JOB]);
    for toner in ["M85", "W10", "M90", "P51", "V90", "H60", "T70"] {
        assert!(trace.contains(toner), "{toner}: {trace}");
    }
}

/// The label that was printed, and the sheet.
fn check_papers(shop: &mut Shop, label: &Path) {
    assert!(std::fs::read(label).unwrap().starts_with(b"%PDF-"));
    // By its key, as a page and as text; the same as the command's but for the minute it was made in.
    shop.terminal.send("s");
    shop.terminal.wait_for("sheet, and the same as .txt");
    let written: Vec<PathBuf> =
        std::fs::read_dir(shop.folder.join("sheets")).unwrap().map(|entry| entry.unwrap().path()).collect();
    let of = |ending: &str| {
        let path = written.iter().find(|path| path.extension().is_some_and(|found| found == ending)).unwrap();
        std::fs::read_to_string(path).unwrap()
    };
    let (page, sheet) = (of("html"), of("txt"));
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("26-118 bumper"), "{page}");
    let timeless = |text: &str| {
        text.lines().filter(|line| !line.starts_with("Made ")).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(timeless(&sheet), timeless(&shop.says(&["job", "sheet", JOB])));
    for part in [
        "pearl white van",
        "tip 1.3 mm, pressure 2 bar; chosen",
        "By eye card 3 (3 coats) matches most often",
        "not waited for",
        "mix 6 (clear)",
        "air-fed breathing apparatus",
        "EUH204 Contains isocyanates",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    for left in ["180.0", "160.0", "80.0", "210.0"] {
        assert!(sheet.lines().any(|line| line.contains("emptied") && line.contains(left)), "{left}: {sheet}");
    }
}
