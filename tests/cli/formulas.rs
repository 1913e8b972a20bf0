//! What to weigh, and the ways out when a pour went over.

use crate::program::*;

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

/// 10 : 1 : 3 by volume of 350 mL: 25 mL of hardener and 75 mL of thinner, worked by hand with the densities of the demo's
/// toners.
#[test]
fn targets_of_a_layer_made_ready_to_spray() {
    let args = ["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL", "--ready", "--json"];
    let targets = json(&in_demo_shop(&args));
    let pours = targets["pours"].as_array().unwrap();
    assert_eq!((pours.len(), &targets["readied"]["product"]), (8, &"GC-2".into()));
    let demo = pourbook::catalogue::Catalogue::demo();
    for (at, part, code, volume) in [(6, "hardener", "H60", "25"), (7, "thinner", "T70", "75")] {
        let mass =
            demo.toner(code).unwrap().density.mass_of(pourbook::units::Millilitres::parse(volume).unwrap());
        assert_eq!(pours[at]["part"], part);
        assert_eq!(
            (&pours[at]["toner"], &pours[at]["target_g"]),
            (&code.into(), &mass.with_decimals(6).into())
        );
    }
    let other = ["--product", "gc-2", "--hardener", "h66", "--thinner", "T74"];
    let output = in_demo_shop(&[&args[..6], &other[..]].concat());
    let text = String::from_utf8(output.stdout).unwrap();
    for said in ["350 mL ready to spray", "Made ready with GC-2", "pot life 120 min", "H66", "T74"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    for (wrong, said) in [
        (&["--product", "X"][..], "there is no product 'X'"),
        (&["--ready", "--hardener", "W10"], "is not among what the product GC-2"),
        (&["--hardener", "H60"], "only with --ready"),
    ] {
        let output = in_demo_shop(&[&args[..6], wrong].concat());
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success() && error.contains(said), "{error}");
    }
}
