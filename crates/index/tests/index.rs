//! Does the index follow the store, and does it find what is meant?

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use binwright_catalog::{Kinds, Part, PartNumber, Value};
use binwright_index::{Entry, Gaps, How, Index, IndexError};
use proptest::prelude::*;
use tempfile::TempDir;

/// Id, kind, house number, other number, description.
const PARTS: [(u64, &str, &str, &str, &str); 12] = [
    (1, "rectifier-plate", "KR 104-771", "0091 7730", "six diodes, pressed"),
    (2, "rectifier-plate", "KR 104-771A", "", "six diodes, avalanche"),
    (3, "rectifier-plate", "KR 104-772", "", "eight diodes"),
    (4, "rectifier-plate", "TZ.88 210 5", "HB-5501", "six diodes, isolated"),
    (5, "regulator", "VG0O1L", "", "14.5 V set point"),
    (6, "regulator", "MV-2208", "917730", "28 V set point"),
    (7, "regulator", "MV-2280", "", "14.2 V, brush box"),
    (8, "bearing", "LN 6203-2RS", "", "sealed both sides"),
    (9, "bearing", "LN 6303", "", "open"),
    (10, "fan", "F-77", "", "nine blades, clockwise"),
    (11, "fan", "ЖФ-505050", "", "nine blades, anticlockwise"),
    (12, "fan", "QW 900 800 700", "QW 900 800 701", "eleven blades"),
];

fn kinds() -> Kinds {
    Kinds::builtin().expect("the built-in kinds are valid")
}

fn entry(
    kinds: &Kinds,
    (id, kind, house, other, description): (u64, &str, &str, &str, &str),
) -> Entry {
    let kind = kinds.get(kind).expect("a built-in kind");
    let first = kind.measures.iter().find(|m| m.domain.is_number()).expect("kinds have numbers");
    let part = Part {
        house: house.to_owned(),
        kind: kind.key.clone(),
        description: description.to_owned(),
        maker: "Kestrel & Rowe".to_owned(),
        measures: BTreeMap::from([(first.key.clone(), Value::Number(10.0 + id as f64))]),
        layout: (id == 1).then(|| "hole@0,0/6.2; stud:B+@46,31.5/M8".parse().expect("a layout")),
        numbers: (!other.is_empty())
            .then(|| PartNumber { text: other.to_owned(), user: String::new() })
            .into_iter()
            .collect(),
        ..Part::default()
    };
    Entry::of(id, id, &part, kind)
}

fn entries() -> Vec<Entry> {
    let kinds = kinds();
    PARTS.into_iter().map(|part| entry(&kinds, part)).collect()
}

fn rebuild(index: &mut Index, kinds: &Kinds, last_change: u64, parts: &[Entry]) {
    let all: Vec<_> = kinds.iter().collect();
    index
        .rebuild::<IndexError>(&all, last_change, Gaps::Lent, |key, push| {
            parts.iter().filter(|part| part.kind == key).cloned().for_each(push);
            Ok(())
        })
        .expect("the index is built");
}

fn built(parts: &[Entry]) -> (TempDir, Index) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut index = Index::open(folder.path(), 1).expect("an index");
    rebuild(&mut index, &kinds(), 7, parts);
    (folder, index)
}

/// What is found and loaded: everything that callers see.
fn answers(index: &Index) -> String {
    let kinds = kinds();
    let mut seen = String::new();
    for text in ["KR104771", "kr10477l", "MV2280", "771", "9177?0", "blades", "kestrel regul"] {
        writeln!(seen, "{text}: {:?}", index.find(text, 10).expect("a search")).expect("a string");
    }
    for kind in kinds.iter() {
        let table = index.load(kind).expect("a shelf").table;
        let mut rows: Vec<String> = (0..table.len())
            .map(|row| {
                let values: Vec<f64> = table.columns.iter().map(|column| column[row]).collect();
                let (part, points) = (table.parts[row], table.points_of(row));
                format!("{part} {} {} {values:?} {points:?}", table.groups[row], table.stems[row])
            })
            .collect();
        rows.sort();
        writeln!(seen, "{}: {rows:#?}", kind.key).expect("a string");
    }
    seen
}

#[test]
fn what_is_typed_finds_what_is_meant() {
    let (_folder, index) = built(&entries());
    let rows = [
        ("KR 104-771", 1, How::Exact, 0.0, "as it stands"),
        ("kr104771a", 2, How::Exact, 0.0, "whatever the case and the marks"),
        ("917730", 6, How::Exact, 0.0, "another number of the part"),
        ("0917730", 6, How::LeadingZeros, 0.2, "a zero too many in front"),
        ("0091773 0", 1, How::Exact, 0.0, "its own zeros"),
        ("vgool1", 5, How::LookAlike, 0.9, "0 and 1 read as O and L, and back"),
        ("KR1O4772", 3, How::LookAlike, 0.3, "O for 0"),
        ("KR105771", 1, How::Typo, 1.0, "one wrong"),
        ("KR14771", 1, How::Typo, 1.0, "one missing"),
        ("KR1004771", 1, How::Typo, 1.0, "one too many"),
        ("RK104771", 1, How::Typo, 1.0, "two swapped"),
        ("KR149771", 1, How::Typo, 2.0, "two wrong"),
        ("TZ98215", 4, How::Typo, 2.0, "one wrong, and the last but one missing"),
        ("KR1047?1A", 2, How::Worn, 0.5, "one not legible"),
        ("MV*80", 7, How::Worn, 0.5, "some not legible"),
        ("*88210?", 4, How::Worn, 1.0, "neither start nor end legible"),
        ("*5?01", 4, How::Worn, 1.0, "no three legible in a row"),
        ("047", 1, How::Fragment, 1.0, "a piece from the middle"),
        ("5501", 4, How::Fragment, 0.5, "the end"),
        ("LN62", 8, How::Fragment, 0.5, "the beginning"),
        ("F7", 10, How::Fragment, 0.5, "a beginning of two"),
        ("isolated diodes", 4, How::Words, 0.9, "words in any order"),
        ("Kestrel bearing open", 9, How::Words, 0.9, "maker, kind and description"),
        ("eleven bla", 12, How::Words, 0.9, "a word begun"),
        ("жф505050", 11, How::Exact, 0.0, "letters of another script"),
        ("QW900800701", 12, How::Exact, 0.0, "the number that matches is the one shown"),
    ];
    for (text, part, how, cost, shows) in rows {
        let hits = index.find(text, 10).unwrap();
        let first = hits.first().unwrap_or_else(|| panic!("{text}: nothing found ({shows})"));
        assert_eq!((first.part, first.how, first.cost), (part, how, cost), "{text}: {shows}");
    }
    assert_eq!(index.find("qw900800701", 10).unwrap()[0].number, "QW 900 800 701");
}

/// Its last letter alone has as many bytes as three characters.
#[test]
fn a_typo_before_a_long_letter_is_found() {
    let parts = [entry(&kinds(), (1, "rectifier-plate", "AB中", "", ""))];
    let (_folder, index) = built(&parts);
    let hits = index.find("AC中", 10).unwrap();
    assert_eq!(hits.iter().map(|hit| hit.part).collect::<Vec<_>>(), [1]);
}

/// Numbers of a family share their threes: those with the rarest are far more than chance has it.
#[test]
fn a_piece_of_a_number_is_found_in_all_that_have_it() {
    let number = |at: u32| format!("{}{:03}", 70_415_300 + at % 10 * 7, at / 10);
    let numbers: Vec<String> = (0..4_000).map(number).collect();
    let kinds = kinds();
    let part = |(id, number): (u64, &String)| entry(&kinds, (id, "fan", number, "", "nine blades"));
    let (_folder, index) = built(&(1..).zip(&numbers).map(part).collect::<Vec<_>>());
    let mut told = 0;
    for piece in numbers.iter().step_by(61).flat_map(|number| [&number[3..9], &number[4..]]) {
        let mut meant: Vec<&String> = numbers.iter().filter(|n| n.contains(piece)).collect();
        let hits = index.find(piece, 10_000).expect("hits");
        let pieces = hits.iter().filter(|hit| hit.how == How::Fragment);
        let mut found: Vec<&String> = pieces.map(|hit| &hit.number).collect();
        found.sort();
        meant.sort();
        assert_eq!(found, meant, "{piece}");
        told += usize::from(meant.len() > 4);
    }
    assert!(told > 10, "{told} pieces stand in several numbers");
}

#[test]
fn the_nearer_stands_first_and_the_limit_holds() {
    let (_folder, index) = built(&entries());
    let found = |text: &str, limit| -> Vec<u64> {
        index.find(text, limit).unwrap().iter().map(|hit| hit.part).collect()
    };
    assert_eq!(found("KR104771", 10), [1, 2, 3], "itself, its variant, one edit away");
    assert_eq!(found("KR104771", 2), [1, 2]);
    assert_eq!(found("KR104774A", 10), [2, 1, 3], "one edit away, and two that are two away");
    assert_eq!(found("KR104774A", 1), [2]);
    assert_eq!(found("KR104771", 0), [0u64; 0]);
    assert_eq!(found("diodes", 10).len(), 4);
}

#[test]
fn odd_questions_are_answered_with_nothing() {
    let (_folder, index) = built(&entries());
    let long = "9".repeat(100_000);
    for text in ["", " ", "-", "?", "***", "?*?", "\0", "((", "\u{202e}", &long, "zzzzzzzz", "🙂"]
    {
        assert_eq!(index.find(text, 5).unwrap(), [], "{text:.20}");
    }
    let empty = tempfile::tempdir().unwrap();
    let index = Index::open(empty.path(), 1).unwrap();
    assert_eq!(index.find("KR104771", 5).unwrap(), []);
    assert!(index.load(kinds().get("fan").unwrap()).unwrap().table.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_number_is_found_exactly_by_itself(
        numbers in proptest::collection::vec("[a-zA-Z0-9äж][a-zA-Z0-9äж ./-]{0,14}", 1..20),
    ) {
        let kinds = kinds();
        let parts: Vec<Entry> = numbers
            .iter()
            .enumerate()
            .map(|(id, number)| entry(&kinds, (id as u64, "fan", number, "", "")))
            .collect();
        let (_folder, index) = built(&parts);
        for (id, number) in numbers.iter().enumerate() {
            let spelt = [number.clone(), number.to_uppercase(), number.replace([' ', '-'], ". ")];
            for text in &spelt {
                let hits = index.find(text, 50).unwrap();
                let own = hits.iter().find(|hit| hit.part == id as u64);
                prop_assert_eq!(own.map(|hit| hit.how), Some(How::Exact), "{}: {:?}", text, hits);
            }
        }
    }
}

#[test]
fn a_table_comes_out_as_it_went_in() {
    let parts = entries();
    let (_folder, index) = built(&parts);
    for kind in kinds().iter() {
        let table = index.load(kind).unwrap().table;
        let own: Vec<&Entry> = parts.iter().filter(|part| part.kind == kind.key).collect();
        assert_eq!(table.len(), own.len(), "{}", kind.key);
        for (row, entry) in own.into_iter().enumerate() {
            assert_eq!((table.parts[row], table.groups[row]), (entry.part, entry.group));
            assert_eq!(table.points_of(row), entry.points);
            for (column, value) in table.columns.iter().zip(&entry.values) {
                assert_eq!(column[row].to_bits(), value.to_bits());
            }
        }
    }
}

/// The store is at change 9, the index still at 7: the tail is replayed on the next open.
#[test]
fn a_kill_between_store_and_index_is_mended_by_the_tail() {
    let kinds = kinds();
    let mut later = entries();
    later[1] = entry(&kinds, (2, "rectifier-plate", "KR 104-779", "", "six diodes, renamed"));
    later.remove(6);
    later.push(entry(&kinds, (13, "pulley", "PU 5505", "", "five grooves")));
    let (_fresh, from_nothing) = built(&later);

    let (folder, index) = built(&entries());
    assert_eq!(index.last_change(), 7);
    drop(index);
    let mut index = Index::open(folder.path(), 1).unwrap();
    assert_eq!((index.last_change(), index.len()), (7, 12));
    let changed = vec![later[1].clone(), later[11].clone()];
    index.apply(&kinds, 9, changed.clone(), &[7]).unwrap();
    assert_eq!(index.last_change(), 9);
    assert_eq!(answers(&index), answers(&from_nothing), "the tail gives what a rebuild gives");

    index.apply(&kinds, 9, changed.clone(), &[7]).unwrap();
    assert_eq!(index.len(), 12, "twice is once");
    index.apply(&kinds, 8, entries(), &[]).unwrap();
    assert_eq!(index.last_change(), 9, "what is older than the index is passed over");
    assert_eq!(answers(&index), answers(&from_nothing));
    let reopened = Index::open(folder.path(), 1).unwrap();
    assert_eq!((reopened.last_change(), answers(&reopened)), (9, answers(&from_nothing)));
}

#[test]
fn a_removed_part_is_not_found() {
    let (_folder, mut index) = built(&entries());
    index.apply(&kinds(), 8, Vec::new(), &[1, 4]).unwrap();
    assert_eq!(index.len(), 10);
    for text in ["KR104771", "KR10477*", "TZ882105", "5501", "six diodes"] {
        let hits = index.find(text, 10).unwrap();
        assert!(hits.iter().all(|hit| hit.part != 1 && hit.part != 4), "{text}: {hits:?}");
    }
}

#[test]
fn a_feed_that_fails_leaves_the_index_as_it_was() {
    let (folder, mut index) = built(&entries());
    let before = answers(&index);
    let kinds = kinds();
    let all: Vec<_> = kinds.iter().collect();
    let failed = index.rebuild(&all, 20, Gaps::Lent, |key, _| match key {
        "regulator" => Err(IndexError::Busy),
        _ => Ok(()),
    });
    assert!(matches!(failed, Err(IndexError::Busy)));
    assert_eq!(answers(&index), before);
    let reopened = Index::open(folder.path(), 1).unwrap();
    assert_eq!((reopened.last_change(), answers(&reopened)), (7, before));
}

#[test]
fn a_damaged_index_starts_from_nothing_and_comes_back() {
    type Harm = fn(&Path);
    let harms: [(&str, Harm); 6] = [
        ("meta gone", |own| fs::remove_file(own.join("meta.json")).unwrap()),
        ("meta empty", |own| fs::write(own.join("meta.json"), "").unwrap()),
        ("meta no JSON", |own| fs::write(own.join("meta.json"), "{\"segments\": [").unwrap()),
        ("meta of another shape", |own| fs::write(own.join("meta.json"), "{}").unwrap()),
        ("all gone", |own| fs::remove_dir_all(own).unwrap()),
        ("a segment cut short", |own| {
            for file in fs::read_dir(own).unwrap().map(|file| file.unwrap().path()) {
                if file.extension().is_some_and(|kind| kind == "term") {
                    let bytes = fs::read(&file).unwrap();
                    fs::write(&file, &bytes[..bytes.len() / 2]).unwrap();
                }
            }
        }),
    ];
    for (what, harm) in harms {
        let (folder, index) = built(&entries());
        let before = answers(&index);
        drop(index);
        harm(&folder.path().join("parts"));
        let mut index = Index::open(folder.path(), 1).unwrap_or_else(|e| panic!("{what}: {e}"));
        assert_eq!((index.last_change(), index.len()), (0, 0), "{what}");
        rebuild(&mut index, &kinds(), 7, &entries());
        assert_eq!(answers(&index), before, "{what}");
    }
}

#[test]
fn another_version_starts_from_nothing() {
    let (folder, _) = built(&entries());
    assert_eq!(Index::open(folder.path(), 1).unwrap().last_change(), 7);
    assert_eq!(Index::open(folder.path(), 2).unwrap().last_change(), 0);
}

#[test]
fn a_folder_that_does_not_serve_is_an_error_and_nothing_is_deleted() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    fs::write(&file, "mine").unwrap();
    assert!(matches!(Index::open(&file, 1), Err(IndexError::Folder { .. })));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn a_kind_whose_measures_changed_is_put_in_anew() {
    let (_folder, mut index) = built(&entries());
    let shop_fan = "key = \"fan\"\nlabel = \"fan\"\n[[measure]]\nkey = \"girth\"\n\
        label = \"girth\"\ntype = \"length\"\nunit = \"mm\"\ninstrument = \"rule\"\n\
        how = \"around\"\nspread = 0.5\nrange = [10, 900]\nslip = 0.02\nminutes = 1\nrank = 1\n";
    let kinds = Kinds::load(&[("fan.toml".to_owned(), shop_fan.to_owned())]).unwrap();
    assert!(index.stale(&crate::kinds()).is_empty());
    let stale: Vec<_> = index.stale(&kinds);
    assert_eq!(stale.iter().map(|kind| kind.key.as_str()).collect::<Vec<_>>(), ["fan"]);
    let fan = kinds.get("fan").unwrap();
    assert!(index.load(fan).is_err(), "old columns are never read as new ones");
    let fans: Vec<Entry> = PARTS[9..].iter().map(|part| entry(&kinds, *part)).collect();
    let last_change = index.last_change();
    index
        .rebuild::<IndexError>(&stale, last_change, Gaps::Lent, |key, push| {
            assert_eq!(key, "fan");
            fans.iter().cloned().for_each(push);
            Ok(())
        })
        .unwrap();
    assert!(index.stale(&kinds).is_empty());
    assert_eq!(index.load(fan).unwrap().table.columns, [[20.0, 21.0, 22.0]]);
    assert_eq!(index.len(), 12, "the other kinds stay");
}

/// Sixty families of five: four measures alike, every sibling with one gap.
fn families(kinds: &Kinds) -> Vec<Entry> {
    let kind = kinds.get("rectifier-plate").expect("a built-in kind");
    let numbers: Vec<usize> =
        (0..kind.measures.len()).filter(|at| kind.measures[*at].domain.is_number()).collect();
    let mut parts = Vec::new();
    for family in 0..60_u64 {
        for sibling in 0..5_u64 {
            let id = 1 + family * 5 + sibling;
            let house =
                format!("NB {}{}", 7000 + family * 13, ["A", "B", "C", "D", "E"][sibling as usize]);
            let mut own = entry(kinds, (id, &kind.key, &house, "", ""));
            own.values.fill(f64::NAN);
            for (place, &at) in numbers.iter().enumerate().take(6) {
                if place as u64 != sibling {
                    own.values[at] = 20.0 + ((family * 37 + place as u64 * 11) % 101) as f64 * 0.7;
                }
            }
            parts.push(own);
        }
    }
    parts
}

/// Relatives by part id.
fn kin_of(index: &Index, kind: &str) -> Vec<(u64, u64, String)> {
    let shelf = index.load(kinds().get(kind).expect("a kind")).expect("a shelf");
    let part = |row: u32| shelf.table.parts[row as usize];
    let mut kin: Vec<_> = shelf
        .kin
        .pairs
        .iter()
        .map(|&(a, b, odds)| (part(a).min(part(b)), part(a).max(part(b)), format!("{odds:.1}")))
        .collect();
    kin.sort();
    kin
}

#[test]
fn relatives_come_out_as_they_were_found() {
    let kinds = kinds();
    let parts = families(&kinds);
    let (_folder, index) = built(&parts);
    let shelf = index.load(kinds.get("rectifier-plate").unwrap()).unwrap();
    let kind = kinds.get("rectifier-plate").unwrap();
    let (found, weights) = binwright_fit::kin::relatives(kind, &shelf.table);
    assert!(found.pairs.len() >= 60 * 5, "families are found: {}", found.pairs.len());
    assert_eq!(shelf.weights.as_ref(), Some(&weights));
    let pairs = |kin: &binwright_fit::kin::Kin| {
        let mut pairs: Vec<_> = kin.pairs.iter().map(|&(a, b, _)| (a, b)).collect();
        pairs.sort_unstable();
        pairs
    };
    assert_eq!(pairs(&shelf.kin), pairs(&found));
    assert!(shelf.lending(kind).columns.iter().any(|column| !column.rows.is_empty()));
}

#[test]
fn a_changed_part_changes_its_relatives_and_no_others() {
    let kinds = kinds();
    let mut parts = families(&kinds);
    let (_folder, mut index) = built(&parts);
    let before = kin_of(&index, "rectifier-plate");
    // Part 1 turns out to be of the family of 296 to 300.
    parts[0] = Entry { part: 1, group: 1, ..parts[299].clone() };
    index.apply(&kinds, 8, parts[..1].to_vec(), &[]).unwrap();
    let after = kin_of(&index, "rectifier-plate");
    let touches = |pair: &&(u64, u64, String)| pair.0 == 1 || pair.1 == 1;
    assert!(before.iter().filter(touches).all(|pair| pair.1 <= 5), "it had its old family");
    let own: Vec<u64> = after.iter().filter(touches).map(|pair| pair.1).collect();
    assert_eq!(own, [296, 297, 298, 299, 300], "old relatives' claims on it are void");
    let others = |kin: &[(u64, u64, String)]| -> Vec<_> {
        kin.iter().filter(|pair| !touches(pair)).cloned().collect()
    };
    assert_eq!(others(&before), others(&after));
    index.apply(&kinds, 9, Vec::new(), &[296]).unwrap();
    assert!(kin_of(&index, "rectifier-plate").iter().all(|pair| pair.0 != 296 && pair.1 != 296));
}

#[test]
fn a_kind_that_grew_much_is_due_for_new_relatives() {
    let kinds = kinds();
    let parts = families(&kinds);
    let (_folder, mut index) = built(&[]);
    assert!(index.stale(&kinds).is_empty());
    index.apply(&kinds, 8, parts[..100].to_vec(), &[]).unwrap();
    assert!(index.stale(&kinds).is_empty(), "a hundred are sought one by one");
    index.apply(&kinds, 9, parts.clone(), &[]).unwrap();
    let due: Vec<_> = index.stale(&kinds).iter().map(|kind| kind.key.as_str()).collect();
    assert_eq!(due, ["rectifier-plate"]);
    assert_eq!(index.len(), 300, "they are found all the same");
    rebuild(&mut index, &kinds, 9, &parts);
    assert!(index.stale(&kinds).is_empty());
}
