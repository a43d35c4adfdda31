//! How fast is the index built, loaded and searched?
//!
//! `cargo bench -p binwright-tests --bench index [-- PARTS ...]`. Shops of 10 k, 100 k and 1 M parts
//! of the seeded corpus (seed 29), all kinds in equal shares, a letter pair a kind before the
//! numbers. Beside ours in the same run: the OR of a number's trigrams in SQLite's FTS5.

#![allow(clippy::print_stdout, reason = "a bench reports")]

use std::time::Instant;

use binwright_catalog::{Kind, Kinds, number};
use binwright_index::{Entry, Gaps, Index, IndexError};
use binwright_tests::corpus::{Dice, catalogue, dice};
use binwright_tests::timing::{Spread, core_seconds, sizes, tell, thread_seconds};
use rand::Rng;
use rusqlite::Connection;

const QUESTIONS: usize = 200;
/// Hits asked for.
const LIMIT: usize = 20;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Done<()> {
    let kinds = Kinds::builtin()?;
    for parts in sizes(&[10_000, 100_000, 1_000_000]) {
        println!("\na shop of {parts} parts");
        let folder = tempfile::tempdir()?;
        drop(built(folder.path(), &kinds, parts, Gaps::Lent)?);
        let folder = tempfile::tempdir()?;
        let numbers = built(folder.path(), &kinds, parts, Gaps::Left)?;
        let index = Index::open(folder.path(), 1)?;
        let plate = kinds.get("rectifier-plate").ok_or("a built-in kind")?;
        tell("load the plates", Spread::of(&[(); 5], |()| index.load(plate)), "");
        search(&index, &numbers)?;
    }
    Ok(())
}

/// Builds the index in `folder` and returns the numbers that are in.
fn built(folder: &std::path::Path, kinds: &Kinds, parts: usize, gaps: Gaps) -> Done<Vec<String>> {
    let mut index = Index::open(folder, 1)?;
    let all: Vec<&Kind> = kinds.iter().collect();
    let share = parts.div_ceil(all.len());
    let (mut numbers, mut making, mut making_clock) = (Vec::new(), 0.0, 0.0);
    let start = Instant::now();
    let (core, done) = core_seconds(|| {
        index.rebuild::<IndexError>(&all, 1, gaps, |key, give| {
            let Some(at) = all.iter().position(|kind| kind.key == key) else { return Ok(()) };
            let begun = Instant::now();
            // Of this thread alone: the index goes on with what it has meanwhile.
            let (core, entries) = thread_seconds(|| {
                let first = numbers.len();
                entries(all[at], at, first, share.min(parts - first))
            });
            making += core;
            making_clock += begun.elapsed().as_secs_f64();
            for entry in entries {
                numbers.push(entry.house.clone());
                give(entry);
            }
            Ok(())
        })
    });
    done?;
    let (core, clock) = (core - making, start.elapsed().as_secs_f64() - making_clock);
    let goal = match gaps {
        Gaps::Lent => "goal for 1,000,000 with lending: 240 s",
        Gaps::Left => "goal without lending: 100,000 a second a core",
    };
    println!(
        "  built in {clock:.1} s, {core:.1} s of core: {:.0} a second a core; {goal}",
        parts as f64 / core
    );
    Ok(numbers)
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

fn search(index: &Index, numbers: &[String]) -> Done<()> {
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
        ("a number", &itself, ""),
        ("one typo", &once, "goal 3 ms"),
        ("two typos", &twice, "goal 3 ms"),
        ("a fragment of five", &middle, "goal 1 ms"),
        ("one character not legible", &worn, ""),
        ("the first three not legible", &cut, ""),
    ];
    for (what, questions, goal) in goals {
        let ours = Spread::of(questions, |(_, text)| index.find(text, LIMIT));
        println!("  {what}: {} of {QUESTIONS} found", found(index, questions)?);
        tell("  ours", ours, goal);
        if what.contains("typo") {
            let theirs = Spread::of(&questions[..20], |(_, text)| or_of_trigrams(&database, text));
            let times = theirs.p50_ms / ours.p50_ms;
            tell("  FTS5 trigram OR", theirs, &format!("goal 30 x ours; is {times:.0} x"));
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
