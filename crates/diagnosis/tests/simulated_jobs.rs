//! Does asking what the tool asks find the fault in less time than asking everything?
//!
//! Goal: on jobs whose truth is known, the tool's own checks find the fault as often as every check,
//! in far fewer minutes; its probabilities come true as often as they say; what it would order is right
//! more often than without asking. Method: jobs are drawn from the tables with fixed seeds, single
//! faults and pairs as often as the priors and bonds say. Checks of one group repeat each other: with
//! one chance in two a later one shares the luck of the first (the same quantile of its row).

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "test code; figures are printed")]

mod simulated;

use std::collections::BTreeSet;

use binwright_catalog::Machine;
use binwright_diagnosis::{
    Diagnosis, FaultKind, Faults, Job, OUTSIDE, Reading, Table, Value, diagnose,
};
use binwright_evidence::calibration::expected_calibration_error;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use simulated::{Drawn, draw, hypotheses};

struct Scene<'a> {
    faults: &'a Faults,
    machine: Machine,
    loose: bool,
    /// Key of the check whose outcome the customer brings along.
    complaint: Option<&'static str>,
}

#[derive(Default)]
struct Tally {
    jobs: f64,
    leads: f64,
    roles_right: f64,
    minutes: f64,
    checks: f64,
    leading: Vec<(f64, bool)>,
    every: Vec<(f64, bool)>,
}

impl Scene<'_> {
    fn table(&self) -> &Table {
        self.faults.table(self.machine)
    }

    fn reading(&self, drawn: &Drawn, check: usize) -> Reading {
        let check_ = &self.table().checks[check];
        let outcome = check_.outcomes[drawn.outcomes[check]].key.clone();
        Reading {
            check: check_.key.clone(),
            typed: outcome.clone(),
            value: Value::Outcome(outcome),
        }
    }

    fn start(&self, drawn: &Drawn) -> Job {
        let complaint = self.complaint.map(|key| self.table().check(key).unwrap());
        Job {
            machine: self.machine,
            volts: 12,
            carried_in_loose: self.loose,
            stripped_to: None,
            readings: complaint.iter().map(|check| self.reading(drawn, *check)).collect(),
        }
    }

    fn add(
        &self,
        tally: &mut Tally,
        drawn: &Drawn,
        diagnosis: &Diagnosis,
        minutes: f64,
        checks: usize,
    ) {
        let table = self.table();
        let present =
            |key: &str| {
                drawn.truth.iter().map(|at| &table.faults[*at]).any(|fault| {
                    fault.key == key || key == OUTSIDE && fault.kind == FaultKind::Outside
                })
            };
        let first = &diagnosis.findings[0];
        tally.jobs += 1.0;
        tally.leads += f64::from(u8::from(present(&first.key)));
        tally.roles_right += f64::from(u8::from(ordered(diagnosis) == needed(table, drawn)));
        tally.minutes += minutes;
        tally.checks += checks as f64;
        tally.leading.push((first.probability, present(&first.key)));
        tally.every.extend(diagnosis.findings.iter().map(|f| (f.probability, present(&f.key))));
    }

    /// Makes every check there is, in stripping order.
    fn every_check(&self, tally: &mut Tally, drawn: &Drawn) {
        let table = self.table();
        let job = self.start(drawn);
        let next = diagnose(self.faults, &job).unwrap().next_checks;
        let places = next.iter().map(|next| table.check(&next.check).unwrap());
        let readings = job.readings.iter().cloned();
        let readings = readings.chain(places.map(|check| self.reading(drawn, check))).collect();
        let opened: BTreeSet<&str> = next.iter().map(|next| next.level.as_str()).collect();
        let shut = table.levels.iter().filter(|level| opened.contains(level.key.as_str()));
        let strip: f64 = shut.skip(usize::from(self.loose)).map(|level| level.minutes).sum();
        let minutes = strip + next.iter().map(|next| next.minutes).sum::<f64>();
        let diagnosis = diagnose(self.faults, &Job { readings, ..job }).unwrap();
        self.add(tally, drawn, &diagnosis, minutes, next.len());
    }

    /// Asks `choose` for the next check until it has none.
    fn ask(&self, tally: &mut Tally, drawn: &Drawn, choose: impl Fn(&Diagnosis) -> Option<usize>) {
        let mut job = self.start(drawn);
        let (mut minutes, mut checks) = (0.0, 0);
        loop {
            let diagnosis = diagnose(self.faults, &job).unwrap();
            let Some(next) = choose(&diagnosis) else {
                return self.add(tally, drawn, &diagnosis, minutes, checks);
            };
            let next = &diagnosis.next_checks[next];
            minutes += next.minutes + next.strip_minutes;
            checks += 1;
            job.readings.push(self.reading(drawn, self.table().check(&next.check).unwrap()));
        }
    }

    fn in_stripping_order(&self, diagnosis: &Diagnosis) -> Option<usize> {
        let level = |key: &str| self.table().level(key).unwrap();
        (0..diagnosis.next_checks.len()).min_by_key(|at| {
            let next = &diagnosis.next_checks[*at];
            (level(&next.level), self.table().check(&next.check).unwrap())
        })
    }
}

fn ordered(diagnosis: &Diagnosis) -> BTreeSet<String> {
    let must = diagnosis.calls.must.iter();
    let parts = must.clone().filter(|call| call.ordered).map(|call| call.role.clone());
    let rework = must.filter(|call| call.rework.as_ref().is_some_and(|(_, enough)| *enough >= 0.5));
    parts.chain(rework.map(|call| format!("rework {}", call.role))).collect()
}

fn needed(table: &Table, drawn: &Drawn) -> BTreeSet<String> {
    let wants = || drawn.truth.iter().flat_map(|at| &table.faults[*at].must);
    let parts: BTreeSet<String> =
        wants().filter(|want| want.rework.is_none()).map(|want| want.role.clone()).collect();
    let rework = wants().filter(|want| want.rework.is_some() && !parts.contains(&want.role));
    let rework: BTreeSet<String> = rework.map(|want| format!("rework {}", want.role)).collect();
    parts.into_iter().chain(rework).collect()
}

fn print(name: &str, tally: &Tally) {
    println!(
        "{name:<34} leads {:.3}  roles right {:.3}  minutes {:6.1}  checks {:4.1}  calibration error \
         {:.3} (leading) {:.4} (all)",
        tally.leads / tally.jobs,
        tally.roles_right / tally.jobs,
        tally.minutes / tally.jobs,
        tally.checks / tally.jobs,
        expected_calibration_error(&tally.leading, 10),
        expected_calibration_error(&tally.every, 10),
    );
}

fn prove(scene: &Scene<'_>, seed: u64, jobs: usize) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let all = hypotheses(scene.table());
    let [mut tool, mut every, mut stripping, mut unasked] = [(); 4].map(|()| Tally::default());
    for _ in 0..jobs {
        let drawn = draw(scene.table(), &all, &mut rng);
        scene.ask(&mut unasked, &drawn, |_| None);
        scene.ask(&mut tool, &drawn, |d| (!d.stop.stop).then_some(0));
        scene.every_check(&mut every, &drawn);
        scene.ask(&mut stripping, &drawn, |d| scene.in_stripping_order(d).filter(|_| !d.stop.stop));
    }
    println!("{jobs} jobs, {}, loose: {}", scene.machine, scene.loose);
    print("complaint only", &unasked);
    print("the tool's own checks", &tool);
    print("stripping order, same stop", &stripping);
    print("stripping order, every check", &every);
    assert!(tool.leads >= every.leads - 0.02 * tool.jobs, "leads within two points of every check");
    assert!(tool.minutes <= 0.6 * every.minutes, "at least 40 % fewer minutes");
    assert!(tool.roles_right > unasked.roles_right, "asking on makes the order right more often");
    for forecasts in [&tool.leading, &tool.every] {
        let calibration_error = expected_calibration_error(forecasts, 10);
        assert!(calibration_error <= 0.03, "calibration error {calibration_error:.3}");
    }
}

#[test]
fn on_the_vehicle_the_tools_checks_find_alternator_faults_in_less_time() {
    let faults = Faults::builtin().unwrap();
    let complaint = Some("charge-voltage");
    let scene = Scene { faults: &faults, machine: Machine::Alternator, loose: false, complaint };
    prove(&scene, 11, 1000);
}

#[test]
fn a_loose_alternator_is_found_out_in_less_time() {
    let faults = Faults::builtin().unwrap();
    let complaint = Some("charge-voltage");
    let scene = Scene { faults: &faults, machine: Machine::Alternator, loose: true, complaint };
    prove(&scene, 12, 1000);
}

#[test]
fn on_the_vehicle_the_tools_checks_find_starter_faults_in_less_time() {
    let faults = Faults::builtin().unwrap();
    let complaint = Some("behaviour");
    let scene = Scene { faults: &faults, machine: Machine::Starter, loose: false, complaint };
    prove(&scene, 13, 1000);
}

#[test]
fn a_loose_starter_is_found_out_in_less_time() {
    let faults = Faults::builtin().unwrap();
    let complaint = Some("behaviour");
    let scene = Scene { faults: &faults, machine: Machine::Starter, loose: true, complaint };
    prove(&scene, 14, 1000);
}
