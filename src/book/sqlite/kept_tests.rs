use super::*;
use crate::book::check::check;
use crate::book::figures::Reckoning;
use crate::book::testing::{alone, envelopes, muddle, whole};
use crate::book::{Ids, Journal, Opened};
use crate::mix::{Ending, How};
use crate::units::Stamp;
use proptest::prelude::*;

fn fresh() -> (tempfile::TempDir, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
        panic!("nobody else has it")
    };
    (folder, store)
}

/// One mix of 62, 30, 7 and 1 parts that is done, of which half was sprayed on R-7 and the rest thrown away.
fn one_sprayed(store: &mut SqliteStore) -> MixId {
    let mut ids = Ids::counted(1);
    let (mix, written) = envelopes(&mut ids, &whole());
    for envelope in &written {
        store.append(envelope).unwrap();
    }
    let mut journal = Journal::fold(mix, &written).unwrap();
    let ending = Ending {
        left: journal.session().holds().times(crate::units::Decimal::new(5, 1)),
        reason: Some("too little".into()),
        job: Some("R-7".into()),
        ..Ending::default()
    };
    let event = journal.session().empty(ending, How::Scale).unwrap();
    // The day after.
    let at = Stamp(1_750_000_000_000_000 + 86_400_000_000);
    let envelope = journal.record(&event, ids.event(at), at, &crate::book::testing::by()).unwrap();
    store.append(&envelope).unwrap();
    mix
}

fn rows(store: &SqliteStore, sql: &str) -> Vec<String> {
    let mut query = store.connection.prepare(sql).unwrap();
    let columns = query.column_count();
    let text = |value: rusqlite::types::Value| match value {
        rusqlite::types::Value::Null => "-".to_owned(),
        rusqlite::types::Value::Integer(number) => number.to_string(),
        rusqlite::types::Value::Text(text) => text,
        other => panic!("{other:?}"),
    };
    let row = |row: &rusqlite::Row<'_>| {
        let values: Vec<_> = (0..columns).map(|column| text(row.get(column).unwrap())).collect();
        Ok(values.join(" "))
    };
    query.query_map([], row).unwrap().map(Result::unwrap).collect()
}

/// Worked by hand. 150 mL are 62, 30, 7 and 1 hundredths of 150·100/(62/1.4 + 30/1.1 + 7/0.9 + 1/1.2) = 187.04… g, each
/// toner poured to the nearest tenth: 116.0, 56.1, 13.1 and 1.9 g. At 10 a litre they cost 10 · (116/1.4 + 56.1/1.1 +
/// 13.1/0.9 + 1.9/1.2) / 1000, each rounded to a millionth: 0.828571 + 0.51 + 0.145556 + 0.015833.
#[test]
fn a_mix_a_day_and_an_account_by_hand() {
    let (_folder, mut store) = fresh();
    let mix = one_sprayed(&mut store);
    assert_eq!(
        rows(
            &store,
            "SELECT number, colour, layer, outcome, job, poured, reused, drawn_off, sprayed, kept, thrown,
                      abandoned, cost_millionths, unpriced FROM mix_totals"
        ),
        ["1 PB-0000 ground mix/finished R-7 187100000 0 0 93550000 0 93550000 0 1499960 0"]
    );
    // 1 750 000 000 s are 20 254 days and some.
    assert_eq!(
        rows(&store, "SELECT day, what, why, toner, micrograms FROM daily ORDER BY 1, 2, 3, 4"),
        [
            "20254 poured  A 116000000",
            "20254 poured  B 56100000",
            "20254 poured  C 13100000",
            "20254 poured  D 1900000",
            "20255 sprayed  A 58000000",
            "20255 sprayed  B 28050000",
            "20255 sprayed  C 6550000",
            "20255 sprayed  D 950000",
            "20255 thrown too little A 58000000",
            "20255 thrown too little B 28050000",
            "20255 thrown too little C 6550000",
            "20255 thrown too little D 950000",
        ]
    );
    assert_eq!(rows(&store, "SELECT date(max(day) * 86400, 'unixepoch') FROM daily"), ["2025-06-16"]);
    let held: Vec<_> = store
        .balances()
        .unwrap()
        .iter()
        .map(|b| format!("{} {} {}", b.account, b.toner, b.micrograms))
        .collect();
    assert_eq!(held.len(), 12, "{held:?}");
    assert!(
        held.contains(&"car:R-7 A 58000000".to_owned()) && held.contains(&"tin?:A A -116000000".to_owned())
    );
    assert_eq!(store.balances_of(&Account::Cup(mix)).unwrap(), []);
    assert_eq!(check(&store).unwrap().faults, Vec::<String>::new());
}

#[test]
fn a_tin_is_what_its_receipt_and_the_bench_said_of_it() {
    let (_folder, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let mut at = Stamp(1_750_000_000_000_000);
    let mut write = |store: &mut SqliteStore, kind: &str, body: &str, postings: &[(&str, &str, i64)]| {
        at.0 += 1;
        store.append(&alone(&mut ids, at, kind, body, postings))
    };
    let receipt = r#"{"kind":"received","label":"24-1","toner":"A","lot":"L1","net":"1000","empty":"110.5"}"#;
    let came = [("supplier:S", "A", -1_000_000_000), ("tin:24-1", "A", 1_000_000_000)];
    write(&mut store, "tin/received", receipt, &came).unwrap();
    write(&mut store, "tin/opened", r#"{"kind":"opened","label":"24-1","toner":"A"}"#, &[]).unwrap();
    write(&mut store, "tin/stirred", r#"{"kind":"stirred","label":"24-1","toner":"A"}"#, &[]).unwrap();
    // Another toner under the same label changes nothing of it.
    write(&mut store, "tin/stirred", r#"{"kind":"stirred","label":"24-1","toner":"B"}"#, &[]).unwrap();
    // Never received, and seen all the same.
    write(&mut store, "tin/stirred", r#"{"kind":"stirred","label":"9","toner":"B"}"#, &[]).unwrap();
    let counted = [("tin:24-1", "A", -3_000_000), ("difference:spilt", "A", 3_000_000)];
    write(&mut store, "tin/counted", r#"{"kind":"counted","label":"24-1","toner":"A"}"#, &counted).unwrap();
    let second = write(&mut store, "tin/received", receipt, &came).unwrap_err().to_string();
    assert!(second.contains("a label is used once"), "{second}");
    let base = 1_750_000_000_000_000_i64;
    assert_eq!(
        rows(
            &store,
            &format!(
                "SELECT label, toner, lot, net, empty, received - {base}, opened - {base}, stirred - {base},
                               counted - {base}, emptied FROM tins ORDER BY label"
            )
        ),
        ["24-1 A L1 1000 110.5 1 2 3 6 -", "9 B - - - - - 5 - -"]
    );
    assert_eq!(
        rows(&store, "SELECT what, why, toner, micrograms FROM daily ORDER BY 1"),
        ["missing spilt A 3000000", "received  A 1000000000"]
    );
    // What the receipt comes after says what the tin is.
    write(&mut store, "tin/received", r#"{"label":"9","toner":"C","lot":"L2","net":"500"}"#, &[]).unwrap();
    assert_eq!(rows(&store, "SELECT toner, lot FROM tins WHERE label = '9'"), ["C L2"]);
    assert_eq!(check(&store).unwrap().faults, Vec::<String>::new());
}

/// What a tin lacks and was poured without its name goes back to where that pour was booked from. That was poured once, by the
/// mix, and is no flow of its own: neither by the statements nor by the other reckoning, which `check` holds against them.
#[test]
fn what_goes_back_to_the_tins_not_named_is_no_flow() {
    let (_folder, mut store) = fresh();
    one_sprayed(&mut store);
    let before = rows(&store, "SELECT day, what, why, toner, micrograms FROM daily ORDER BY 1, 2, 3, 4");
    assert!(before.contains(&"20254 poured  A 116000000".to_owned()), "{before:?}");
    let (mut ids, mut at) = (Ids::counted(9), Stamp(1_750_000_000_000_000));
    let mut write = |store: &mut SqliteStore, kind: &str, postings: &[(&str, &str, i64)]| {
        at.0 += 1;
        let body = r#"{"label":"24-1","toner":"A"}"#;
        store.append(&alone(&mut ids, at, kind, body, postings)).unwrap();
    };
    let came = [("supplier:S", "A", -1_000_000_000), ("tin:24-1", "A", 1_000_000_000)];
    write(&mut store, "tin/received", &came);
    let back = |mass: i64| [("tin:24-1", "A", -mass), ("tin?:A", "A", mass)];
    let to = |place: &'static str, mass: i64| [("tin:24-1", "A", -mass), (place, "A", mass)];
    write(&mut store, "tin/counted", &[back(8_000_000), to("difference:spilt", 4_300_000)].concat());
    write(&mut store, "tin/emptied", &[back(100_000_000), to("difference:x", 500_000)].concat());
    write(&mut store, "tin/discarded", &[back(8_000_000), to("waste:tin:old", 7_000_000)].concat());
    let mut expected = before;
    expected.extend(
        [
            "20254 discarded old A 7000000",
            "20254 missing spilt A 4300000",
            "20254 missing x A 500000",
            "20254 received  A 1000000000",
        ]
        .map(str::to_owned),
    );
    expected.sort();
    let mut after = rows(&store, "SELECT day, what, why, toner, micrograms FROM daily");
    after.sort();
    assert_eq!(after, expected);
    let unnamed = rows(&store, "SELECT micrograms FROM balances WHERE account = 'tin?:A'");
    assert_eq!(unnamed, ["0"]);
    assert_eq!(
        rows(&store, "SELECT sum(micrograms) FROM spans WHERE span = 'week' AND what = 'missing'"),
        ["4800000"]
    );
    assert_eq!(check(&store).unwrap().faults, Vec::<String>::new());
}

#[test]
fn no_figure_can_be_written_by_hand() {
    let (_folder, mut store) = fresh();
    let mix = one_sprayed(&mut store);
    let mut ids = Ids::counted(9);
    let stirred = r#"{"label":"1","toner":"A"}"#;
    for _ in 0..2 {
        store.append(&alone(&mut ids, Stamp(1), "tin/stirred", stirred, &[])).unwrap();
    }
    let last = "(SELECT max(position) FROM events)";
    let before = store.figures().unwrap();
    for sql in [
        "UPDATE balances SET micrograms = 0".to_owned(),
        format!("UPDATE balances SET micrograms = 0, event = {last}, place = 99"),
        format!("INSERT INTO balances VALUES ('tin:x', 'A', 5, {last}, 0)"),
        "INSERT OR REPLACE INTO balances SELECT * FROM balances LIMIT 1".to_owned(),
        "DELETE FROM balances".to_owned(),
        "UPDATE daily SET micrograms = micrograms + 1".to_owned(),
        format!("INSERT INTO daily VALUES (1, 'sprayed', '', 'A', 5, {last}, 0)"),
        "DELETE FROM daily".to_owned(),
        format!("UPDATE spans SET micrograms = micrograms + 1, event = {last}, place = 99"),
        format!("INSERT INTO spans VALUES ('week', 4, 'sprayed', '', 'A', 5, {last}, 0)"),
        "DELETE FROM spans".to_owned(),
        format!("UPDATE day_uses SET poured = poured + 1, event = {last}, place = 99"),
        format!("INSERT INTO day_uses VALUES (1, 'A', 0, 5, 0, 0, 0, {last}, 0)"),
        "DELETE FROM day_uses".to_owned(),
        format!("INSERT INTO mix_marks VALUES ('over:A', 1750000000000000, 1, {last})"),
        format!("UPDATE mix_reads SET poured = 1, event = {last}"),
        format!("INSERT OR REPLACE INTO mix_reads VALUES ('{mix}', 1, 0, 0, 0, 0, 0, 0, '{{}}', 1, {last})"),
        "DELETE FROM mix_reads".to_owned(),
        format!("INSERT INTO tin_prices VALUES ('24-1', '1', '1000', {last})"),
        format!("UPDATE mix_sums SET mixes = 2, event = {last}"),
        "INSERT OR REPLACE INTO mix_sums SELECT * FROM mix_sums LIMIT 1".to_owned(),
        "DELETE FROM mix_sums".to_owned(),
        format!("UPDATE use_sums SET poured = 1, event = {last}"),
        "DELETE FROM use_sums".to_owned(),
        format!("UPDATE pour_sums SET pours = pours + 1, event = {last}"),
        "DELETE FROM pour_sums".to_owned(),
        format!("INSERT INTO choice_sums VALUES ('day', 0, '', '{{}}', {last})"),
        format!("UPDATE mix_heads SET job = 'R-8', event = {last}"),
        format!("INSERT INTO mix_heads (mix, number, begun, operator, event) VALUES ('x', 2, 1, '', {last})"),
        "DELETE FROM mix_heads".to_owned(),
        format!("UPDATE mix_costs SET millionths = 0, event = {last}"),
        format!("INSERT OR REPLACE INTO mix_costs VALUES ('{mix}', 0, 0, {last})"),
        "DELETE FROM mix_costs".to_owned(),
        format!("UPDATE tins SET lot = 'L', event = {last}"),
        format!("INSERT INTO tins (label, toner, event) VALUES ('2', 'A', {last})"),
        "DELETE FROM tins".to_owned(),
    ] {
        let error = store.connection.execute(&sql, []).expect_err(&sql).to_string();
        assert!(error.contains("follow from the journal"), "{sql}: {error}");
    }
    assert_eq!(store.figures().unwrap(), before);
}

/// One who takes the keepers away can write what they like; it is found, and put right from the journal.
#[test]
fn what_was_spoilt_is_found_and_made_anew() {
    let (_folder, mut store) = fresh();
    one_sprayed(&mut store);
    let stirred = r#"{"label":"1","toner":"A"}"#;
    let mut ids = Ids::counted(9);
    store.append(&alone(&mut ids, Stamp(1), "tin/stirred", stirred, &[])).unwrap();
    for (label, price) in [("24-1", r#","price":"42.50""#), ("24-2", "")] {
        let body = format!(r#"{{"kind":"tin/received","label":"{label}","toner":"A","net":"1000"{price}}}"#);
        let tin = format!("tin:{label}");
        let came = [("supplier:S", "A", -1_000_000_000), (tin.as_str(), "A", 1_000_000_000)];
        store.append(&alone(&mut ids, Stamp(1), "tin/received", &body, &came)).unwrap();
    }
    // And one that went over, was put right and was given up.
    let over = muddle(&[(4, 2_000), (0, 0), (14, 5), (14, 5), (14, 5)]);
    let (_, written) = envelopes(&mut Ids::counted(2), &over);
    for event in &written {
        store.append(event).unwrap();
    }
    let marks = "SELECT mark, number FROM mix_marks ORDER BY mark";
    assert_eq!(rows(&store, marks), ["over:A 2", "put-right 2"]);
    let prices = "SELECT label, price, net FROM tin_prices ORDER BY label";
    assert_eq!(rows(&store, prices), ["24-1 42.50 1000", "24-2 - -"]);
    let whole = store.figures().unwrap();
    let layout = rows(&store, "SELECT name, sql FROM sqlite_schema ORDER BY name");
    for (table, column) in [
        ("balances", "micrograms = micrograms + 1"),
        ("daily", "micrograms = micrograms + 1"),
        ("spans", "micrograms = micrograms + 1"),
        ("day_uses", "discarded = discarded + 1"),
        ("mix_marks", "begun = begun + 1"),
        ("mix_reads", "sprayed = sprayed + 1"),
        ("mix_reads", "told = json_set(told, '$.from_tins', '1')"),
        ("mix_sums", "thrown_cost = thrown_cost + 1"),
        ("use_sums", "reused = reused + 1"),
        ("pour_sums", "over = over + 1"),
        ("mix_heads", "job = 'R-8'"),
        ("mix_costs", "millionths = 1"),
        ("tins", "lot = 'L'"),
        ("tin_prices", "price = '1' WHERE label = '24-1'"),
        ("tin_prices", "net = '999' WHERE label = '24-1'"),
        ("tin_prices", "price = '1', net = '1000' WHERE label = '24-2'"),
        ("tin_prices", "label = '24-3' WHERE label = '24-1'"),
    ] {
        // What comes into a day comes into its uses.
        let on = if table == "daily" { "DROP TRIGGER daily_used;" } else { "" };
        let spoil = format!("DROP TRIGGER {table}_change; {on} UPDATE {table} SET {column}");
        store.connection.execute_batch(&spoil).unwrap();
        let faults = check(&store).unwrap().faults.join("; ");
        assert!(faults.contains("pourbook check --rebuild"), "{table}: {faults}");
        assert!(faults.contains("kept is") && faults.contains("by the journal it is"), "{table}: {faults}");
        store.rebuild().unwrap();
        assert_eq!(check(&store).unwrap().faults, Vec::<String>::new(), "{table}");
        assert_eq!(store.figures().unwrap(), whole);
    }
    assert_eq!(rows(&store, "SELECT name, sql FROM sqlite_schema ORDER BY name"), layout);
}

#[test]
fn making_the_figures_anew_says_how_far_it_is() {
    let (_folder, mut store) = fresh();
    one_sprayed(&mut store);
    let mut heard = Vec::new();
    store.rebuild_telling(&mut |far| heard.push((far.at, far.done, far.all))).unwrap();
    assert_eq!(
        heard,
        [
            ("the figures are taken away", 0, 0),
            ("days, tins, mixes and what each account holds are made anew", 0, 0),
            ("mixes priced", 0, 1),
            ("jobs, weeks and months are made anew", 0, 0),
            ("mixes read anew", 0, 1),
            ("mixes marked", 0, 1),
            ("the indexes are made anew", 0, 0),
            ("the figures are written", 0, 0),
            ("the book's log is taken into it", 0, 0),
        ]
    );
}

/// What an append touches, it finds by a key; so it costs no more in a large book.
#[test]
fn nothing_kept_is_looked_through() {
    let (_folder, store) = fresh();
    for sql in [
        // As it would be seen.
        "SELECT * FROM daily WHERE micrograms = 1",
        "SELECT * FROM flows WHERE event = 1 AND place = 0",
        "SELECT * FROM tin_facts WHERE position = 1",
        "UPDATE balances SET micrograms = 1 FROM (SELECT * FROM postings WHERE event = 1 AND place = 0) AS p
         WHERE balances.account = p.account AND balances.toner = p.toner",
        "UPDATE daily SET micrograms = 1 FROM (SELECT * FROM flows WHERE event = 1 AND place = 0) AS f
         WHERE daily.day = f.day AND daily.what = f.what AND daily.why = f.why AND daily.toner = f.toner",
        "UPDATE spans SET micrograms = 1 FROM (SELECT * FROM week_flows WHERE event = 1 AND place = 0) AS f
         WHERE spans.span = f.span AND spans.first = f.first AND spans.what = f.what AND spans.why = f.why
            AND spans.toner = f.toner",
        "UPDATE spans SET micrograms = 1 FROM (SELECT * FROM month_flows WHERE event = 1 AND place = 0) AS f
         WHERE spans.span = f.span AND spans.first = f.first AND spans.what = f.what AND spans.why = f.why
            AND spans.toner = f.toner",
        "SELECT 1 FROM span_flows WHERE event = 1 AND place = 0 AND span = 'week' AND first = 1 AND what = 'x' AND why = ''
            AND toner = 'x' AND amount = 1",
        "UPDATE day_uses SET poured = 1 WHERE day = 1 AND toner = 'x'",
        "SELECT 1 FROM mix_marks WHERE mark = 'x' AND begun = 1 AND number = 1",
        "UPDATE mix_reads SET poured = 1 WHERE mix = 'x'",
        "SELECT 1 FROM mix_reads WHERE mix = 'x' OR rowid = 1",
        "UPDATE mix_sums SET mixes = 1 WHERE span = 'day' AND apart = 'all' AND first = 1 AND key = '' AND more = ''",
        "SELECT * FROM tin_prices WHERE label = 'x'",
        &super::sums::OF_KEPT.replace("?1", "'x'").replace("?2", "'y'"),
        "UPDATE tins SET lot = f.lot FROM (SELECT * FROM tin_facts WHERE position = 1) AS f WHERE tins.label = f.label",
        "SELECT coalesce(max(number), 0) + 1 FROM mix_heads",
        "SELECT * FROM mix_totals WHERE mix = 'x'",
        "SELECT account, toner, micrograms FROM balances WHERE account = 'x' AND micrograms <> 0 ORDER BY toner",
    ] {
        let mut query = store.connection.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        let plan: Vec<String> = query.query_map([], |row| row.get(3)).unwrap().map(Result::unwrap).collect();
        let looked_through =
            plan.iter().any(|step| step.starts_with("SCAN") && !step.contains("CONSTANT ROW"));
        assert_eq!(looked_through, sql.starts_with("SELECT * FROM daily"), "{sql}: {plan:?}");
        assert!(!plan.is_empty());
    }
}

/// How many steps SQLite takes for one more pour of the first mix and its two postings, and for adding all postings up.
fn steps(store: &SqliteStore, mix: MixId) -> [i32; 2] {
    let writing = store.connection.unchecked_transaction().unwrap();
    let id = Ids::counted(77).event(Stamp(1));
    let next = "(SELECT max(sequence) + 1 FROM events WHERE subject = ?2)";
    let event = format!(
        "INSERT INTO events (id, at, bench, operator, subject, sequence, kind, body)
         VALUES (?1, 1750000000000000, '', '', ?2, {next}, 'mix/poured', '{{}}')"
    );
    let counted = |sql: &str, values: &[&dyn rusqlite::ToSql]| {
        let mut statement = writing.prepare(sql).unwrap();
        let mut rows = statement.query(values).unwrap();
        while rows.next().unwrap().is_some() {}
        drop(rows);
        statement.get_status(rusqlite::StatementStatus::VmStep)
    };
    let mut append = counted(&event, &[&id, &mix]);
    for (place, account, micrograms) in [(0, "tin:24-1".to_owned(), -5), (1, format!("cup:{mix}"), 5)] {
        let sql = "INSERT INTO postings VALUES ((SELECT max(position) FROM events), ?1, ?2, 'A', ?3)";
        append += counted(sql, &[&place, &account, &micrograms]);
    }
    [append, counted("SELECT sum(micrograms) FROM postings", &[])]
}

/// One more pour takes as many steps in a book of 60 mixes as in a book of one: only finding a place takes longer, and
/// that by a logarithm.
#[test]
fn an_append_takes_no_more_steps_in_a_large_book() {
    let (_folder, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let (mix, first) = envelopes(&mut ids, &whole());
    for envelope in &first {
        store.append(envelope).unwrap();
    }
    let [small, summed] = steps(&store, mix);
    for _ in 1..60 {
        for envelope in envelopes(&mut ids, &whole()).1 {
            store.append(&envelope).unwrap();
        }
    }
    let [large, summed_later] = steps(&store, mix);
    assert!(summed_later > 30 * summed, "{summed} {summed_later}");
    assert!(large < small + small / 10, "{small} {large}");
    assert!(small > 100);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(30))]

    /// Whatever happened and up to wherever: what was kept is what the journal comes to, nothing was lost or made, and
    /// made anew it is the same.
    #[test]
    fn what_is_kept_is_what_the_journal_comes_to(
        seeds in prop::collection::vec(prop::collection::vec((any::<u8>(), 0_u16..400), 0..25), 1..4),
        until in 0_usize..80,
        stride in 1_usize..4,
    ) {
        let (_folder, mut store) = fresh();
        let mut ids = Ids::counted(1);
        let mut mixes: Vec<_> = seeds.iter().map(|seed| envelopes(&mut ids, &muddle(seed)).1.into_iter()).collect();
        // Several benches at once: a few events of one mix, then a few of the next.
        let mut written = Vec::new();
        while mixes.iter().any(|mix| mix.len() > 0) {
            for mix in &mut mixes {
                written.extend(mix.by_ref().take(stride));
            }
        }
        let mut reckoned = Reckoning::default();
        for envelope in written.iter().take(until) {
            store.append(envelope).unwrap();
            reckoned.take(envelope);
        }
        let kept = store.figures().unwrap().unwrap();
        prop_assert_eq!(reckoned.figures().differences(&kept, 9), Vec::<String>::new());
        let mut sums = std::collections::BTreeMap::<&str, i64>::new();
        for ((_, toner), micrograms) in &kept.balances {
            *sums.entry(toner).or_default() += micrograms;
        }
        prop_assert!(sums.values().all(|sum| *sum == 0), "{:?}", sums);
        prop_assert_eq!(check(&store).unwrap().faults, Vec::<String>::new());
        store.rebuild().unwrap();
        prop_assert_eq!(store.figures().unwrap().unwrap(), kept);
    }
}
