//! How fast is the index built, loaded and searched?
//!
//! `cargo bench -p binwright-tests --bench index [-- PARTS ...]`. Shops of 10 k, 100 k and 1 M parts
//! of the seeded corpus (seed 29), all kinds in equal shares, a letter pair a kind before the
//! numbers. Beside ours in the same run: the OR of a number's trigrams in SQLite's FTS5.

use binwright_catalog::{Kind, Kinds, number};
use binwright_index::{Entry, Gaps, Index, IndexError};
use binwright_tests::corpus::{Dice, catalogue, dice};
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::{Spread, core_seconds, sizes, thread_seconds};
use rand::Rng;
use rusqlite::Connection;

const QUESTIONS: usize = 200;
/// So many of them are asked of the yardstick too, which is slow.
const BESIDE: usize = 60;
/// Hits asked for.
const LIMIT: usize = 20;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Done<()> {
    let kinds = Kinds::builtin()?;
    let mut report = Report::begin("index")?;
    for parts in sizes(&[10_000, 100_000, 1_000_000]) {
        report.of(parts, &format!("a shop of {parts} parts"));
        let folder = tempfile::tempdir()?;
        let (core, _) = built(folder.path(), &kinds, parts, Gaps::Lent)?;
        let goal = if parts == 1_000_000 { Goal::AtMost(240.0) } else { Goal::None };
        report.figure("built, gaps lent", core, "s", goal);
        let folder = tempfile::tempdir()?;
        let (core, numbers) = built(folder.path(), &kinds, parts, Gaps::Left)?;
        report.figure("built, gaps left", parts as f64 / core, "a second", Goal::AtLeast(1e5));
        let index = Index::open(folder.path(), 1)?;
        let plate = kinds.get("rectifier-plate").ok_or("a built-in kind")?;
        report.ask("load the plates", &[(); 5], |()| index.load(plate), Goal::None);
        search(&mut report, &index, &numbers)?;
    }
    Ok(())
}

/// Builds the index in `folder`; returns the seconds of one core that took and the numbers in it.
fn built(
    folder: &std::path::Path,
    kinds: &Kinds,
    parts: usize,
    gaps: Gaps,
) -> Done<(f64, Vec<String>)> {
    let mut index = Index::open(folder, 1)?;
    let all: Vec<&Kind> = kinds.iter().collect();
    let share = parts.div_ceil(all.len());
    let (mut numbers, mut making) = (Vec::new(), 0.0);
    let (core, done) = core_seconds(|| {
        index.rebuild::<IndexError>(&all, 1, gaps, |key, give| {
            let Some(at) = all.iter().position(|kind| kind.key == key) else { return Ok(()) };
            // Of this thread alone: the index goes on with what it has meanwhile.
            let (core, entries) = thread_seconds(|| {
                let first = numbers.len();
                entries(all[at], at, first, share.min(parts - first))
            });
            making += core;
            for entry in entries {
                numbers.push(entry.house.clone());
                give(entry);
            }
            Ok(())
        })
    });
    done?;
    Ok((core - making, numbers))
}

/// Invented parts of `kind`, the one at place `at`, with store ids from `first` on.
fn entries(kind: &Kind, at: usize, first: usize, parts: usize) -> Vec<Entry> {
    let letter = |at: usize| char::from(b'A' + (at % 26) as u8);
    let specimens = catalogue(29 + at as u64, parts, kind).into_iter().enumerate();
    specimens
        .map(|(row, specimen)| {
            let id = (first + row + 1) as u64;
            let mut entry = Entry::of(id, id, &specimen.card, kind);
            entry.house.insert(0, letter(at));
            entry.house.insert(0, letter(at / 26 + at));
            entry
        })
        .collect()
}

fn search(report: &mut Report, index: &Index, numbers: &[String]) -> Done<()> {
    let database = trigrams(numbers)?;
    let mut dice = dice(31);
    let mut asked = |spoil: &dyn Fn(&mut Dice, &str) -> String| -> Vec<(String, String)> {
        let one = |_| {
            let number = &numbers[dice.random_range(0..numbers.len())];
            (number.clone(), spoil(&mut dice, &number::fold(number)))
        };
        (0..QUESTIONS).map(one).collect()
    };
    let itself = asked(&|_, text| text.to_owned());
    let once = asked(&typo);
    let twice = asked(&|dice, text| {
        let once = typo(dice, text);
        typo(dice, &once)
    });
    let middle = asked(&|_, text| text[2..7.min(text.len())].to_owned());
    let worn = asked(&|_, text| format!("{}?{}", &text[..3], &text[4..]));
    let cut = asked(&|_, text| format!("*{}", &text[3..]));
    let goals = [
        ("a number", &itself, Goal::None),
        ("one typo", &once, Goal::AtMost(3.0)),
        ("two typos", &twice, Goal::AtMost(3.0)),
        ("a fragment of five", &middle, Goal::AtMost(1.0)),
        ("one character not legible", &worn, Goal::None),
        ("the first three not legible", &cut, Goal::None),
    ];
    for (what, questions, goal) in goals {
        let find = |(_, text): &(String, String)| index.find(text, LIMIT);
        report.ask(what, questions, find, goal);
        let share = found(index, questions)? as f64 / QUESTIONS as f64;
        let case = format!("{what}: meant among the first {LIMIT}");
        report.figure(&case, share * 100.0, "%", Goal::None);
        if what.contains("typo") {
            let or = |(_, text): &(String, String)| or_of_trigrams(&database, text);
            let (theirs, _, times) = Spread::of_both(&questions[..BESIDE], or, find);
            report.spread(&format!("{what}, FTS5 trigram OR"), theirs, Goal::Yardstick);
            let goal = Goal::AtLeast(30.0);
            report.figure(&format!("{what} beside it"), times.median, "x", goal);
            report.figure(&format!("{what} beside it, together"), times.together, "x", goal);
        }
    }
    Ok(())
}

/// How many of the numbers meant are among the hits.
fn found(index: &Index, questions: &[(String, String)]) -> Result<usize, IndexError> {
    let mut found = 0;
    for (number, text) in questions {
        found += usize::from(index.find(text, LIMIT)?.iter().any(|hit| &hit.number == number));
    }
    Ok(found)
}

/// One character other, more, less, or two swapped.
fn typo(dice: &mut Dice, text: &str) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    let at = dice.random_range(0..letters.len() - 1);
    let other = char::from(b'0' + dice.random_range(0..10));
    match dice.random_range(0..4) {
        0 => letters[at] = other,
        1 => letters.insert(at, other),
        2 => drop(letters.remove(at)),
        _ => letters.swap(at, at + 1),
    }
    letters.into_iter().collect()
}

fn trigrams(numbers: &[String]) -> rusqlite::Result<Connection> {
    let mut database = Connection::open_in_memory()?;
    database.execute_batch("CREATE VIRTUAL TABLE part USING fts5(number, tokenize = 'trigram')")?;
    let filling = database.transaction()?;
    for number in numbers {
        let mut insert = filling.prepare_cached("INSERT INTO part VALUES (?)")?;
        insert.execute([number::fold(number)])?;
    }
    filling.commit()?;
    Ok(database)
}

fn or_of_trigrams(database: &Connection, text: &str) -> rusqlite::Result<Vec<String>> {
    let letters: Vec<char> = text.chars().collect();
    let threes = letters.windows(3).map(|three| three.iter().collect::<String>());
    let any: Vec<String> = threes.map(|three| format!("\"{three}\"")).collect();
    let mut found = database
        .prepare_cached("SELECT number FROM part WHERE part MATCH ? ORDER BY rank LIMIT ?")?;
    found.query_map((any.join(" OR "), LIMIT as i64), |row| row.get(0))?.collect()
}
