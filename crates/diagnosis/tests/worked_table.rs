//! Do single faults weigh as an independent computation has them?
//!
//! Goal: the arithmetic (priors, rows, the power of checks that repeat each other) is right. Method:
//! posteriors of single faults, computed outside this program by a short script from the same priors
//! and rows, compared to three places. Pairs are set aside by comparing single faults among themselves.

#![allow(clippy::unwrap_used, reason = "test code")]

use std::collections::BTreeMap;

use binwright_catalog::Machine;
use binwright_diagnosis::{Faults, Job, diagnose};

fn singles(faults: &Faults, readings: &str) -> BTreeMap<String, f64> {
    let readings = readings.split_whitespace().map(|r| faults.alternator.reading(r).unwrap());
    let job = Job {
        machine: Machine::Alternator,
        volts: 12,
        carried_in_loose: false,
        stripped_to: None,
        readings: readings.collect(),
    };
    let all = diagnose(faults, &job).unwrap().explanations;
    let alone: Vec<_> = all.iter().filter(|explanation| explanation.faults.len() == 1).collect();
    let total: f64 = alone.iter().map(|explanation| explanation.probability).sum();
    let code =
        |key: &str| faults.alternator.faults[faults.alternator.fault(key).unwrap()].code.clone();
    alone.iter().map(|e| (code(&e.faults[0]), e.probability / total)).collect()
}

#[test]
fn single_faults_weigh_as_computed_independently() {
    let rows: [(&str, &[(&str, f64)]); 6] = [
        ("B-05=low", &[("A2", 0.134), ("A6", 0.128), ("A7", 0.085), ("N1", 0.083), ("N2", 0.076)]),
        (
            "B-05=low B-06=high",
            &[("A6", 0.268), ("A7", 0.178), ("A9", 0.138), ("A8", 0.109), ("A2", 0.086)],
        ),
        ("B-05=low B-06=high B-09=one", &[("A6", 0.831), ("A9", 0.123)]),
        ("B-05=low B-06=high B-09=one B-24=burnt_stator", &[("A6", 0.510), ("A9", 0.478)]),
        ("B-05=low B-06=high B-09=two B-17=open", &[("A8", 0.835), ("A9", 0.083), ("A7", 0.067)]),
        (
            "B-05=none B-04=ok B-11=erratic B-13=ok",
            &[("N5", 0.275), ("A4", 0.203), ("A2", 0.189), ("A3", 0.139)],
        ),
    ];
    let faults = Faults::builtin().unwrap();
    for (readings, wanted) in rows {
        let found = singles(&faults, readings);
        for (code, probability) in wanted {
            assert!(
                (found[*code] - probability).abs() < 0.000_5,
                "{readings}: {code} is {:.4} and not {probability}",
                found[*code]
            );
        }
    }
}
