//! The commands about a scale: listening, tapes, stand-ins, ports, and whether all is well.

use crate::program::*;
use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};

/// Three readings of a made-up scale, one still, one moving, one too heavy, with rubbish between.
const TAPE: &str = "\
# made up
shape header-comma
0 53 54 2c 2b 30 30 30 31 32 2e 33 30 20 20 67 0d 0a
40 ff 00 1b 0d 0a
80 55 53 2c 2b 30 30 30 31 33 2e 31 30 20 20 67 0d 0a
120 4f 4c 2c 2b 39 39 39 39 39 2e 39 39 20 20 67 0d 0a
";

#[test]
fn a_tape_is_heard_to_its_end() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("scale.tape");
    fs::write(&file, TAPE).unwrap();
    let address = format!("tape:{}?speed=full", file.display());
    let output = run(&["listen", &address, "--json"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let readings: Vec<Value> = out(&output).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let said = |value: &Value| {
        assert_eq!(keys(value).len(), 5);
        let at = value["at"].as_str().unwrap();
        assert!(at.ends_with('Z') && at.contains('T'), "{at}");
        (value["value"].clone(), value["unit"].clone(), value["stable"].clone(), value["state"].clone())
    };
    let said: Vec<_> = readings.iter().map(said).collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert_eq!(said[0], ("12.30".into(), "g".into(), true.into(), "ok".into()));
    assert_eq!(said[1], ("13.10".into(), "g".into(), false.into(), "ok".into()));
    assert_eq!((&said[2].0, &said[2].3), (&Value::Null, &"over".into()));
    assert!(err(&output).contains("the tape is at its end"), "{}", err(&output));

    let text = out(&run(&["listen", &address, "--count", "1", "--show-bytes"]));
    assert!(text.contains("|ST,+00012.30  g..|"), "{text}");
    assert!(text.contains("12.30 g   steady"), "{text}");
    let output = run(&["listen", &address, "--count", "9"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("3 of 9"), "{}", err(&output));
}

/// The program, writing down what the virtual scale sends until somebody ends it.
fn listening() -> Child {
    let mut command = program();
    command.args(["listen", "virtual:", "--json"]).stdout(Stdio::piped()).stderr(Stdio::null());
    command.spawn().unwrap()
}

#[test]
fn a_reader_that_leaves_is_no_failure() {
    let mut child = listening();
    let mut first = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut first).unwrap();
    assert!(first.contains("\"state\":\"ok\""), "{first}");
    // The reader is dropped with its end of the pipe: the next line has nowhere to go.
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn an_interrupt_ends_listening_well() {
    let mut child = listening();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    lines.next().unwrap().unwrap();
    let pid = child.id().to_string();
    assert!(Command::new("kill").args(["-INT", &pid]).status().unwrap().success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
    for line in lines {
        serde_json::from_str::<Value>(&line.unwrap()).unwrap();
    }
}

/// A stand-in that is talked to, ended at the end of the test whatever happens.
struct Bench {
    child: Child,
    address: String,
    lines: std::io::Lines<BufReader<std::process::ChildStdout>>,
}

impl Bench {
    fn open(at: &str, more: &[&str]) -> Self {
        let mut child = program()
            .args(["stand-in", "--at", at, "--shape", "sma"])
            .args(more)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let first = lines.next().unwrap().unwrap();
        let address = first.split('\'').nth(1).unwrap_or_else(|| panic!("{first}")).to_owned();
        Self { child, address, lines }
    }

    fn tell(&mut self, line: &str) {
        writeln!(self.child.stdin.as_mut().unwrap(), "{line}").unwrap();
    }

    fn truth(&mut self) -> String {
        self.tell("truth");
        self.lines.next().unwrap().unwrap()
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Listens until the scale stands still at that number.
fn heard_steady_at(address: &str, value: &str) {
    let mut child = program()
        .args(["listen", address, "--json", "--seconds", "60"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let found = BufReader::new(child.stdout.take().unwrap()).lines().any(|line| {
        let reading: Value = serde_json::from_str(&line.unwrap()).unwrap();
        reading["value"] == value && reading["stable"] == true
    });
    let _ = child.kill();
    let _ = child.wait();
    assert!(found, "{value} was never said");
}

#[test]
fn a_stand_in_over_tcp_is_heard_by_listening() {
    let mut bench = Bench::open("tcp:0", &[]);
    assert!(bench.address.starts_with("tcp:127.0.0.1:"), "{}", bench.address);
    bench.tell("load 290.6");
    heard_steady_at(&bench.address, "290.6");
    // One that speaks by itself is not asked anything, and never told anything.
    let truth = bench.truth();
    assert!(truth.ends_with("received \"\""), "{truth}");
    drop(bench.child.stdin.take());
    assert_eq!(bench.child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_polled_stand_in_on_a_line_is_only_asked_for_its_weight() {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("scale");
    let mut bench = Bench::open(&format!("pty:{}", link.display()), &["--polled", "--division", "0.2"]);
    assert!(
        bench.address.starts_with("serial:") && bench.address.contains("division=0.2"),
        "{}",
        bench.address
    );
    bench.tell("load 100.2");
    heard_steady_at(&bench.address, "100.2");
    let truth = bench.truth();
    let received = truth.split('"').nth(1).unwrap().replace("\\nW\\r", "");
    assert_eq!(received, "", "{truth}");
    bench.tell("quit");
    assert_eq!(bench.child.wait().unwrap().code(), Some(0));
    assert!(fs::symlink_metadata(&link).is_err(), "the link is left behind");
}

#[test]
fn a_recording_is_played_back() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("new.tape");
    let file = file.to_str().unwrap();
    let output = run(&["tape", "virtual:?seed=3", file, "--seconds", "1"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let played = run(&["listen", &format!("tape:{file}?speed=full"), "--json", "--count", "2"]);
    assert_eq!(code(&played), 0, "{}", err(&played));
    assert!(out(&played).contains("\"value\":\"21.4\""), "{}", out(&played));
    let again = run(&["tape", "virtual:", file, "--seconds", "1"]);
    assert_eq!(code(&again), 1);
    assert!(err(&again).contains("choose another name"), "{}", err(&again));
    let nowhere = run(&["tape", "virtual:", "/no/such/folder/new.tape", "--seconds", "1"]);
    assert_eq!(code(&nowhere), 1);
    assert!(err(&nowhere).contains("The folder has to be there"), "{}", err(&nowhere));
}

#[test]
fn what_could_not_be_opened_was_not_heard() {
    let folder = tempfile::tempdir().unwrap();
    for path in [folder.path().to_path_buf(), folder.path().join("gone")] {
        let output = run(&["listen", &format!("serial:{}?shape=sma", path.display()), "--seconds", "1"]);
        assert_eq!(code(&output), 1, "{}", err(&output));
        assert!(err(&output).contains("nothing was heard"), "{}", err(&output));
    }
}

#[test]
fn a_tape_that_does_not_say_its_format_says_how_to_look_at_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("unknown.tape");
    fs::write(&file, "0 53 47 2b 20 31 0d 0a\n").unwrap();
    let address = format!("tape:{}", file.display());
    let output = run(&["listen", &address]);
    assert!(err(&output).contains("tape:FILE?shape=none"), "{}", err(&output));
    let shown = out(&run(&["listen", &format!("{address}?shape=none")]));
    assert!(shown.contains("SG+ 1"), "{shown}");
}

#[test]
fn ports_are_listed_without_sending_anything() {
    let output = run(&["ports", "--json"]);
    let ports = json(&output);
    for port in ports["ports"].as_array().unwrap() {
        assert!(port["path"].as_str().unwrap().starts_with('/') && port["heard"].is_null(), "{port}");
    }
    if ports["ports"].as_array().unwrap().is_empty() {
        assert!(err(&run(&["ports"])).contains("There is no serial port"));
    }
}

#[test]
fn check_says_what_is_well_and_what_is_not() {
    let output = in_demo_shop(&["check", "--scale", "virtual:", "--json"]);
    let result = json(&output);
    assert_eq!(result["well"], true);
    let says = |check: &str| {
        let checks = result["checks"].as_array().unwrap();
        checks.iter().find(|finding| finding["check"] == check).unwrap()["says"].as_str().unwrap().to_owned()
    };
    assert!(says("files").contains("16 colours"), "{}", says("files"));
    let daily = says("daily");
    assert!(daily.contains("'virtual bench'"), "{daily}");
    assert!(says("scale").contains("stands at 21.4 g"), "{}", says("scale"));

    // A mistake in a file is shown with its line, and is a failure.
    let shop = small_shop();
    fs::write(shop.path().join("colours/bad.toml"), "code = \"T-2\"\nname = \"Bad\"\nfinisch = \"x\"\n")
        .unwrap();
    let output = in_shop(shop.path(), &["check"]);
    assert_eq!(code(&output), 1);
    assert!(out(&output).contains("WRONG  files") && out(&output).contains("finisch"), "{}", out(&output));
    // A command that can do without it goes on, with a word.
    let output = in_shop(shop.path(), &["targets", "T-1", "--layer", "base", "--volume", "100 mL"]);
    assert_eq!(code(&output), 0);
    assert!(err(&output).contains("pourbook check"), "{}", err(&output));

    let output = in_demo_shop(&["check", "--scale", "tape:no-such.tape"]);
    assert_eq!(code(&output), 1);
    assert!(out(&output).contains("WRONG  scale"), "{}", out(&output));
}

/// The daily check as a shop meets it: never done, done, failed, and with a shop that refuses to weigh without.
#[test]
fn check_says_how_the_scale_stands() {
    use pourbook::book::{By, Envelope, Ids, Opened, SqliteStore, Store};
    use pourbook::metrology::{Check, Repeatability, ScaleEvent};
    use pourbook::units::{Grams, Stamp};

    let shop = small_shop();
    let sheet = |when_overdue: &str| {
        let text = format!(
            "[scale]\nname = \"bench\"\nmax = 7500\nd = \"0.1\"\nclass = \"II\"\nusual_load = 2000\n\
             when_overdue = \"{when_overdue}\"\n\n\
             [[weight]]\nid = \"half\"\nnominal = 500\nclass = \"M1\"\n\n\
             [[weight]]\nid = \"two\"\nnominal = 2000\nclass = \"M1\"\n"
        );
        fs::write(shop.path().join("scale.toml"), text).unwrap();
    };
    let book = shop.path().join("book.sqlite");
    let told = || {
        let output = in_shop(shop.path(), &["check", "--json", "--book", book.to_str().unwrap()]);
        let result: Value = serde_json::from_str(&out(&output)).unwrap();
        let checks = result["checks"].as_array().unwrap().clone();
        let daily = checks.into_iter().filter(|finding| finding["check"] == "daily");
        daily
            .map(|finding| (finding["state"].as_str().unwrap().to_owned(), finding["says"].to_string()))
            .collect::<Vec<_>>()
    };

    sheet("say");
    let [(state, standing), (_, weight)] = &told()[..] else { panic!("{:?}", told()) };
    assert!(state == "note" && standing.contains("'bench' was never checked"), "{standing}");
    // The 2 kg weight is nearer the usual load, and too coarse: OIML R 76-1:2006 and R 111-1:2004.
    assert!(weight.contains("check with 'half' (500 g, class M1): ±0.1 g allowed"), "{weight}");
    sheet("refuse");
    let (state, standing) = told().swap_remove(0);
    assert!(state == "wrong" && standing.contains("begins no mix"), "{standing}");

    let scale = pourbook::catalogue::Catalogue::load(shop.path()).scale.unwrap();
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    let now = Stamp(i64::try_from(now.as_micros()).unwrap());
    let g = |text: &str| Grams::parse(text).unwrap();
    let write = |event: &ScaleEvent, at: Stamp| {
        let Opened::ToWrite(mut store) = SqliteStore::open(&book, at).unwrap() else { panic!("it is free") };
        let by = By { bench: "bench 1".into(), operator: "Robin".into() };
        store.append(&Envelope::of_scale(event, Ids::fresh().event(at), at, &by).unwrap()).unwrap();
    };
    let checked = |reading: &str| {
        ScaleEvent::Checked(Check::new(&scale.scale, &scale.weights[0], g("0.0"), g(reading)).unwrap())
    };
    write(&checked("500.1"), Stamp(now.0 - 3 * 86_400_000_000));
    let (state, standing) = told().swap_remove(0);
    assert!(state == "wrong" && standing.contains("a check is overdue; the last was 20"), "{standing}");
    write(&checked("500.2"), now);
    let (state, standing) = told().swap_remove(0);
    assert!(
        state == "wrong" && standing.contains("FAILED, off: +0.2 g with 'half', ±0.1 g allowed (by Robin)"),
        "{standing}"
    );
    write(&checked("499.9"), now);
    let mut readings = vec![g("500.0"); 9];
    readings.push(g("500.1"));
    write(&ScaleEvent::Repeatability(Repeatability::measure("bench", scale.scale.d, readings).unwrap()), now);
    let [(state, standing), _, (_, repeated)] = &told()[..] else { panic!("{:?}", told()) };
    // Whoever runs this over midnight has a check of yesterday.
    assert!(
        state == "well" && standing.contains("right: -0.1 g") || standing.contains("overdue"),
        "{standing}"
    );
    assert!(repeated.contains("s = 0.031623 g from 10 weighings"), "{repeated}");
}
