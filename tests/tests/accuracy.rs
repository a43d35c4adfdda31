//! Does fit name the right part, and mean its probabilities? On seeded catalogues of near-twins.
//!
//! Questions: 3 to 6 measures, any of the kind's lengths and counts alike; then as many of any of
//! the eleven it asks first, words and angles among them. Every third is also asked with the points.
//! Each is asked of a part that is there and of one that was taken out of the catalogue: half of
//! those went one by one, so that their siblings stay, half with their whole family.

#![allow(clippy::print_stdout, reason = "the figures are wanted in the log")]

use std::collections::HashSet;

use binwright_catalog::{Kind, Kinds, Layout};
use binwright_evidence::calibration::{auroc, expected_calibration_error};
use binwright_fit::kin::{lend, relatives};
use binwright_fit::table::{PackedPoint, Table, UNKNOWN, encode, stem_hash};
use binwright_fit::{Answer, Candidate, Model, Query};
use binwright_tests::corpus::{
    Specimen, Taken, asked_first, by_caliper, catalogue, dice, removed_by,
};
use rand::Rng;
use rayon::prelude::*;

/// So many that an honest forecast shows a calibration error of about 0.02 by chance alone.
const QUERIES: usize = 3_000;
/// Of the questions, one in so many is also asked with points.
const POINTS_EVERY: usize = 3;

fn plate() -> Kind {
    let kinds = Kinds::builtin().expect("the built-in kinds are checked");
    kinds.get("rectifier-plate").expect("a built-in kind").clone()
}

fn table(kind: &Kind, specimens: &[Specimen]) -> Table {
    let mut table = Table::new(kind);
    for (id, specimen) in specimens.iter().enumerate() {
        let card = &specimen.card;
        let values: Vec<f64> = kind
            .measures
            .iter()
            .map(|m| card.measures.get(&m.key).map_or(UNKNOWN, |value| encode(m, value)))
            .collect();
        let points = card.layout.as_ref().map(PackedPoint::pack).unwrap_or_default();
        table.push(id as u64, id as u64, stem_hash(&card.house), &values, &points);
    }
    table
}

/// What a person without this program does: keep what is within 0.5 mm or equal or not on the
/// card, the smallest sum of differences first.
fn filtered(kind: &Kind, table: &Table, taken: &Taken) -> Option<u64> {
    let mut best: Option<(f64, u64)> = None;
    for row in 0..table.len() {
        let mut sum = 0.0;
        let fits = taken.measured.iter().all(|(place, value)| {
            let measure = &kind.measures[*place];
            let off = (table.columns[*place][row] - encode(measure, value)).abs();
            let scale =
                measure.domain.is_number() && measure.domain != binwright_catalog::Domain::Count;
            // What is not on the card counts as the tolerance: as nothing, it would always win.
            sum += if off.is_nan() { 0.5 } else { off };
            off.is_nan() || off <= if scale { 0.5 } else { 0.0 }
        });
        if fits && best.is_none_or(|(least, _)| sum < least) {
            best = Some((sum, table.parts[row]));
        }
    }
    best.map(|(_, part)| part)
}

/// A catalogue with parts taken out of it.
struct Shop {
    specimens: Vec<Specimen>,
    absent: Vec<Specimen>,
    /// The families of which a part is left.
    families: HashSet<usize>,
    table: Table,
    model: Model,
}

impl Shop {
    /// One part in forty is taken out by itself, any of them alike, and as many with all of their
    /// family: a variant that the shop does not have, and a machine that it never had to do with.
    fn open(parts: usize) -> Self {
        let kind = plate();
        let share = parts / 40;
        let mut specimens = catalogue(2026, parts + 2 * share, &kind);
        let mut dice = dice(7);
        let mut take = || specimens.swap_remove(dice.random_range(0..specimens.len()));
        let mut absent: Vec<Specimen> = (0..share).map(|_| take()).collect();
        let mut leaving = HashSet::new();
        let mut left = share;
        while left > 0 {
            let family = specimens[dice.random_range(0..specimens.len())].family;
            if leaving.insert(family) {
                let members = specimens.iter().filter(|one| one.family == family).count();
                left = left.saturating_sub(members);
            }
        }
        absent.extend(specimens.extract_if(.., |one| leaving.contains(&one.family)));
        let families = specimens.iter().map(|specimen| specimen.family).collect();
        let table = table(&kind, &specimens);
        let (kin, weights) = relatives(&kind, &table);
        let lending = lend(&kind, &table, &kin, &weights);
        let model = Model::new(kind, table.clone(), lending);
        Self { specimens, absent, families, table, model }
    }

    /// Asks for a part that is there, then for one that is not.
    fn ask(&self, at: usize, places: &[usize]) -> Asked {
        let mut dice = dice(at as u64);
        let truth = dice.random_range(0..self.specimens.len());
        let gone = &self.absent[dice.random_range(0..self.absent.len())];
        let mut take =
            |whole| removed_by(&mut dice, self.model.kind(), whole, places.to_vec(), 3 + at % 4);
        let (there, missing) = (take(&self.specimens[truth].whole), take(&gone.whole));
        let is_truth = |found: &Candidate| found.parts.contains(&(truth as u64));
        let answer = self.fit(&there, None);
        let lead = &answer.candidates[0];
        let points = (at / 4).is_multiple_of(POINTS_EVERY).then(|| {
            let answer = self.fit(&there, there.layout.clone());
            WithPoints {
                five: answer.candidates.iter().any(is_truth),
                none: answer.none,
                none_when_gone: self.fit(&missing, missing.layout.clone()).none,
            }
        });
        Asked {
            lead: (lead.probability, is_truth(lead)),
            five: answer.candidates.iter().any(is_truth),
            filter: filtered(self.model.kind(), &self.table, &there) == Some(truth as u64),
            none: answer.none,
            none_when_gone: self.fit(&missing, None).none,
            has_siblings: self.families.contains(&gone.family),
            points,
        }
    }

    fn fit(&self, taken: &Taken, layout: Option<Layout>) -> Answer {
        let query = Query { measured: taken.measured.clone(), layout, ..Query::default() };
        self.model.fit(&query, 5).expect("a question that suits the kind")
    }
}

/// What came back on one question for a part that is there, and one for a part that is not.
struct Asked {
    /// Probability of the first part, and whether it is the right one.
    lead: (f64, bool),
    five: bool,
    filter: bool,
    none: f64,
    none_when_gone: f64,
    /// Whether the part that is not there has siblings that are.
    has_siblings: bool,
    points: Option<WithPoints>,
}

/// The same with the points.
struct WithPoints {
    five: bool,
    none: f64,
    none_when_gone: f64,
}

struct Figures {
    first: f64,
    filter: f64,
    points_five: f64,
    calibration: f64,
    none: f64,
    none_with_points: f64,
}

impl Figures {
    fn new(asked: &[Asked], heading: &str) -> Self {
        let share = |hits: usize, of: usize| hits as f64 / of as f64;
        let count = |hit: fn(&Asked) -> bool| asked.iter().filter(|asked| hit(asked)).count();
        let leads: Vec<_> = asked.iter().map(|asked| asked.lead).collect();
        let points: Vec<(&Asked, &WithPoints)> =
            asked.iter().filter_map(|asked| Some((asked, asked.points.as_ref()?))).collect();
        // Gone with siblings left, with the whole family, both.
        let cases: [fn(&Asked) -> bool; 3] =
            [|asked| asked.has_siblings, |asked| !asked.has_siblings, |_| true];
        let none = cases.map(|case| {
            let gone = asked.iter().filter(|asked| case(asked)).map(|a| (a.none_when_gone, true));
            order(asked.iter().map(|asked| (asked.none, false)).chain(gone))
        });
        let with_points = cases.map(|case| {
            let gone = points.iter().filter(|(asked, _)| case(asked));
            let gone = gone.map(|(_, points)| (points.none_when_gone, true));
            order(points.iter().map(|(_, points)| (points.none, false)).chain(gone))
        });
        let figures = Self {
            first: share(count(|asked| asked.lead.1), asked.len()),
            filter: share(count(|asked| asked.filter), asked.len()),
            points_five: share(points.iter().filter(|(_, p)| p.five).count(), points.len()),
            calibration: expected_calibration_error(&leads, 10),
            none: none[2],
            none_with_points: with_points[2],
        };
        println!(
            "{heading}, {} questions of 3 to 6: first {:.3}, first five {:.3}; tolerance filter \
             first {:.3} (x {:.2}); calibration error {:.3}\n  none of ours, AUROC: single parts \
             {:.3}, whole families {:.3} ({:.1} % of these), both {:.3}\n  {} of them with points: \
             first five {:.3}; none of ours: single parts {:.3}, whole families {:.3}, both {:.3}",
            asked.len(),
            figures.first,
            share(count(|asked| asked.five), asked.len()),
            figures.filter,
            figures.first / figures.filter,
            figures.calibration,
            none[0],
            none[1],
            100.0 * share(count(|asked| !asked.has_siblings), asked.len()),
            none[2],
            points.len(),
            figures.points_five,
            with_points[0],
            with_points[1],
            with_points[2],
        );
        figures
    }
}

fn order(forecasts: impl Iterator<Item = (f64, bool)>) -> f64 {
    auroc(&forecasts.collect::<Vec<_>>()).expect("questions of either sort")
}

/// The goals: `times_filter` times the first places of a tolerance filter, 95 of 100 right parts
/// among the first five with points, a calibration error of at most 0.04, and an AUROC of at least
/// 0.70 for "none of ours".
///
/// A variant that is missing by itself is hard to tell: three to six measures are explained by a
/// sibling more often than not. Its figure is printed beside that of whole families.
fn hold(parts: usize, times_filter: f64) {
    let shop = Shop::open(parts);
    let kind = shop.model.kind();
    let mixes = [
        (by_caliper(kind), "lengths and counts"),
        (asked_first(kind), "of the eleven asked first"),
    ];
    for (places, name) in mixes {
        let asked: Vec<Asked> =
            (0..QUERIES).into_par_iter().map(|at| shop.ask(at, &places)).collect();
        let figures = Figures::new(&asked, &format!("{parts} plates, {name}"));
        assert!(figures.first >= times_filter * figures.filter, "{name}: against a filter");
        assert!(figures.points_five >= 0.95, "{name}: with points");
        assert!(figures.calibration <= 0.04, "{name}: calibration");
        assert!(figures.none >= 0.70, "{name}: none of ours, by measures alone");
        assert!(figures.none_with_points >= 0.70, "{name}: none of ours, with points");
    }
}

#[test]
fn ten_thousand_parts() {
    hold(10_000, 1.2);
}

#[test]
fn a_hundred_thousand_parts() {
    hold(100_000, 1.3);
}
