use super::*;
use crate::book::{Ids, JobId, Opened};
use crate::units::Stamp;

/// None of the answers looks through a table.
#[test]
fn each_answer_is_found_by_an_index() {
    let folder = tempfile::tempdir().unwrap();
    let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
        panic!("nobody else has it")
    };
    let job = JobId::of(Ids::counted(1).mix(Stamp(1)));
    let tins = |rest: &str| format!("{} WHERE {rest} ORDER BY label", kept::TIN);
    for (sql, index) in [
        (tins("label = 'x'"), "sqlite_autoindex_tins_1|PRIMARY KEY"),
        (tins("toner = 'x'"), "tins_by_toner"),
        (tins("lot = 'x'"), "tins_by_lot"),
        (totals_where("mix = 'x'"), "PRIMARY KEY"),
        (totals_where("number = 1"), "sqlite_autoindex_mix_heads_2"),
        (totals_where("job = 'x'"), "mix_heads_by_job"),
        (
            totals_where("colour = 'x' AND variant = 'y' AND layer = 'z' AND emptied IS NOT NULL"),
            "mix_heads_by_colour",
        ),
        (totals_where("begun >= 1 AND begun < 2"), "mix_heads_by_time"),
        (told_where("begun >= 1 AND begun < 2 AND outcome IS NOT NULL"), "mix_heads_by_time"),
        (told_where("begun >= 1 AND begun < 2 AND outcome IS NULL"), "mix_heads_open_by_time"),
        (USED.replace("?1", "1").replace("?2", "2"), "PRIMARY KEY"),
        (USED_BY_SPAN.replace("?1", "'week'").replace("?2", "1").replace("?3", "2"), "PRIMARY KEY"),
        (
            sum_rows::ROWS
                .replace("?1", "'day'")
                .replace("?2", "'all'")
                .replace("?3", "1")
                .replace("?4", "2"),
            "PRIMARY KEY",
        ),
        (
            sum_rows::ONE_ROW
                .replace("?1", "'day'")
                .replace("?2", "'all'")
                .replace("?3", "1")
                .replace("?4", "2"),
            "PRIMARY KEY",
        ),
        (
            sum_rows::USES
                .replace("?1", "'day'")
                .replace("?2", "'layer'")
                .replace("?3", "1")
                .replace("?4", "2"),
            "PRIMARY KEY",
        ),
        (sum_rows::POURS.replace("?1", "'day'").replace("?2", "1").replace("?3", "2"), "PRIMARY KEY"),
        (sum_rows::CHOICES.replace("?1", "'day'").replace("?2", "1").replace("?3", "2"), "PRIMARY KEY"),
        (sum_rows::EACH.clone(), "PRIMARY KEY"),
        (FIRST_BEGUN.to_owned(), "mix_heads_by_time"),
        (totals_where(IN_CUPS), "mix_heads_in_cups"),
        (behind::page_where(behind::ALL), "mix_heads_by_time"),
        (behind::page_where(behind::OF_LAYER), "mix_heads_by_layer"),
        (behind::page_where(behind::OF_PAINTER), "mix_heads_by_painter"),
        (behind::page_where(behind::OF_COLOUR), "mix_heads_by_subject"),
        (behind::page_where(behind::WITH_REASON), "mix_heads_by_time"),
        (behind::page_where(behind::OPEN_WITH_REASON), "mix_heads_open_by_time"),
        (behind::page_where(behind::OPEN), "mix_heads_open_by_time"),
        (told_where(behind::MARKED), "mix_marks USING PRIMARY KEY"),
        (behind::DAYS.to_owned(), "PRIMARY KEY"),
        (LOOSE.replace("?1", "1").replace("?2", "1"), "INTEGER PRIMARY KEY"),
        (MOVED_BY.replace("?1", "'x'"), "postings_by_account"),
        (SIZE_OF.replace("?1", "'x'"), "postings_by_account"),
        (MOVED_IN.replace("?1", "'x'"), "sqlite_autoindex_events_2"),
        (POURED.replace("?1", "1").replace("?2", "2"), "mix_heads_by_time"),
        (HELD.replace("?1", "'tin'"), "balances_held|PRIMARY KEY"),
        (DAILY.replace("?1", "1").replace("?2", "2"), "PRIMARY KEY"),
        (read::RECALLS.to_owned(), "recalls"),
        (jobs_where(JobsOf::Name("x")).replace("?1", "'x'"), "sqlite_autoindex_jobs_3"),
        (jobs_where(JobsOf::Job(job)).replace("?1", "'x'"), "PRIMARY KEY"),
        (jobs_where(JobsOf::Open).replace("?1", "''"), "jobs_open"),
        (jobs_where(JobsOf::ClosedSince(Stamp(5))).replace("?1", "'5'"), "sqlite_autoindex_jobs_2"),
        (totals_where(FOR).replace("?1", "'x'"), "mix_jobs_by_job"),
        (JOB_MIXES.replace("?1", "'ground'").replace("?2", "50"), "sqlite_autoindex_jobs_2"),
        (BEGUN_FOR.replace("?1", "'x'"), "PRIMARY KEY"),
    ] {
        let mut query = store.connection.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        // What is not bound does not change the plan.
        let (mut steps, mut plan) = (query.raw_query(), Vec::<String>::new());
        while let Some(step) = steps.next().unwrap() {
            plan.push(step.get(3).unwrap());
        }
        assert!(plan.iter().any(|step| index.split('|').any(|name| step.contains(name))), "{sql}: {plan:?}");
        // The latest thousand jobs are gone through by their numbers, and what comes of that.
        let whole = ["recalls", "jobs_open", "sqlite_autoindex_jobs_2", "SCAN j", "SCAN (subquery"];
        let through =
            |step: &&String| step.starts_with("SCAN") && !whole.iter().any(|name| step.contains(name));
        assert!(!plan.iter().any(|step| through(&step)), "{sql}: {plan:?}");
    }
}
