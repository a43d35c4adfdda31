//! The quick answer against the slow one, and the laws every answer keeps.

use binwright_catalog::{Layout, Point, Role, Value};
use proptest::prelude::*;

use super::*;
use crate::{
    kin::{Lent, LentColumn, LentLayout},
    query::Observation,
};

fn kind() -> Kind {
    toml::from_str(
        r#"
        key = "plate"
        label = "plate"
        layout = { spread_mm = 0.3, slip = 0.05, mirrored = 0.07, minutes = 3, rank = 5, how = "caliper" }
        [[measure]]
        key = "od"
        label = "outline"
        type = "length"
        unit = "mm"
        instrument = "caliper"
        how = "widest"
        spread = 0.1
        tolerance = 0.3
        range = [80, 140]
        slip = 0.05
        minutes = 0.5
        rank = 1
        [[measure]]
        key = "lugs"
        label = "lugs"
        type = "count"
        unit = "1"
        instrument = "eye"
        how = "count"
        range = [3, 8]
        slip = 0.03
        minutes = 0.3
        rank = 2
        hard = true
        [[measure]]
        key = "brush_len"
        label = "brush length"
        type = "length"
        unit = "mm"
        instrument = "caliper"
        how = "longer edge"
        spread = 0.1
        tolerance = 0.5
        range = [4, 30]
        wear = "down"
        wear_allowance = 9.0
        slip = 0.05
        minutes = 0.5
        rank = 3
        [[measure]]
        key = "angle"
        label = "stud angle"
        type = "angle"
        unit = "deg"
        instrument = "card"
        how = "clockwise"
        spread = 2.0
        tolerance = 1.0
        slip = 0.05
        minutes = 1
        rank = 4
        [[measure]]
        key = "hand"
        label = "hand"
        type = "choice"
        unit = "1"
        choices = ["left", "right", "symmetric"]
        instrument = "eye"
        how = "rear face"
        slip = 0.08
        minutes = 0.3
        rank = 6
        "#,
    )
    .unwrap()
}

const HANDS: [&str; 3] = ["left", "right", "symmetric"];

fn word(hand: usize) -> f64 {
    encode(&kind().measures[4], &Value::Word(HANDS[hand].to_owned()))
}

fn layout(points: &[(usize, f64, f64)]) -> Layout {
    let point = |&(role, x_mm, y_mm): &(usize, f64, f64)| Point {
        role: Role::ALL[role],
        designation: None,
        x_mm,
        y_mm,
        size: None,
    };
    Layout::new(points.iter().map(point).collect())
}

fn moved(layout: &Layout, degrees: f64) -> Layout {
    let (sin, cos) = f64::to_radians(degrees).sin_cos();
    let turn = |p: &Point| Point {
        x_mm: cos * p.x_mm - sin * p.y_mm + 7.0,
        y_mm: sin * p.x_mm + cos * p.y_mm - 3.0,
        ..p.clone()
    };
    Layout::new(layout.points().iter().rev().map(turn).collect())
}

/// A row: od, lugs, brush length, angle, hand, which of a few layouts.
type Row = (f64, f64, f64, f64, Option<usize>, Option<usize>);

fn gap<S: Strategy<Value = f64>>(values: S) -> impl Strategy<Value = f64> {
    prop_oneof![3 => values, 1 => Just(f64::NAN)]
}

fn row() -> impl Strategy<Value = Row> {
    (
        gap((800..1400_i32).prop_map(|v| f64::from(v) / 10.0)),
        gap((3..9_i32).prop_map(f64::from)),
        gap((10..25_i32).prop_map(f64::from)),
        gap((0..360_i32).prop_map(f64::from)),
        prop::option::of(0..3_usize),
        prop::option::of(0..6_usize),
    )
}

/// Six layouts, some a point apart, one the mirror image of another.
fn layouts() -> Vec<Layout> {
    let base = [(0, 0.0, 0.0), (0, 92.1, 0.0), (1, 46.0, 31.5), (2, 18.0, 12.0), (2, 46.0, -9.0)];
    let mirrored = base.map(|(role, x, y)| (role, -x, y));
    let mut near = base;
    near[2].1 = 49.0;
    let mut far = base;
    far[1].1 = 80.0;
    let fewer = [base[0], base[1], base[2]];
    let other = [(0, 0.0, 0.0), (0, 40.0, 10.0), (0, 70.0, -20.0), (1, 20.0, 40.0)];
    vec![
        layout(&base),
        layout(&mirrored),
        layout(&near),
        layout(&far),
        layout(&fewer),
        layout(&other),
    ]
}

fn model(rows: &[Row]) -> Model {
    let mut table = Table::new(&kind());
    let known = layouts();
    for (at, row) in rows.iter().enumerate() {
        let values = [row.0, row.1, row.2, row.3, row.4.map_or(f64::NAN, word)];
        let points = row.5.map_or_else(Vec::new, |at| PackedPoint::pack(&known[at]));
        // Every seventh is interchangeable with the one before.
        let group = if at % 7 == 6 { at - 1 } else { at } as u64;
        table.push(1000 + at as u64, group, 0, &values, &points);
    }
    let lending = lend(&table);
    Model::new(kind(), table, lending)
}

/// The rows of the parts of `candidate`.
fn rows_of(candidate: &Candidate) -> impl Iterator<Item = usize> {
    candidate.parts.iter().map(|part| *part as usize - 1000)
}

/// Each second gap is lent the values of the first two rows that have one.
fn lend(table: &Table) -> Lending {
    let column = |values: &Vec<f64>| {
        let mut lent = LentColumn { starts: vec![0], blur: 0.6, ..LentColumn::default() };
        let known = || (0..values.len()).filter(|from| !values[*from].is_nan());
        for row in (0..values.len()).filter(|row| values[*row].is_nan()).step_by(2) {
            for from in known().take(2) {
                let (from, value) = (from as u32, values[from]);
                lent.values.push(Lent { from, value, exact: 0.4, near: 0.08 });
            }
            lent.rows.push(row as u32);
            lent.starts.push(lent.values.len() as u32);
        }
        lent
    };
    let columns = table.columns.iter().map(column).collect();
    Lending { columns, layouts: lend_layouts(table) }
}

/// Each second row without a layout is lent those of the first two rows that have one.
fn lend_layouts(table: &Table) -> Vec<LentLayout> {
    let (known, gaps): (Vec<u32>, Vec<u32>) =
        (0..table.len() as u32).partition(|row| !table.points_of(*row as usize).is_empty());
    let lend = |row: &u32| {
        let row = *row;
        let offers = known.iter().zip([0.5, 0.2]);
        offers.map(move |(from, exact)| LentLayout { row, from: *from, exact }).collect::<Vec<_>>()
    };
    gaps.iter().step_by(2).flat_map(lend).collect()
}

fn query(row: &Row, turn: f64) -> Query {
    let values = [row.0, row.1, row.2, row.3];
    let mut measured: Vec<(usize, Value)> = values
        .iter()
        .enumerate()
        .filter(|(_, value)| !value.is_nan())
        .map(|(at, value)| (at, Value::Number(*value)))
        .collect();
    measured.extend(row.4.map(|hand| (4, Value::Word(HANDS[hand].to_owned()))));
    let layout = row.5.map(|at| moved(&layouts()[at], turn));
    Query { measured, layout, ..Query::default() }
}

/// The score of every row by the plain formula, one row and one measure at a time.
fn slow_scores(model: &Model, query: &Query) -> Vec<f64> {
    let n = model.table.len();
    let mut scores = vec![0.0; n];
    for (at, value) in &query.measured {
        let measure = &model.kind.measures[*at];
        let span = model.spans[*at];
        let reading = Reading::new(measure, encode(measure, value), None, span);
        let column = &model.table.columns[*at];
        let known: Vec<f64> = column.iter().copied().filter(|v| !v.is_nan()).collect();
        let mean = known.iter().map(|v| reading.density(*v, 0.0)).sum::<f64>() / known.len() as f64;
        let background = if known.is_empty() { 1.0 / span } else { 0.95 * mean + 0.05 / span };
        let lent = &model.lending.columns[*at];
        for row in 0..n {
            let likelihood = if !column[row].is_nan() {
                reading.density(column[row], 0.0)
            } else if let Ok(gap) = lent.rows.binary_search(&(row as u32)) {
                let (from, to) = (lent.starts[gap] as usize, lent.starts[gap + 1] as usize);
                let blurred = |v| match measure.domain {
                    Domain::Length | Domain::Angle => reading.density(v, lent.blur),
                    _ => background,
                };
                let mut own = 1.0;
                let mut sum = 0.0;
                for v in &lent.values[from..to] {
                    let (exact, near) = (f64::from(v.exact), f64::from(v.near));
                    sum += exact * reading.density(v.value, 0.0) + near * blurred(v.value);
                    own -= exact + near;
                }
                sum + own.max(1e-4) * background
            } else {
                background
            };
            scores[row] += (likelihood / background).ln();
        }
    }
    let Some(taken) = model.taken(query).unwrap() else { return scores };
    let mut weigher = Weigher::new(&model.layouts, &taken);
    let mut ln: Vec<f32> =
        (0..model.layouts.len()).map(|layout| weigher.weigh(layout).ln as f32).collect();
    let top = ln.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    ln.push(model.unknown_layout(&ln, top));
    let worth = |row: usize| f64::from(ln[model.layouts.of_row[row] as usize]).exp();
    for (row, score) in scores.iter_mut().enumerate() {
        let lent = || model.lending.layouts.iter().filter(|lent| lent.row as usize == row);
        let own = 1.0 - lent().map(|lent| f64::from(lent.exact)).sum::<f64>();
        let lent = lent().map(|lent| f64::from(lent.exact) * worth(lent.from as usize));
        *score += (lent.sum::<f64>() + own * worth(row)).ln();
    }
    scores
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_answer_is_the_one_that_scoring_every_part_gives(
        rows in prop::collection::vec(row(), 1..120), at in any::<prop::sample::Index>(),
        turn in 0.0..360.0_f64, distances in any::<bool>(),
    ) {
        let model = model(&rows);
        let mut query = query(at.get(&rows), turn);
        if distances {
            query.distances_mm = vec![92.0, 55.7];
        }
        let answer = model.fit(&query, rows.len()).unwrap();
        let scores = slow_scores(&model, &query);
        let ln_rows = binwright_evidence::ln_sum_exp(&scores);
        for candidate in &answer.candidates {
            let slow: f64 =
                rows_of(candidate).map(|row| (scores[row] - ln_rows).exp()).sum();
            let quick = candidate.probability / (1.0 - answer.none);
            prop_assert!((quick - slow).abs() < 1e-4 * (1.0 + slow), "{quick} {slow}");
        }
    }

    #[test]
    fn probabilities_sum_to_one_and_every_part_answers_once(
        rows in prop::collection::vec(row(), 1..60), at in any::<prop::sample::Index>()
    ) {
        let answer = model(&rows).fit(&query(at.get(&rows), 12.0), rows.len()).unwrap();
        let sum: f64 = answer.candidates.iter().map(|c| c.probability).sum();
        prop_assert!((sum + answer.none - 1.0).abs() < 1e-4, "{sum} {}", answer.none);
        let mut parts: Vec<u64> =
            answer.candidates.iter().flat_map(|c| c.parts.iter().copied()).collect();
        parts.sort_unstable();
        prop_assert_eq!(parts, (1000..1000 + rows.len() as u64).collect::<Vec<_>>());
    }

    #[test]
    fn a_measure_nobody_has_changes_nothing(
        rows in prop::collection::vec(row(), 2..40), at in any::<prop::sample::Index>()
    ) {
        let mut rows: Vec<Row> = rows;
        for row in &mut rows {
            row.3 = f64::NAN;
        }
        let (model, query) = (model(&rows), query(at.get(&rows), 12.0));
        let before = model.fit(&query, 10).unwrap();
        let mut with = query.clone();
        with.measured.push((3, Value::Number(118.0)));
        let after = model.fit(&with, 10).unwrap();
        prop_assert!((before.none - after.none).abs() < 1e-6);
        for (a, b) in before.candidates.iter().zip(&after.candidates) {
            prop_assert_eq!(&a.parts, &b.parts);
            prop_assert!((a.probability - b.probability).abs() < 1e-6);
        }
    }

    #[test]
    fn no_layout_is_worth_more_than_its_bound(
        rows in prop::collection::vec(row(), 1..20), at in 0..6_usize, turn in 0.0..360.0_f64,
        off in prop::collection::vec(-1.2..1.2_f64, 10),
    ) {
        let model = model(&rows);
        let mut points = moved(&layouts()[at], turn).points().to_vec();
        for (point, off) in points.iter_mut().zip(off.chunks(2)) {
            (point.x_mm, point.y_mm) = (point.x_mm + off[0], point.y_mm + off[1]);
        }
        let layout = Some(Layout::new(points));
        let query = Query { layout, distances_mm: vec![92.3, 40.0], ..Query::default() };
        let taken = model.taken(&query).unwrap().unwrap();
        let mut weigher = Weigher::new(&model.layouts, &taken);
        for (layout, bound) in weigher.bounds().into_iter().enumerate() {
            let closer = weigher.closer_bound(layout);
            let weight = weigher.weigh(layout).ln;
            prop_assert!(weight <= f64::from(bound) + 1e-3, "{weight} {bound}");
            prop_assert!(weight <= f64::from(closer) + 1e-3, "{weight} {closer}");
        }
    }
}

/// Three plates, all measures known.
fn plates() -> Vec<Row> {
    vec![
        (110.0, 6.0, 20.0, 90.0, Some(0), Some(0)),
        (110.4, 6.0, 20.0, 90.0, Some(1), Some(1)),
        (125.0, 3.0, 16.0, 200.0, Some(0), Some(5)),
    ]
}

fn first(rows: &[Row], query: &Query) -> Candidate {
    model(rows).fit(query, 10).unwrap().candidates.swap_remove(0)
}

#[test]
fn a_miscounted_lug_still_finds_the_plate() {
    let mut query = query(&plates()[2], 0.0);
    query.measured[1].1 = Value::Number(4.0);
    let found = first(&plates(), &query);
    assert_eq!(found.parts, [1002]);
    assert!(found.probability > 0.9);
    assert_eq!(found.measures[1].verdict, Verdict::Near);
    assert_eq!(found.measures[1].deviation, Some(1.0));
}

#[test]
fn a_short_brush_is_hardly_evidence_and_a_long_one_is_strong() {
    let brush = |mm| Query { measured: vec![(2, Value::Number(mm))], ..Query::default() };
    let odds = |mm| {
        let answer = model(&plates()).fit(&brush(mm), 10).unwrap();
        let of = |part| answer.candidates.iter().find(|c| c.parts.contains(&part)).unwrap();
        of(1000).probability / of(1002).probability
    };
    assert!((odds(13.0) - 1.0).abs() < 0.01, "either may be worn to 13 mm: {}", odds(13.0));
    assert!(odds(18.5) > 50.0, "16 mm when new cannot be 18.5: {}", odds(18.5));
}

#[test]
fn the_mirror_image_is_told_as_the_wrong_hand() {
    let layout = Some(moved(&layouts()[0], 33.0));
    let query = Query { layout, ..Query::default() };
    let answer = model(&plates()).fit(&query, 10).unwrap();
    let of = |part| answer.candidates.iter().find(|c| c.parts.contains(&part)).unwrap();
    assert_eq!(answer.candidates[0].parts, [1000]);
    assert!(!of(1000).wrong_hand && of(1001).wrong_hand);
    assert!(of(1001).registration.as_ref().unwrap().mirrored);
    assert!(of(1000).registration.as_ref().unwrap().rms_mm < 0.02);
}

#[test]
fn identical_parts_and_interchangeable_parts_answer_as_one() {
    let mut rows = plates();
    rows.extend([rows[0], rows[1], (80.0, 3.0, 10.0, 0.0, None, None), rows[2]]);
    rows[6].0 = 90.0; // the seventh is in the group of the sixth, whatever it measures
    let answer = model(&rows).fit(&query(&rows[0], 0.0), 10).unwrap();
    let parts: Vec<&[u64]> = answer.candidates.iter().map(|c| c.parts.as_slice()).collect();
    assert!(parts[0].len() == 2 && parts[0].contains(&1000) && parts[0].contains(&1003));
    assert!(parts.iter().any(|p| p.contains(&1005) && p.contains(&1006)));
    assert_eq!(parts.len(), 4);
}

#[test]
fn a_part_unlike_all_is_none_of_ours_and_the_prior_counts() {
    let rows = plates();
    let strange = query(&(95.0, 8.0, 28.0, 300.0, Some(2), None), 0.0);
    let none = |query: &Query| model(&rows).fit(query, 10).unwrap().none;
    let (like, unlike) = (none(&query(&rows[0], 0.0)), none(&strange));
    assert!(like < 0.05 && unlike > 0.5, "{like} {unlike}");
    assert!(none(&Query { none_prior: 0.5, ..strange.clone() }) > unlike);
    assert!(none(&Query { none_prior: 0.0, ..strange }) < 1e-12);
}

/// Codes of 16 bits do not hold them; the readings before and after it are looked up beside it.
#[test]
fn a_measure_with_more_values_than_16_bits_hold_is_weighed_alike() {
    let rows: Vec<Row> = (0..70_000)
        .map(|at| (80.0 + f64::from(at) / 1200.0, 4.0, 20.0, f64::from(at % 7), Some(0), None))
        .collect();
    let model = model(&rows);
    let query = query(&rows[33_333], 0.0);
    let answer = model.fit(&query, 3).unwrap();
    let scores = slow_scores(&model, &query);
    let ln_rows = binwright_evidence::ln_sum_exp(&scores);
    assert!(answer.candidates[0].row == 33_333);
    for candidate in &answer.candidates {
        let slow: f64 = rows_of(candidate).map(|row| (scores[row] - ln_rows).exp()).sum();
        let quick = candidate.probability / (1.0 - answer.none);
        assert!((quick / slow - 1.0).abs() < 1e-4, "{quick} {slow}");
    }
}

#[test]
fn an_angle_is_near_across_the_full_turn() {
    let mut rows = plates();
    (rows[0].3, rows[1].3) = (359.0, 20.0);
    let query = Query { measured: vec![(3, Value::Number(1.0))], ..Query::default() };
    let found = first(&rows, &query);
    assert_eq!(found.parts, [1000]);
    assert_eq!(found.measures[0].deviation, Some(2.0));
}

#[test]
fn what_tells_the_rest_apart_is_asked_next() {
    let model = model(&plates());
    let query = Query { measured: vec![(1, Value::Number(6.0))], ..Query::default() };
    let answer = model.fit(&query, 10).unwrap();
    let next = model.next(&query, &answer);
    let bits = |what| next.iter().find(|n| n.what == what).map_or(0.0, |n| n.gain_bits);
    // The first two differ by hand and layout; their angle and brush are the same.
    assert!(bits(Observation::Measure(4)) > 2.0 * bits(Observation::Measure(3)));
    assert!(bits(Observation::Layout) > 2.0 * bits(Observation::Measure(3)));
    assert!(next.iter().all(|n| n.what != Observation::Measure(1)), "taken already");
    let minute = |n: &Next| n.gain_bits / n.minutes;
    assert!(next.is_sorted_by(|a, b| minute(a) >= minute(b)));
}

#[test]
fn a_query_that_does_not_suit_the_kind_is_refused() {
    let model = model(&plates());
    let refused = |query: Query| model.fit(&query, 10).unwrap_err();
    let measured = |measured| Query { measured, ..Query::default() };
    let six = Value::Number(6.0);
    assert!(matches!(
        refused(measured(vec![(9, six.clone())])),
        FitError::NoSuchMeasure { measure: 9, .. }
    ));
    assert!(matches!(
        refused(measured(vec![(1, Value::Word("six".into()))])),
        FitError::WrongValue { .. }
    ));
    assert!(matches!(refused(measured(vec![(1, six.clone()), (1, six)])), FitError::Twice { .. }));
    let query = |sd_mm, none_prior, distance| Query {
        sd_mm: Some(sd_mm),
        none_prior,
        distances_mm: vec![distance],
        ..Query::default()
    };
    assert!(matches!(refused(query(0.0, 0.1, 9.0)), FitError::BadSpread { .. }));
    assert!(matches!(refused(query(0.1, 1.0, 9.0)), FitError::BadPrior { .. }));
    assert!(matches!(refused(query(0.1, 0.1, f64::NAN)), FitError::BadDistance { .. }));
}

#[test]
fn as_many_are_told_as_are_asked_for() {
    let (model, query) = (model(&plates()), query(&plates()[0], 0.0));
    let told = |limit| model.fit(&query, limit).unwrap().candidates.len();
    assert_eq!([0, 1, 3, usize::MAX].map(told), [0, 1, 3, 3]);
}

#[test]
fn an_empty_kind_has_no_answer_but_none() {
    let model = Model::new(kind(), Table::new(&kind()), Lending::default());
    let answer = model.fit(&query(&plates()[0], 0.0), 10).unwrap();
    assert!(answer.candidates.is_empty() && answer.none > 0.999_999);
    assert!(model.next(&Query::default(), &answer).is_empty());
}
