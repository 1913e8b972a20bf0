//! The program, run with nothing from the environment, and what it said.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_pourbook");

pub(crate) fn demo_shop() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("formulas-demo")
}

/// The program with nothing from the environment that could lead it to a real shop or scale.
pub(crate) fn program() -> Command {
    let mut command = Command::new(PROGRAM);
    for name in ["POURBOOK_SHOP", "POURBOOK_BOOK", "POURBOOK_SCALE", "POURBOOK_LOG", "POURBOOK_SETTINGS"] {
        command.env_remove(name);
    }
    // Whoever runs the tests has settings of their own.
    command.env("POURBOOK_SETTINGS", "no-such-settings.toml");
    command.stdin(Stdio::null());
    command
}

pub(crate) fn run(args: &[&str]) -> Output {
    program().args(args).output().unwrap()
}

pub(crate) fn in_demo_shop(args: &[&str]) -> Output {
    program().arg("--shop").arg(demo_shop()).args(args).output().unwrap()
}

pub(crate) fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub(crate) fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

pub(crate) fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// What it said, having ended well.
pub(crate) fn told(output: &Output) -> String {
    assert_eq!(code(output), 0, "{}", err(output));
    out(output)
}

pub(crate) fn json(output: &Output) -> Value {
    serde_json::from_str(&told(output)).unwrap()
}

/// A number in JSON must be text, so that no reader turns it into a float on the way.
pub(crate) fn decimal(value: &Value) -> f64 {
    let text = value.as_str().unwrap_or_else(|| panic!("{value} is not text"));
    assert!(text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b'-'), "{text}");
    text.parse().unwrap()
}

pub(crate) fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

/// A shop that can be worked by hand: A and B half and half, both 1 g/mL, 1 %, 10 a litre; C is in no formula;
/// D weighs 2 g/mL.
pub(crate) fn small_shop() -> tempfile::TempDir {
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

pub(crate) fn in_shop(shop: &Path, args: &[&str]) -> Output {
    program().arg("--shop").arg(shop).args(args).output().unwrap()
}
