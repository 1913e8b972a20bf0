use super::*;
use crate::scale::shape::{Decoded, field};
use crate::scale::{Condition, Mode, Stability};
use crate::units::{Decimal, MassUnit};
use proptest::prelude::*;
use rstest::rstest;

/// What every description needs besides.
const REST: &str =
    "name = \"x\"\nend = \"CR LF\"\nstable = { at = 1, is = \"S\" }\nmoving = { at = 1, is = \"M\" }\n";

fn described(text: &str) -> &'static Described {
    Described::parse("x.toml", text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn decode(shape: &dyn Shape, bytes: &[u8]) -> Vec<Decoded> {
    let mut out = Vec::new();
    shape.decoder().push(bytes, &mut out);
    out
}

/// What the first frame says, in words.
fn said(shape: &dyn Shape, bytes: &str) -> String {
    match decode(shape, bytes.as_bytes()).as_slice() {
        [Decoded::Frame(frame)] => {
            let value = frame.value.map_or("-".to_owned(), |value| value.to_string());
            let unit = frame.unit.map_or("-", MassUnit::symbol);
            format!("{value} {unit} {:?} {:?} {:?}", frame.stability, frame.mode, frame.condition)
        }
        [Decoded::Noise(count)] => format!("noise {count}"),
        other => format!("{other:?}"),
    }
}

#[rstest]
#[case::columns("value = \"3-10\"\nunit = \"12-13\"", "S    12.30 g \r\n", "12.30 g Stable Unknown Ok")]
#[case::moving("value = \"3-10\"\nunit = \"12-13\"", "M   -12.30 kg\r\n", "-12.30 kg Moving Unknown Ok")]
#[case::neither("value = \"3-10\"\nunit = \"12-13\"", "X    12.30 g \r\n", "noise 15")]
#[case::fixed_unit("value = \"3-10\"\nunit = \"kg\"", "S    12.30\r\n", "12.30 kg Stable Unknown Ok")]
#[case::to_the_end("value = \"3-10\"\nunit = \"12-\"", "S    12.30 ozt\r\n", "12.30 ozt Stable Unknown Ok")]
#[case::unit_right(
    "value = \"3-10\"\nunit = { at = \"12-13\", align = \"right\" }",
    "S    12.30  g\r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::unit_shifted("value = \"3-10\"\nunit = \"12-13\"", "S    12.30  g\r\n", "noise 15")]
#[case::own_words(
    "value = \"3-10\"\nunit = \"12-13\"\nunits = { gr = \"g\", L1 = \"lb\" }",
    "S    12.30 gr\r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::own_words(
    "value = \"3-10\"\nunit = \"12-13\"\nunits = { gr = \"g\", L1 = \"lb\" }",
    "S    12.30 L1\r\n",
    "12.30 lb Stable Unknown Ok"
)]
#[case::unknown_unit("value = \"3-10\"\nunit = \"12-14\"", "S    12.30 mom\r\n", "12.30 - Stable Unknown Ok")]
#[case::sign("sign = 2\nvalue = \"3-10\"\nunit = \"g\"", "S-   12.30\r\n", "-12.30 g Stable Unknown Ok")]
#[case::sign_blank("sign = 2\nvalue = \"3-10\"\nunit = \"g\"", "S    12.30\r\n", "12.30 g Stable Unknown Ok")]
#[case::sign_twice("sign = 2\nvalue = \"3-10\"\nunit = \"g\"", "S-  -12.30\r\n", "noise 12")]
#[case::sign_own(
    "sign = { at = 2, minus = \"N\", plus = [\"P\", \"0\"] }\nvalue = \"3-10\"\nunit = \"g\"",
    "SN   12.30\r\n",
    "-12.30 g Stable Unknown Ok"
)]
#[case::sign_none(
    "sign = { at = 2, minus = \"N\", plus = \"P\" }\nvalue = \"3-10\"\nunit = \"g\"",
    "S    12.30\r\n",
    "noise 12"
)]
#[case::zeros(
    "value = { at = \"3-10\", zeros = true }\nunit = \"g\"",
    "S -0012.30\r\n",
    "-12.30 g Stable Unknown Ok"
)]
#[case::zeros_blank("value = { at = \"3-10\", zeros = true }\nunit = \"g\"", "S    12.30\r\n", "noise 12")]
#[case::left(
    "value = { at = \"3-10\", align = \"left\" }\nunit = \"g\"",
    "S 12.30   \r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::comma(
    "value = { at = \"3-10\", point = \",\" }\nunit = \"g\"",
    "S    12,30\r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::implied(
    "value = { at = \"3-10\", decimals = 2 }\nunit = \"g\"",
    "S     1230\r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::length(
    "value = \"3-10\"\nunit = \"g\"\nlength = [10, 12]",
    "S    12.30  \r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::length_other("value = \"3-10\"\nunit = \"g\"\nlength = [10, 12]", "S    12.30 \r\n", "noise 13")]
#[case::always(
    "value = \"3-10\"\nunit = \"g\"\nalways = { 2 = \":\" }",
    "S:   12.30\r\n",
    "12.30 g Stable Unknown Ok"
)]
#[case::always_not("value = \"3-10\"\nunit = \"g\"\nalways = { 2 = \":\" }", "S;   12.30\r\n", "noise 12")]
#[case::gross(
    "value = \"3-10\"\nunit = \"g\"\ngross = { at = 2, is = \"G\" }\nnet = { at = 2, is = [\"N\", \"n\"] }",
    "Sn   12.30\r\n",
    "12.30 g Stable Net Ok"
)]
#[case::neither_gross(
    "value = \"3-10\"\nunit = \"g\"\ngross = { at = 2, is = \"G\" }\nnet = { at = 2, is = \"N\" }",
    "S?   12.30\r\n",
    "noise 12"
)]
#[case::over(
    "value = \"3-10\"\nunit = \"g\"\noverload = { at = \"3-10\", is = \"High\" }",
    "S   High  \r\n",
    "- g Unknown Unknown Over"
)]
#[case::under(
    "value = \"3-10\"\nunit = \"g\"\nunderload = { at = 1, is = \"U\" }",
    "U\r\n",
    "- g Unknown Unknown Under"
)]
#[case::not_ready(
    "value = \"3-10\"\nunit = \"g\"\nnot_ready = { at = \"1-\", is = [\"WAIT\", \"ADJUST\"] }",
    "ADJUST\r\n",
    "- g Unknown Unknown NotReady"
)]
#[case::fields("separator = \";\"\nvalue = 2\nunit = 3", "S;  12.30;g\r\n", "12.30 g Stable Unknown Ok")]
#[case::field_of_sign(
    "separator = \";\"\nsign = 2\nvalue = 3\nunit = 4\noverload = { at = 3, is = \"OVER\" }",
    "S;-;12.30; kg\r\n",
    "-12.30 kg Stable Unknown Ok"
)]
#[case::blanks("separator = \" \"\nvalue = 2\nunit = 3", "S      12.30   g\r\n", "12.30 g Stable Unknown Ok")]
#[case::tabs("separator = \"TAB\"\nvalue = 2\nunit = 3", "S\t12.30\tg\r\n", "12.30 g Stable Unknown Ok")]
#[case::a_field_short("separator = \";\"\nvalue = 2\nunit = 3", "S;12.30\r\n", "noise 9")]
fn each_key_means_what_it_says(#[case] keys: &str, #[case] line: &str, #[case] expected: &str) {
    assert_eq!(said(described(&format!("{REST}{keys}\n")), line), expected);
}

#[test]
fn a_format_without_a_mark_of_steadiness_is_warned_of_and_unknown() {
    let shape = described("name = \"x\"\nend = \"LF\"\nvalue = \"1-8\"\nunit = \"g\"\n");
    assert_eq!(said(shape, "   12.30\n"), "12.30 g Unknown Unknown Ok");
    let [remark] = shape.remarks() else { panic!("{:?}", shape.remarks()) };
    assert!(
        remark.starts_with("x.toml:3:9: warning\n") && remark.contains("a second of equal readings"),
        "{remark}"
    );
    assert!(described(&format!("{REST}value = \"3-10\"\nunit = \"g\"\n")).remarks().is_empty());
}

#[test]
fn a_unit_that_comes_and_goes_is_kept() {
    let shape =
        described("name = \"x\"\nend = \"CR\"\nvalue = \"1-8\"\nunit = \"10-11\"\nstable = \"unit\"\n");
    let frames = decode(shape, b"   12.30   \r   12.30 kg\r   12.31   \r");
    let told: Vec<_> = frames
        .iter()
        .map(|decoded| match decoded {
            Decoded::Frame(frame) => (frame.unit, frame.stability),
            other => panic!("{other:?}"),
        })
        .collect();
    let kg = Some(MassUnit::Kilogram);
    assert_eq!(told, [(None, Stability::Moving), (kg, Stability::Stable), (kg, Stability::Moving)]);
}

/// One column that tells moving, and gross or net once it stands still.
#[test]
fn one_place_may_tell_two_things() {
    let shape = described(
        "name = \"x\"\nstart = \"STX\"\nend = \"ETX\"\nlength = 9\nsign = 1\nvalue = \"2-8\"\nunit = \"g\"\n\
         stable = { at = 9, is = [\"G\", \"N\"] }\nmoving = { at = 9, is = \"M\" }\n\
         gross = { at = 9, is = \"G\" }\nnet = { at = 9, is = \"N\" }\noverload = { at = 9, is = \"O\" }\n",
    );
    assert_eq!(said(shape, "\x02   12.30G\x03"), "12.30 g Stable Gross Ok");
    assert_eq!(said(shape, "\x02-  12.30N\x03"), "-12.30 g Stable Net Ok");
    assert_eq!(said(shape, "\x02   12.30M\x03"), "12.30 g Moving Unknown Ok");
    assert_eq!(said(shape, "\x02        O\x03"), "- g Unknown Unknown Over");
    assert_eq!(said(shape, "\x02   12.30X\x03"), "noise 11");
    for (stability, mode, letter) in [
        (Stability::Stable, Mode::Net, 'N'),
        (Stability::Stable, Mode::Unknown, 'G'),
        (Stability::Moving, Mode::Unknown, 'M'),
    ] {
        let frame = Frame { stability, mode, ..weight("12.30") };
        let sent = String::from_utf8(shape.encode(&frame)).unwrap();
        assert_eq!(sent, format!("\x02+  12.30{letter}\x03"));
    }
    assert!(
        shape.encode(&Frame { stability: Stability::Moving, mode: Mode::Net, ..weight("1.0") }).is_empty()
    );
}

fn weight(number: &str) -> Frame {
    Frame {
        value: Some(number.parse().unwrap()),
        unit: Some(MassUnit::Gram),
        unit_text: "g".into(),
        stability: Stability::Stable,
        ..field::no_number(Condition::Ok)
    }
}

#[test]
fn lines_are_cut_at_their_marks() {
    let open = described(&format!("{REST}value = \"3-6\"\nunit = \"g\"\n"));
    let frame = Decoded::Frame(weight("12.3"));
    assert_eq!(decode(open, b"S 12.3\r\nS 12.3\r\n"), [frame.clone(), frame.clone()]);
    assert_eq!(decode(open, b"12.3\r\n\r\nS 12.3\r\n"), [Decoded::Noise(6), frame.clone()]);
    // Half an end mark is damage, and costs the next line too.
    assert_eq!(decode(open, b"S 12.3\nS 12.3\r\n"), [Decoded::Noise(15)]);
    let long = [&[b'x'; 5000], b"\r\nS 12.3\r\n".as_slice()].concat();
    assert_eq!(decode(open, &long), [Decoded::Noise(5002), frame.clone()]);

    let fixed = "name = \"x\"\nstart = \"SOH STX\"\nlength = 5\nvalue = \"1-5\"\nunit = \"g\"\nstable = { at = 6, is = \"S\" }\n";
    let error = Described::parse("x.toml", fixed).unwrap_err().to_string();
    assert!(error.contains("'stable' reaches to column 6, and 'length' allows 5"), "{error}");
    let fixed = described(
        "name = \"x\"\nstart = \"SOH STX\"\nlength = 5\nvalue = \"2-5\"\nunit = \"g\"\nstable = { at = 1, is = \"S\" }\nmoving = { at = 1, is = \"M\" }\n",
    );
    assert_eq!(decode(fixed, b"\x01\x02S12.3\x01\x02S12.3"), [frame.clone(), frame.clone()]);
    assert_eq!(decode(fixed, b"xyz\x01\x02S12.3"), [Decoded::Noise(3), frame.clone()]);
    assert_eq!(decode(fixed, b"\x01\x02S12\x01\x02S12.3"), [Decoded::Noise(5), frame]);
}

#[test]
fn commands_go_out_and_are_understood() {
    let shape = described(&format!(
        "{REST}value = \"3-10\"\nunit = \"g\"\n[commands]\npoll = \"S\"\npoll_stable = \"SI<CR>\"\nzero = \"<ESC>Z\"\ntare = \"T<0d 0a>\"\n"
    ));
    assert_eq!(shape.ask(Ask::Now), Some(b"S".as_slice()));
    assert_eq!(shape.ask(Ask::Tare), Some(b"T\r\n".as_slice()));
    assert_eq!(shape.ask(Ask::ClearTare), None);
    assert_eq!(shape.understand(b"..\x1bZ.."), Some((Ask::Zero, 4)));
    assert_eq!(shape.understand(b"SI\r"), Some((Ask::WhenStable, 3)));
    assert_eq!(shape.understand(b"T\r"), None);
}

#[test]
fn the_same_file_is_the_same_format_until_it_changes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.toml");
    let text = format!("{REST}value = \"3-10\"\nunit = \"g\"\n");
    std::fs::write(&path, &text).unwrap();
    let first = Described::load(&path).unwrap();
    assert!(std::ptr::eq(first, Described::load(&path).unwrap()));
    std::fs::write(&path, text.replace("3-10", "3-11")).unwrap();
    assert!(!std::ptr::eq(first, Described::load(&path).unwrap()));
    let absent = Described::load(&folder.path().join("none.toml")).unwrap_err().to_string();
    assert!(absent.contains("none.toml: "), "{absent}");
}

/// `+` in front of a key's line: it is added to a whole description; `-` in front of a key: it is left out.
fn with(change: &str) -> String {
    let whole = "name = \"x\"\nend = \"CR LF\"\nvalue = \"3-10\"\nunit = \"12-13\"\nstable = { at = 1, is = \"S\" }\n";
    let left_out = change.strip_prefix('-');
    let added = change.strip_prefix('+');
    let key = left_out.or(added).and_then(|change| change.split([' ', '=']).next()).unwrap();
    let kept = whole.lines().filter(|line| !line.starts_with(&format!("{key} ")));
    let mut lines: Vec<&str> = kept.chain(added).collect();
    lines.push("");
    lines.join("\n")
}

#[rstest]
#[case("-name", "1:1: error", "There is no 'name'")]
#[case("-value", "1:1: error", "There is no 'value'. Expected where in the line")]
#[case("-unit", "1:1: error", "There is no 'unit'")]
#[case("-end", "1:1: error", "Nothing says where a line ends")]
#[case("+end = \"\"", "5:7: error", "'end' is empty")]
#[case("+name = \"My Scale\"", "5:8: error", "'My Scale' is no name")]
#[case("+name = \"sma\"", "5:8: error", "built in")]
#[case("+name = \"none\"", "5:8: error", "built in")]
#[case("+vaule = 3", "6:1: error", "'vaule' is no key here. Expected one of name, baud, line")]
#[case("+vaule = 3", "6:1: error", "Did you mean 'value'?")]
#[case("+not-ready = 3", "6:1: error", "Did you mean 'not_ready'?")]
#[case("+baud = 9600.5", "6:8: error", "'baud' is a number with a point. Expected a whole number from 50")]
#[case("+baud = 3", "6:8: error", "'baud' is 3. Expected a whole number from 50")]
#[case("+line = \"9N1\"", "6:8: error", "'9N1' is no line setting. Expected data bits")]
#[case("+end = \"CRLF\"", "5:7: error", "'CRLF' is no control character")]
#[case("+end = \"<CR\"", "5:7: error", "is not closed")]
#[case("+end = 13", "5:7: error", "'end' is a whole number. Expected control characters")]
#[case("+end = \". ,\"", "5:7: error", "only characters that a line holds")]
#[case("+start = \"30\"", "6:9: error", "'start' has only characters that a line holds")]
#[case("+start = \"LF\"", "2:7: error", "'end' holds 'start'")]
#[case("+length = 0", "6:10: error", "'length' is 0. Expected a whole number from 1 to 128")]
#[case("+length = [14, \"x\"]", "6:15: error", "This is no length")]
#[case("+length = 12", "4:8: error", "'unit' reaches to column 13, and 'length' allows 12")]
#[case("+separator = \"ab\"", "6:13: error", "'ab' cannot stand between fields")]
#[case("+separator = \".\"", "6:13: error", "'.' cannot stand between fields")]
#[case("+separator = \",\"", "3:9: error", "'value' is no place. With a 'separator' the number of a field")]
#[case("+value = \"10-3\"", "5:9: error", "'value' is no place. Expected columns")]
#[case("+value = 0", "5:9: error", "'value' is no place")]
#[case("+value = { at = \"3-10\", decimal = 1 }", "5:24: error", "Did you mean 'decimals'?")]
#[case("+value = { zeros = true }", "5:9: error", "'value' has no 'at'")]
#[case(
    "+value = { at = \"3-10\", zeros = 1 }",
    "5:32: error",
    "'zeros' is a whole number. Expected true or false"
)]
#[case("+value = { at = \"3-10\", align = \"rihgt\" }", "5:32: error", "Did you mean 'right'?")]
#[case("+value = { at = \"3-10\", decimals = 10 }", "5:35: error", "from 0 to 9")]
#[case("+value = { at = \"3-10\", decimals = 1, point = \",\" }", "5:46: error", "Leave one of them out")]
#[case("+value = \"3-12\"", "3:8: error", "'unit' (12-13) and 'value' (3-12) overlap")]
#[case("+value = \"1-10\"", "4:17: error", "'stable' (1) and 'value' (1-10) overlap")]
#[case("+sign = 3", "6:8: error", "'sign' (3) and 'value' (3-10) overlap")]
#[case("+sign = \"1-2\"", "6:8: error", "A sign is one character")]
#[case("+sign = { at = 2, minus = \"+\" }", "6:8: error", "cannot mean both")]
#[case("+sign = { at = 2, minus = \"--\" }", "6:26: error", "'minus' is '--'. Expected one character")]
#[case("+unit = \"gramm\"", "5:8: error", "'gramm' is no unit. Expected one of g, kg")]
#[case("+units = { gr = \"gram\" }", "6:16: error", "'gram' is no unit")]
#[case("+units = { \"g r\" = \"g\" }", "6:11: error", "'g r' is no word for a unit")]
#[case("+stable = \"S\"", "5:10: error", "'stable' has no place. Expected where stands what")]
#[case("+stable = { at = 1 }", "5:10: error", "'stable' has no 'is'")]
#[case("+stable = { at = 1, is = \"\" }", "5:25: error", "'stable' is empty")]
#[case("+stable = { at = 1, is = [] }", "5:25: error", "'stable' is an empty list")]
#[case(
    "+stable = { at = 1, is = \"ST\" }",
    "5:25: error",
    "'stable' can never be 'ST': 1 has 1 characters, and it has 2"
)]
#[case("+stable = { at = 1, is = \"é\" }", "5:25: error", "no printable ASCII")]
#[case("+stable = { at = \"12-13\", is = \"g\" }", "5:17: error", "is stable = \"unit\"")]
#[case("+moving = { at = 1, is = \"S\" }", "6:25: error", "'S' is both 'moving' and 'stable'")]
#[case("+overload = { at = 1, is = [\"O\", \"S\"] }", "6:33: error", "'S' is both 'overload' and 'stable'")]
#[case(
    "+gross = { at = 2, is = \"G\" }\nnet = { at = 2, is = [\"N\", \"G\"] }",
    "7:28: error",
    "'G' is both 'net' and 'gross'"
)]
#[case("-stable", "3:9: warning", "Nothing says whether the scale stands still")]
#[case("+always = { 2 = \"ab\" }", "6:16: error", "'ab' has 2 characters, and 2 is 1 wide")]
#[case("+always = { x = \"a\" }", "6:12: error", "'x' is no place")]
#[case("+always = { 3 = \"a\" }", "6:12: error", "'always' (3) and 'value' (3-10) overlap")]
#[case(
    "+always = { 2 = \",\" }\noverload = { at = \"1-2\", is = \"OL\" }",
    "7:19: error",
    "'overload' can never be there"
)]
#[case("+commands = { pol = \"W\" }", "6:14: error", "Did you mean 'poll'?")]
#[case("+commands = { poll = \"\" }", "6:21: error", "'poll' is empty")]
#[case("+commands = { poll = \"W<ENTER>\" }", "6:21: error", "'ENTER' is no control character")]
#[case(
    "+commands = { poll = \"T<CR>\", tare = \"T<CR>\" }",
    "6:21: error",
    "'poll' would do 'tare' again and again"
)]
#[case("+commands = { poll = \"Z<CR>W<CR>\", zero = \"Z<CR>\" }", "6:21: error", "'poll' would do 'zero'")]
#[case("+commands = { repeat = \"Z\", zero = \"Z\" }", "6:23: error", "'repeat' would do 'zero'")]
#[case("+commands = { poll = \"Z<CR>\" }", "6:21: warning", "many scales zero or tare at that")]
#[case(
    "+example = \"S    12.30 g\"",
    "6:11: error",
    "This example is not understood: what stands at 12-13 is no unit"
)]
#[case(
    "+example = [\"S    12.30 g \", \"S    12,30 g \"]",
    "6:29: error",
    "what stands at 3-10 is no number"
)]
#[case("+name = ", "5:8: error", "This cannot be read as TOML")]
fn mistakes_name_line_and_column(#[case] change: &str, #[case] place: &str, #[case] part: &str) {
    let text = with(change);
    let told = match Described::parse("x.toml", &text) {
        Ok(described) => described.remarks().join("\n"),
        Err(error) => error.to_string(),
    };
    let problems: Vec<&str> = told.split("x.toml:").skip(1).collect();
    let found = problems.iter().any(|problem| problem.starts_with(place) && problem.contains(part));
    assert!(found, "{place} … {part} is not in\n{told}\n{text}");
    if place.contains("warning") {
        assert!(Described::parse("x.toml", &text).is_ok() || change.starts_with("-stable"), "{told}");
    }
}

#[test]
fn every_mistake_is_named_at_once_from_the_top_down() {
    let text = "name = \"X Y\"\nbuad = 9600\nend = \"ETC\"\nvalue = \"5\"\nsign = 5\nunit = \"gg\"\nmoving = { at = 1, is = \"M\" }\n";
    let Err(DescriptionError::Mistakes(problems)) = Described::parse("x.toml", text) else { panic!() };
    let places: Vec<_> = problems.iter().map(|problem| (problem.line, problem.column)).collect();
    assert_eq!(places, [(1, 8), (2, 1), (3, 7), (5, 8), (6, 8), (7, 10)], "{problems:?}");
    let error = DescriptionError::Mistakes(problems).to_string();
    assert!(error.starts_with("the description of a format has 6 mistakes\nx.toml:1:8: error\n"), "{error}");
    assert!(
        error.contains(
            "\n  moving = { at = 1, is = \"M\" }\n           ^\n  There is 'moving', but no 'stable'."
        ),
        "{error}"
    );
}

/// Any description that is right: its text, and whether it tells gross from net.
fn descriptions() -> impl Strategy<Value = (String, bool)> {
    let form = (any::<bool>(), any::<bool>(), any::<bool>(), prop::option::of(0_u32..4));
    let parts = (any::<bool>(), 0_u8..4, any::<bool>(), 0_u8..3, any::<bool>(), any::<bool>());
    (form, parts, prop::sample::select(vec!["CR LF", "ETX", "0a", "; CR"])).prop_map(
        |((left, zeros, comma, decimals), (signed, units, fields, steady, modes, started), end)| {
            let place = |columns: &str, field: u8| {
                if fields { field.to_string() } else { format!("\"{columns}\"") }
            };
            let align = if left { "left" } else { "right" };
            let point = match decimals {
                Some(decimals) => format!("decimals = {decimals}"),
                None => format!("point = \"{}\"", if comma { ',' } else { '.' }),
            };
            let (number, unit, at) = (place("6-16", 4), place("18-20", 5), place("1-2", 1));
            let mut lines = vec![
                "name = \"any\"".to_owned(),
                format!("end = \"{end}\""),
                format!("value = {{ at = {number}, zeros = {zeros}, align = \"{align}\", {point} }}"),
                format!("overload = {{ at = {number}, is = \"HIGH\" }}"),
                format!("underload = {{ at = {number}, is = \"LOW\" }}"),
                if fields { "separator = \"|\"" } else { "always = { 3 = \",\" }\nlength = 24" }.to_owned(),
                match units {
                    0 => "unit = \"g\"".to_owned(),
                    1 => format!("unit = {unit}"),
                    2 => format!("unit = {{ at = {unit}, align = \"right\" }}"),
                    _ => format!("unit = {unit}\nunits = {{ gr = \"g\", KGS = \"kg\" }}"),
                },
                match (steady, units) {
                    (0, _) => String::new(),
                    (1, 1..) => "stable = \"unit\"".to_owned(),
                    _ => format!(
                        "stable = {{ at = {at}, is = [\"ST\", \"QT\"] }}\nmoving = {{ at = {at}, is = \"US\" }}"
                    ),
                },
            ];
            lines.extend(started.then(|| "start = \"STX\"".to_owned()));
            lines.extend(signed.then(|| format!("sign = {}", place("5", 3))));
            let at = place("22-23", 6);
            lines.extend(
                modes.then(|| format!("gross = {{ at = {at}, is = \"GS\" }}\nnet = {{ at = {at}, is = \"NT\" }}")),
            );
            let text = lines.join("\n");
            (text, modes)
        },
    )
}

/// What else comes over a line; none for a line as it should be.
fn scraps() -> impl Strategy<Value = Option<Vec<u8>>> {
    let marks = ["\r\n", "\r", "\n", ";", ";\r", "\x02", "\x02\x02", "\x03", "|", " ", "\x07"];
    prop_oneof![
        6 => Just(None),
        5 => prop::sample::select(marks.to_vec()).prop_map(|mark| Some(mark.into())),
        1 => prop::collection::vec(any::<u8>(), 0..30).prop_map(Some),
        // Around the longest line there may be.
        1 => (120_usize..200).prop_map(|length| Some(vec![b'0'; length])),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever is described: what it sends is read as it was meant, however the bytes are split.
    #[test]
    fn there_and_back(
        (text, modes) in descriptions(),
        frames in prop::collection::vec((-999_999_i64..=999_999, 0_u32..4, any::<bool>(), any::<bool>(), any::<bool>(), 0_u8..8), 1..6),
        piece in 1_usize..30,
    ) {
        let shape = described(&text);
        let told = !shape.remarks().iter().any(|remark| remark.contains("Nothing says"));
        let mut sent = Vec::new();
        let mut bytes = Vec::new();
        let mut unit = MassUnit::Gram;
        for (units, decimals, moving, kilograms, net, condition) in frames {
            let implied = text.split("decimals = ").nth(1).map(|rest| rest.chars().next().and_then(|digit| digit.to_digit(10)).unwrap());
            let moving = moving && told;
            // What a unit does that comes and goes is not said under an overload.
            if text.contains("\"unit\"") && condition < 2 {
                continue;
            }
            // While it moves, a unit that is not sent stays as it was.
            if !(text.contains("unit = \"g\"") || moving && text.contains("\"unit\"")) {
                unit = if kilograms { MassUnit::Kilogram } else { MassUnit::Gram };
            }
            let letters = match unit {
                MassUnit::Gram if text.contains("gr =") => "gr",
                MassUnit::Gram => "g",
                _ if text.contains("KGS") => "KGS",
                _ => "kg",
            };
            let condition = match condition { 0 => Condition::Over, 1 => Condition::Under, _ => Condition::Ok };
            let ok = condition == Condition::Ok;
            // A unit that was never sent cannot be kept: the first line stands still.
            let moving = moving && !(sent.is_empty() && text.contains("\"unit\""));
            let frame = Frame {
                value: ok.then(|| Decimal::new(units, implied.unwrap_or(decimals))),
                unit: Some(unit),
                unit_text: letters.into(),
                stability: match (ok && told, moving) {
                    (false, _) => Stability::Unknown,
                    (_, true) => Stability::Moving,
                    (_, false) => Stability::Stable,
                },
                mode: match (modes, net) { (false, _) => Mode::Unknown, (_, true) => Mode::Net, (_, false) => Mode::Gross },
                ..field::no_number(condition)
            };
            let line = shape.encode(&frame);
            prop_assert!(!line.is_empty(), "{frame:?} cannot be said by\n{text}");
            bytes.extend(line);
            sent.push(Decoded::Frame(frame));
        }
        let mut out = Vec::new();
        let mut decoder = shape.decoder();
        bytes.chunks(piece).for_each(|piece| decoder.push(piece, &mut out));
        let decimals = |decoded: &[Decoded]| -> Vec<String> {
            decoded.iter().map(|one| match one { Decoded::Frame(frame) => format!("{:?}", frame.value.map(|v| v.to_string())), _ => String::new() }).collect()
        };
        prop_assert_eq!(decimals(&out), decimals(&sent), "{}", text);
        prop_assert_eq!(out, sent, "{}", text);
    }

    /// Lines, torn ones, marks where none belong, lines that are too long: what is handed over at once is read as byte
    /// by byte, where nothing is ever handed over whole.
    #[test]
    fn a_torn_line_is_read_the_same_at_once_and_byte_by_byte(
        (text, _) in descriptions(),
        twice in any::<bool>(),
        scraps in prop::collection::vec((scraps(), 0_usize..60, 0_usize..60), 0..30),
        piece in 1_usize..60,
    ) {
        let start = if twice { "start = \"STX STX\"" } else { "start = \"STX\"" };
        let shape = described(&text.replace("start = \"STX\"", start));
        let line = [Stability::Stable, Stability::Unknown, Stability::Moving].map(|stability| {
            shape.encode(&Frame { stability, mode: Mode::Gross, ..weight("12.0") })
        }).concat();
        let mut bytes = Vec::new();
        for (scrap, from, to) in scraps {
            let scrap = scrap.unwrap_or_else(|| line.clone());
            bytes.extend(scrap.get(from / 2..scrap.len().saturating_sub(to / 2)).unwrap_or(&scrap));
        }
        let read = |portions: &mut dyn Iterator<Item = &[u8]>| {
            let (mut decoder, mut out) = (shape.decoder(), Vec::new());
            portions.for_each(|portion| decoder.push(portion, &mut out));
            let noise = out.iter().map(|one| if let Decoded::Noise(count) = one { *count } else { 0 }).sum::<usize>();
            out.retain(|one| !matches!(one, Decoded::Noise(_)));
            (out, noise)
        };
        let bytewise = read(&mut bytes.chunks(1).flat_map(|byte| [byte, &[]]));
        prop_assert_eq!(&read(&mut std::iter::once(bytes.as_slice())), &bytewise, "{} {:?}", text, bytes);
        prop_assert_eq!(&read(&mut bytes.chunks(piece)), &bytewise, "{} {:?}", text, bytes);
    }

    #[test]
    fn no_text_is_a_panic(text in "(?s).{0,200}", keys in prop::collection::vec((prop::sample::select(vec![
        "name", "end", "start", "value", "sign", "unit", "units", "stable", "moving", "length", "separator", "always", "commands", "example",
    ]), "[-\"\\[\\]{}=0-9a-z <>,]{0,20}"), 0..6)) {
        let _ = Described::parse("x.toml", &text);
        let lines: Vec<String> = keys.iter().map(|(key, value)| format!("{key} = {value}")).collect();
        let _ = Described::parse("x.toml", &lines.join("\n"));
    }

    #[test]
    fn no_bytes_are_a_panic(
        (text, _) in descriptions(),
        bytes in prop_oneof![prop::collection::vec(any::<u8>(), 0..300), "[ \\r\\n|.,0-9STUQgk+-]{0,300}".prop_map(String::into_bytes)],
    ) {
        let shape = described(&text);
        let mut noise = 0;
        for decoded in decode(shape, &bytes) {
            if let Decoded::Noise(count) = decoded {
                noise += count;
            }
        }
        prop_assert!(noise <= bytes.len());
        let _ = shape.understand(&bytes);
    }
}
