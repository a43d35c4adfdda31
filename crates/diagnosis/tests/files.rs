//! Is a faults file that is wrong refused where it is wrong, and laid over where it is right?

#![allow(clippy::unwrap_used, reason = "test code")]

use std::collections::BTreeSet;

use binwright_catalog::Machine;
use binwright_diagnosis::{Check, DiagnosisError, Faults};

const ALTERNATOR: &str = include_str!("../../../schema/faults/alternator.toml");

fn load(text: &str) -> Result<Faults, DiagnosisError> {
    Faults::load(&[("mine.toml".to_owned(), text.to_owned())])
}

/// The built-in file with one text changed; the line it stands on.
fn spoilt(from: &str, to: &str) -> (String, usize) {
    let at = ALTERNATOR.find(from).expect("the text to spoil is there");
    (ALTERNATOR.replacen(from, to, 1), ALTERNATOR[..at].lines().count() + 1)
}

#[test]
fn built_in_priors_and_rows_sum_to_one() {
    let faults = Faults::builtin().unwrap();
    for table in [&faults.alternator, &faults.starter] {
        let priors: f64 = table.faults.iter().map(|fault| fault.prior).sum();
        assert!((priors - 1.0).abs() < 1e-6, "{}: {priors}", table.machine);
        for check in &table.checks {
            for row in table.faults.iter().filter_map(|f| check.row(f)).chain([check.others()]) {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-6, "{}", check.key);
            }
        }
    }
    let size = |machine| (faults.table(machine).faults.len(), faults.table(machine).checks.len());
    assert_eq!((size(Machine::Alternator), size(Machine::Starter)), ((22, 24), (12, 11)));
}

/// DIN 72552 as reproduced on public pages.
#[test]
fn terminals_are_designations_of_din_72552() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/din72552.csv");
    let mut known = BTreeSet::new();
    for row in csv::Reader::from_path(path).unwrap().records() {
        known.insert(row.unwrap()[0].to_owned());
    }
    let faults = Faults::builtin().unwrap();
    let checks = || faults.alternator.checks.iter().chain(&faults.starter.checks);
    for (check, terminal) in checks().flat_map(|c| c.terminals.iter().map(move |t| (&c.key, t))) {
        assert!(known.contains(terminal), "{check}: {terminal}");
    }
    assert!(checks().map(|check| check.terminals.len()).sum::<usize>() > 20);
}

#[test]
fn checks_with_current_or_springs_or_heat_carry_a_caution() {
    let faults = Faults::builtin().unwrap();
    let cautioned = |check: &&Check| !check.caution.is_empty();
    let hurts = ["full-field", "charge-voltage", "diodes-freed", "no-load", "stator-insulation"];
    let checks = || faults.alternator.checks.iter().chain(&faults.starter.checks);
    for key in hurts {
        assert!(checks().filter(cautioned).any(|check| check.key == key), "{key}");
    }
    for table in [&faults.alternator, &faults.starter] {
        assert!(table.levels.iter().all(|level| !level.caution.is_empty()));
        assert!(table.deference.contains("local law") && table.deference.contains("licensed"));
        assert!(!table.closing.caution.is_empty());
    }
}

/// What is called for is weighed as a set of bits: what had no bit would be called for in vain.
#[test]
fn more_things_to_do_than_can_be_weighed_are_refused() {
    let own = |count: usize| {
        let fault = |at: usize| {
            format!(
                "[[fault]]\nkey = \"own-{at}\"\ncode = \"O-{at}\"\nname = \"own {at}\"\nprior = 0.005\n\
                 work = \"mend {at}\"\nminutes = 5.0\n"
            )
        };
        load(&format!("machine = \"starter\"\n{}", (0..count).map(fault).collect::<String>()))
    };
    assert!(own(30).is_ok());
    let Err(error) = own(80) else { panic!("it is refused") };
    assert!(error.to_string().contains("more than 64 things to order or do"), "{error}");
}

#[test]
fn a_file_that_is_wrong_is_refused_with_its_line() {
    let rows = [
        ("row sum", "others = [0.98, 0.02]", "others = [0.98, 0.03]", "sums to 1.01", "rotor"),
        ("row length", "others = [0.98, 0.02]", "others = [1.0]", "1 chances for the outcomes", ""),
        ("impossible", "others = [0.98, 0.02]", "others = [1.0, 0.0]", "not above zero", ""),
        ("prior sum", "prior = 0.15", "prior = 0.16", "the priors sum to 1.01", ""),
        ("unknown fault", "rotor-shorted = [0.55", "rotor-shortd = [0.55", "`rotor-shortd`", ""),
        ("unknown level", "level = \"V\"", "level = \"W\"", "level `W` is not known", ""),
        (
            "unknown field",
            "minutes = 12.0\nhow",
            "minuts = 12.0\nhow",
            "unknown field `minuts`",
            "",
        ),
        ("limits out of order", "[12.9, 13.5, 15.2]", "[12.9, 15.2, 13.5]", "limits", ""),
        ("not TOML", "machine = \"alternator\"", "machine = alternator", "", ""),
    ];
    for (shows, from, to, message, key) in &rows {
        let (text, line) = spoilt(from, to);
        let refused = load(&text).expect_err(shows).to_string();
        assert!(refused.contains(message) && refused.contains(key), "{shows}: {refused}");
        let at: usize =
            refused.split("line ").nth(1).unwrap().split(':').next().unwrap().parse().unwrap();
        let anywhere = ["prior sum", "unknown level", "limits out of order"].contains(shows); // these are named by the table they stand in
        assert!(anywhere || at == line, "{shows}: line {at}, spoilt {line}: {refused}");
        assert!(refused.starts_with("mine.toml"), "{refused}");
    }
}

#[test]
fn an_unknown_key_comes_with_the_nearest_there_is() {
    let hint = |from, to| load(&spoilt(from, to).0).unwrap_err().hint().unwrap_or_default();
    assert_eq!(
        hint("rotor-shorted = [0.55", "rotor-shortd = [0.55"),
        "Did you mean `rotor-shorted`?"
    );
    assert_eq!(hint("caution = \"Guards", "cautoin = \"Guards"), "Did you mean `caution`?");
}

#[test]
fn a_shops_own_fault_takes_its_share_and_brings_its_rows() {
    let own = r#"
machine = "alternator"
[[fault]]
key = "mouse-nest"
code = "X1"
name = "mouse nest in the housing"
prior = 0.10
work = "take it out"
minutes = 10.0
likelihood.look-and-smell = [0.1, 0.1, 0.1, 0.1, 0.6]
"#;
    let (before, after) = (Faults::builtin().unwrap(), load(own).unwrap());
    let (old, new) = (&before.alternator, &after.alternator);
    assert!((new.faults.iter().map(|fault| fault.prior).sum::<f64>() - 1.0).abs() < 1e-9);
    let fault = &new.faults[new.fault("mouse-nest").unwrap()];
    assert!((fault.prior - 0.10).abs() < 1e-12);
    assert!(
        (new.faults[0].prior - 0.9 * old.faults[0].prior).abs() < 1e-12,
        "the rest share the rest"
    );
    let check = &new.checks[new.check("B-24").unwrap()];
    assert_eq!(check.row(fault).unwrap(), [0.1, 0.1, 0.1, 0.1, 0.6]);
    assert_eq!(before.starter, after.starter);
}
