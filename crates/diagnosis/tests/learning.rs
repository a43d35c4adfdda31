//! Do closed jobs teach what truly happens in this shop, and no more?

#![allow(clippy::unwrap_used, reason = "test code")]

mod simulated;

use binwright_catalog::Machine;
use binwright_diagnosis::{ClosedJob, DiagnosisError, Faults};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use simulated::{draw, hypotheses};

/// A shop that sees far more shorted diodes, whose meter shows them less often.
const SHOP: &str = include_str!("files/shop_with_shorted_diodes.toml");

fn closed(faults: &Faults, jobs: usize) -> Vec<ClosedJob> {
    let table = &faults.alternator;
    let (all, mut rng) = (hypotheses(table), ChaCha8Rng::seed_from_u64(5));
    let one = |_| {
        let drawn = draw(table, &all, &mut rng);
        let outcome = |(check, at): (&binwright_diagnosis::Check, &usize)| {
            (check.key.clone(), check.outcomes[*at].key.clone())
        };
        ClosedJob {
            machine: Machine::Alternator,
            faults: drawn.truth.iter().map(|at| table.faults[*at].key.clone()).collect(),
            outcomes: table.checks.iter().zip(&drawn.outcomes).map(outcome).collect(),
        }
    };
    (0..jobs).map(one).collect()
}

#[test]
fn many_jobs_move_the_tables_to_what_the_shop_sees() {
    let built_in = Faults::builtin().unwrap();
    let shop = Faults::load(&[("shop.toml".to_owned(), SHOP.to_owned())]).unwrap();
    let learnt = built_in.learnt_from(&closed(&shop, 4000), 200.0).unwrap();
    let row = |faults: &Faults| {
        let check = &faults.alternator.checks[faults.alternator.check("bplus-to-case").unwrap()];
        check
            .row(&faults.alternator.faults[faults.alternator.fault("diode-shorted").unwrap()])
            .unwrap()[1]
    };
    let (before, shops, after) = (row(&built_in), row(&shop), row(&learnt));
    assert!(
        (after - shops).abs() < 0.05 && (before - shops).abs() > 0.2,
        "{before} {shops} {after}"
    );
    let told = learnt.differences(&built_in, Machine::Alternator, 0.05);
    assert!(
        told.iter()
            .any(|l| l.outcome.is_none() && l.fault == "diode-shorted" && l.after > l.before)
    );
    for check in &learnt.alternator.checks {
        for row in learnt.alternator.faults.iter().filter_map(|fault| check.row(fault)) {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9 && row.iter().all(|p| *p > 0.0));
        }
    }
    let priors: f64 = learnt.alternator.faults.iter().map(|fault| fault.prior).sum();
    assert!((priors - 1.0).abs() < 1e-9);
    assert!(learnt.differences(&built_in, Machine::Starter, 1e-9).is_empty());
}

#[test]
fn no_jobs_teach_nothing_and_one_job_little() {
    let built_in = Faults::builtin().unwrap();
    let moved = |jobs: &[ClosedJob]| {
        let learnt = built_in.learnt_from(jobs, 200.0).unwrap();
        let differences = learnt.differences(&built_in, Machine::Alternator, 1e-9);
        differences.iter().map(|l| (l.after - l.before).abs()).fold(0.0, f64::max)
    };
    assert!(moved(&[]) < 1e-12);
    let one = moved(&closed(&built_in, 1));
    assert!(one > 0.0 && one < 0.5, "{one}");
}

#[test]
fn the_order_of_jobs_teaches_the_same() {
    let built_in = Faults::builtin().unwrap();
    let mut jobs = closed(&built_in, 50);
    let forward = built_in.learnt_from(&jobs, 100.0).unwrap();
    jobs.reverse();
    let backward = built_in.learnt_from(&jobs, 100.0).unwrap();
    assert!(forward.differences(&backward, Machine::Alternator, 1e-12).is_empty());
}

#[test]
fn a_job_with_an_unknown_fault_is_refused_with_the_nearest() {
    let job = ClosedJob {
        machine: Machine::Starter,
        faults: vec!["brushs".to_owned()],
        outcomes: Vec::new(),
    };
    let refused = Faults::builtin().unwrap().learnt_from(&[job], 100.0).unwrap_err();
    assert!(matches!(&refused, DiagnosisError::UnknownFault { .. }));
    assert_eq!(refused.hint().unwrap(), "Did you mean `brushes`?");
}
