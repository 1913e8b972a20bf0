//! The commands as a user meets them: the real program, its output, its errors and how it ends.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pourbook");

fn demo_shop() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("formulas-demo")
}

/// The program with nothing from the environment that could lead it to a real shop or scale.
fn program() -> Command {
    let mut command = Command::new(PROGRAM);
    for name in ["POURBOOK_SHOP", "POURBOOK_BOOK", "POURBOOK_SCALE", "POURBOOK_LOG"] {
        command.env_remove(name);
    }
    command.stdin(Stdio::null());
    command
}

fn run(args: &[&str]) -> Output {
    program().args(args).output().unwrap()
}

fn in_demo_shop(args: &[&str]) -> Output {
    program().arg("--shop").arg(demo_shop()).args(args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn json(output: &Output) -> Value {
    assert_eq!(code(output), 0, "{}", err(output));
    serde_json::from_str(&out(output)).unwrap()
}

/// A number in JSON must be text, so that no reader turns it into a float on the way.
fn decimal(value: &Value) -> f64 {
    let text = value.as_str().unwrap_or_else(|| panic!("{value} is not text"));
    assert!(text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b'-'), "{text}");
    text.parse().unwrap()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

/// A shop that can be worked by hand: A and B half and half, both 1 g/mL, 1 %, 10 a litre; C is in no formula;
/// D weighs 2 g/mL.
fn small_shop() -> tempfile::TempDir {
    let shop = tempfile::tempdir().unwrap();
    let toner = |code: &str, density: &str| {
        format!(
            "[[toner]]\ncode = \"{code}\"\nname = \"toner {code}\"\nkind = \"solid\"\ndensity = \"{density}\"\nprice = \"10\"\n\n"
        )
    };
    let toners = [("A", "1"), ("B", "1"), ("C", "1"), ("D", "2")].map(|(code, density)| toner(code, density));
    fs::write(shop.path().join("toners.toml"), toners.concat()).unwrap();
    let cups = "[[cup]]\nname = \"small\"\ntare = \"10\"\nbrim = \"103.5\"\n";
    fs::write(shop.path().join("cups.toml"), cups).unwrap();
    fs::create_dir(shop.path().join("colours")).unwrap();
    let colour = "code = \"T-1\"\nname = \"Half and Half\"\nfinish = \"single-stage\"\n\n\
        [[layer]]\nrole = \"base\"\npours = [{ toner = \"A\", parts = \"1\" }, { toner = \"B\", parts = \"1\" }]\n\n\
        [[layer]]\nrole = \"undercoat\"\npours = [{ toner = \"A\", parts = \"1\" }, { toner = \"D\", parts = \"1\" }]\n";
    fs::write(shop.path().join("colours/half.toml"), colour).unwrap();
    shop
}

fn in_shop(shop: &Path, args: &[&str]) -> Output {
    program().arg("--shop").arg(shop).args(args).output().unwrap()
}

#[test]
fn targets_worked_by_hand() {
    let shop = small_shop();
    // One part of 1 g/mL and one of 2 g/mL: 2 g fill 1.5 mL, so 100 mL weigh 133.333… g, half of each.
    let targets = in_shop(
        shop.path(),
        &["targets", "T-1", "--layer", "undercoat", "--volume", "100 mL", "--division", "0.05", "--json"],
    );
    let targets = json(&targets);
    let expected = serde_json::json!({
        "colour": "T-1", "layer": "undercoat", "division_g": "0.05",
        "total_mass_g": "133.333333", "total_volume_ml": "100.000000",
        "pours": [
            { "toner": "A", "target_g": "66.666667", "cumulative_g": "66.666667", "shown_g": "66.65", "weighable": true },
            { "toner": "D", "target_g": "66.666667", "cumulative_g": "133.333333", "shown_g": "66.70", "weighable": true },
        ],
    });
    assert_eq!(targets, expected);
}

#[test]
fn targets_of_the_demo_shop_add_up() {
    let args = ["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL", "--json"];
    let output = in_demo_shop(&args);
    // The order of the keys is part of what is promised.
    assert!(out(&output).starts_with(
        "{\"colour\":\"PB-3140\",\"layer\":\"ground\",\"division_g\":\"0.1\",\"total_mass_g\":"
    ));
    let targets = json(&output);
    // Worked in exact fractions from the files: 350 · Σp / Σ(p/ρ) = 478.7502209…
    assert_eq!(targets["total_mass_g"], "478.750221");
    let expected = [
        ("M80", "75.163785", true),
        ("W10", "388.936679", true),
        ("K05", "1.508063", false),
        ("Y41", "10.341005", true),
        ("B15", "2.082563", false),
        ("R20", "0.718125", false),
    ];
    let pours = targets["pours"].as_array().unwrap();
    assert_eq!(pours.len(), expected.len());
    let mut shown = 0.0;
    for (pour, (toner, target, weighable)) in pours.iter().zip(expected) {
        assert_eq!(pour["toner"], toner);
        assert_eq!(pour["target_g"], target);
        // 2 · 0.41 · 0.1 g / 1 % = 8.2 g is the least that can be weighed (USP 41's form).
        assert_eq!(pour["weighable"], weighable);
        shown += decimal(&pour["shown_g"]);
        assert!((shown - decimal(&pour["cumulative_g"])).abs() <= 0.05 + 1e-6, "{pour}");
        assert_eq!(pour["shown_g"].as_str().unwrap().split_once('.').unwrap().1.len(), 1);
    }
    assert!((shown - 478.8).abs() < 1e-9);
}

#[test]
fn targets_in_another_order_and_unit() {
    let args = [
        "targets",
        "gannet white",
        "--layer",
        "ground coat",
        "--volume",
        "12 fl oz",
        "--order",
        "least-risk",
        "--json",
    ];
    let targets = json(&in_demo_shop(&args));
    // 12 US fluid ounces are 354.88235475 mL by definition.
    assert_eq!(targets["total_volume_ml"], "354.882355");
    assert_eq!(targets["total_mass_g"], "485.428588");
    let order: Vec<_> =
        targets["pours"].as_array().unwrap().iter().map(|pour| pour["toner"].clone()).collect();
    // The binder stays first, as its file wants; then from the smallest up.
    assert_eq!(order, ["M80", "R20", "K05", "B15", "Y41", "W10"]);
}

#[test]
fn targets_as_a_table() {
    let output = in_demo_shop(&["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL"]);
    let text = out(&output);
    assert_eq!(code(&output), 0);
    assert!(text.contains("PB-3140 Gannet White · ground coat"), "{text}");
    assert!(text.contains("M80    colour binder    75.164    75.2      75.2\n"), "{text}");
    assert!(
        text.contains("K05    carbon black      1.508     1.5     465.6  too small to weigh\n"),
        "{text}"
    );
    // 8.2 g of R20 need 8.2 / 0.718125… times the 350 mL: 3996.5 mL.
    assert!(text.contains("From 3997 mL on"), "{text}");
    assert_eq!(err(&output), "");
}

#[test]
fn corrections_worked_by_hand() {
    let shop = small_shop();
    // 100 g were asked for, half of each; 52 g of A are in the cup. Right is within 0.5 g, or 1 %.
    let args = [
        "correct",
        "T-1",
        "--layer",
        "base",
        "--volume",
        "100 mL",
        "--poured",
        "A=50.5",
        "--poured",
        "a=1.5",
        "--cup",
        "small",
        "--capacity",
        "114",
        "--json",
    ];
    let output = in_shop(shop.path(), &args);
    let result = json(&output);
    assert_eq!(keys(&result).len(), 3);
    assert_eq!(result["in_cup_g"], "52.000000");
    assert_eq!(result["ordered_mass_g"], "100.000000");
    let options = result["options"].as_array().unwrap();
    let mut names: Vec<_> = options.iter().map(|option| option["option"].as_str().unwrap()).collect();
    let option = |name: &str| options.iter().find(|option| option["option"] == name).unwrap();

    // 104 g of half and half: 52 of each. It costs 4 mL at 10 a litre; 104 mL are beyond the brim of 103.5,
    // and with the cup's 10 g just what the scale can weigh.
    assert_eq!(
        *option("exact"),
        serde_json::json!({
            "option": "exact", "final_mass_g": "104.000000", "final_volume_ml": "104.000000",
            "extra_mass_g": "4.000000", "extra_cost": "0.040000", "draw_off_g": "0.000000",
            "worst_deviation": "0.000000", "fits_cup": false, "fits_scale": true,
            "add": [{ "toner": "B", "mass_g": "52.000000" }],
        })
    );
    // 52 = 0.505 T: T = 102.970297…, rounded up; A is then 1 % too much of it.
    let smallest = option("smallest");
    assert_eq!(smallest["final_mass_g"], "102.970298");
    assert_eq!(smallest["add"], serde_json::json!([{ "toner": "B", "mass_g": "50.970298" }]));
    assert!((decimal(&smallest["worst_deviation"]).abs() - 0.01).abs() < 1e-6);
    assert_eq!(smallest["fits_cup"], true);
    // 50.5 of 52 may stay: 1.5 g out; then 49.5 of B make 100.
    let draw_off = option("draw-off");
    assert_eq!(draw_off["draw_off_g"], "1.500000");
    assert_eq!(draw_off["final_mass_g"], "100.000000");
    assert_eq!(draw_off["extra_cost"], "0.015000");
    assert_eq!(draw_off["add"], serde_json::json!([{ "toner": "B", "mass_g": "49.500000" }]));
    // Left as it is: 52 and 50, where 51 and 51 were right: A is 1/51 too much.
    let leave = option("leave");
    assert_eq!(leave["final_mass_g"], "102.000000");
    assert!((decimal(&leave["worst_deviation"]).abs() - 1.0 / 51.0).abs() < 1e-6);
    // Start again: 52 g thrown away.
    let restart = option("restart");
    assert_eq!(restart["extra_cost"], "0.520000");
    assert_eq!(restart["add"][0], serde_json::json!({ "toner": "A", "mass_g": "50.000000" }));

    // The most sparing that comes right stands first, starting again last.
    assert_eq!((names[0], names[5]), ("draw-off", "restart"));
    names.sort_unstable();
    assert_eq!(names, ["draw-off", "exact", "fit", "leave", "restart", "smallest"]);
}

#[test]
fn what_is_not_known_is_not_said() {
    let shop = small_shop();
    let args = ["correct", "T-1", "--layer", "base", "--volume", "100 mL", "--poured", "A=52", "--json"];
    let result = json(&in_shop(shop.path(), &args));
    for option in result["options"].as_array().unwrap() {
        assert!(option["fits_cup"].is_null() && option["fits_scale"].is_null(), "{option}");
    }
}

#[test]
fn a_wrong_toner_leaves_two_ways() {
    let shop = small_shop();
    let common = ["correct", "T-1", "--layer", "base", "--volume", "100 mL", "--poured", "C=3"];
    let result = json(&in_shop(shop.path(), &[&common[..], &["--json"]].concat()));
    let names: Vec<_> =
        result["options"].as_array().unwrap().iter().map(|option| option["option"].clone()).collect();
    assert_eq!(names, ["leave", "restart"]);
    let text = out(&in_shop(shop.path(), &common));
    assert!(text.contains("C is not in this formula: its 3.0 g would be 2.9 %"), "{text}");
    // A toner that nobody knows is more likely mistyped.
    let output =
        in_shop(shop.path(), &["correct", "T-1", "--layer", "base", "--volume", "100 mL", "--poured", "X=3"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("no toner 'X'") && err(&output).contains("A, B"), "{}", err(&output));
}

#[test]
fn corrections_as_a_table() {
    let shop = small_shop();
    let args =
        ["correct", "T-1", "--layer", "base", "--volume", "100 mL", "--poured", "A=52", "--cup", "small"];
    let output = in_shop(shop.path(), &args);
    let text = out(&output);
    assert!(text.contains("A is 2.00 g over (right is within 0.50 g)."), "{text}");
    assert!(text.contains("stir, draw off 1.5 g, then go on"), "{text}");
    assert!(text.contains("A +2.0 %") && text.contains("does not fit the cup"), "{text}");
    assert!(text.lines().all(|line| line.len() <= 100), "{text}");
}

#[test]
fn errors_say_what_to_do_and_end_with_their_code() {
    let cases: &[(&[&str], i32, &str)] = &[
        (&["targets", "PB-3140", "--layer", "ground", "--volume", "350"], 2, "has no unit"),
        (&["targets", "PB-3140", "--layer", "top", "--volume", "350 mL"], 2, "one of undercoat, ground"),
        (&["targets", "PB-3140", "--volume", "350 mL"], 2, "--layer"),
        (
            &["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL", "--division", "0"],
            2,
            "more than nothing",
        ),
        (
            &["targets", "PB-3140", "--layer", "base", "--volume", "350 mL"],
            1,
            "undercoat, ground, pearl, blender",
        ),
        (&["targets", "Ganet Wite", "--layer", "ground", "--volume", "1 L"], 1, "PB-3140  Gannet White"),
        (&["targets", "PB-31", "--layer", "ground", "--volume", "1 L"], 1, "Name one by its code"),
        (&["correct", "PB-3140", "--layer", "ground", "--volume", "1 L"], 2, "--poured"),
        (
            &["correct", "PB-3140", "--layer", "ground", "--volume", "1 L", "--poured", "W10"],
            2,
            "as W10=201.3",
        ),
        (
            &[
                "correct", "PB-3140", "--layer", "ground", "--volume", "1 L", "--poured", "W10=1", "--cup",
                "9",
            ],
            1,
            "The cups are: 175, 350",
        ),
        (&["listen"], 2, "no scale was named"),
        (&["listen", "usb:0"], 2, "begin with serial:"),
        (&["listen", "tape:no-such.tape"], 1, "the tape cannot be played"),
        (&["stand-in", "--at", "tcp:0", "--shape", "sna"], 2, "did you mean sma?"),
        (&["stand-in", "--at", "here", "--shape", "sma"], 2, "pty:PATH, tcp:PORT or rfc2217:PORT"),
        (&["pour"], 2, "unrecognized subcommand"),
    ];
    for (args, ends_with, says) in cases {
        let output = in_demo_shop(args);
        assert_eq!(code(&output), *ends_with, "{args:?}: {}", err(&output));
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
        assert_eq!(out(&output), "", "{args:?}");
    }
}

#[test]
fn without_a_shop_it_says_how_to_get_one() {
    let home = tempfile::tempdir().unwrap();
    let at_home = |args: &[&str]| {
        program().env("HOME", home.path()).env_remove("XDG_CONFIG_HOME").args(args).output().unwrap()
    };
    let args = ["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL"];
    let output = at_home(&args);
    assert_eq!(code(&output), 1);
    assert!(
        err(&output).contains("--shop DIR") && err(&output).contains("pourbook demo"),
        "{}",
        err(&output)
    );
    assert_eq!(code(&at_home(&[&args[..], &["--demo-shop"]].concat())), 0);
    // The environment stands for the option, and the option goes before it.
    let mut command = program();
    command.env("HOME", home.path()).env("POURBOOK_SHOP", demo_shop()).args(args);
    assert_eq!(code(&command.output().unwrap()), 0);
    command.args(["--shop", "no-such-shop"]);
    let output = command.output().unwrap();
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("no-such-shop"), "{}", err(&output));
}

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

#[test]
fn a_reader_that_leaves_is_no_failure() {
    let mut child = program()
        .args(["listen", "virtual:", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut first = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut first).unwrap();
    assert!(first.contains("\"state\":\"ok\""), "{first}");
    // The reader is dropped with its end of the pipe: the next line has nowhere to go.
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn an_interrupt_ends_listening_well() {
    let mut child = program()
        .args(["listen", "virtual:", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
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

#[test]
fn the_log_is_only_for_its_owner_and_only_when_asked_for() {
    use std::os::unix::fs::PermissionsExt;
    let home = tempfile::tempdir().unwrap();
    let args = ["targets", "none", "--layer", "ground", "--volume", "1 L", "--demo-shop"];
    let mut command = program();
    command.env("HOME", home.path()).env_remove("XDG_STATE_HOME").args(args);
    command.output().unwrap();
    let log = home.path().join(".local/state/pourbook/pourbook.log");
    assert!(!log.exists());
    command.env("POURBOOK_LOG", "debug").output().unwrap();
    assert!(fs::read_to_string(&log).unwrap().contains("no colour 'none'"));
    assert_eq!(fs::metadata(&log).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn every_command_has_a_help_text() {
    let help = out(&run(&["--help"]));
    for command in ["demo", "targets", "correct", "ports", "listen", "tape", "stand-in", "check"] {
        assert!(help.contains(&format!("  {command} ")), "{command} is not in {help}");
        let output = run(&[command, "--help"]);
        assert_eq!(code(&output), 0);
        let text = out(&output);
        assert!(text.contains("Usage: pourbook") && text.contains("--shop <DIR>"), "{text}");
    }
    assert!(help.contains("serial:/dev/ttyUSB0"));
    assert_eq!(code(&run(&["--version"])), 0);
}
