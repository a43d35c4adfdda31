//! On which parts is accuracy measured? Invented families of near-twins, seeded.
//!
//! Families of one to six siblings share most values; a sibling differs by about 1.5 mm in one or
//! two dimensions, sometimes by a count, a word, a moved terminal or its hand. Of every part 10 to
//! 30 % of the measures are not on its card, and a quarter of the layouts are not.

use binwright_catalog::{Domain, Kind, Layout, Measure, Part, Point, Role, Value, Wear};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The random numbers of a corpus: the same for the same seed on every machine.
pub type Dice = ChaCha8Rng;

/// Returns the random numbers of `seed`.
pub fn dice(seed: u64) -> Dice {
    Dice::seed_from_u64(seed)
}

/// A part as its card has it, and as it is.
#[derive(Debug, Clone)]
pub struct Specimen {
    /// With gaps.
    pub card: Part,
    /// Without.
    pub whole: Part,
    /// The same number for siblings.
    pub family: usize,
}

/// What was taken on a removed part.
#[derive(Debug, Clone)]
pub struct Taken {
    /// Place of the measure in the kind's list, and the reading.
    pub measured: Vec<(usize, Value)>,
    /// Its points in a frame of their own, when it has any.
    pub layout: Option<Layout>,
}

const THREADS: [&str; 4] = ["M5", "M6", "M8", "M10"];
const CODES: [&str; 5] = ["L-S", "L-IG-S", "D-DF", "C-L-FR", "B-W-L"];

/// Returns `parts` invented parts of `kind`.
pub fn catalogue(seed: u64, parts: usize, kind: &Kind) -> Vec<Specimen> {
    let mut dice = dice(seed);
    let mut specimens = Vec::with_capacity(parts);
    let mut family = 0;
    while specimens.len() < parts {
        family += 1;
        let base = first_of_family(&mut dice, kind);
        let numbered = dice.random_bool(0.5);
        for sibling in 0..dice.random_range(1..=6_usize).min(parts - specimens.len()) {
            let mut whole = base.clone();
            if sibling > 0 {
                vary(&mut dice, kind, &mut whole);
            }
            // Half of the families show in their numbers; the others are scattered.
            whole.house = if numbered {
                format!("{family:05}Q{}", char::from(b'A' + sibling as u8))
            } else {
                format!("X{:09}", dice.random_range(0..1_000_000_000))
            };
            let card = with_gaps(&mut dice, &whole);
            specimens.push(Specimen { card, whole, family });
        }
    }
    specimens
}

fn first_of_family(dice: &mut Dice, kind: &Kind) -> Part {
    let measures = kind.measures.iter().map(|m| (m.key.clone(), value(dice, m))).collect();
    let layout = kind.layout.as_ref().map(|_| layout(dice));
    Part { kind: kind.key.clone(), measures, layout, ..Part::default() }
}

fn value(dice: &mut Dice, measure: &Measure) -> Value {
    let [low, high] = measure.range.unwrap_or([0.0, 10.0]);
    let pick = |dice: &mut Dice, words: &[&str]| {
        Value::Word(words[dice.random_range(0..words.len())].to_owned())
    };
    match measure.domain {
        Domain::Length | Domain::Number | Domain::Angle => {
            let step = if high - low > 20.0 { 0.5 } else { (high - low) / 40.0 };
            Value::Number((dice.random_range(low..=high) / step).round() * step)
        }
        Domain::Count => Value::Number(dice.random_range(low..=high).round()),
        Domain::Choice => {
            let words: Vec<&str> = measure.choices.iter().map(String::as_str).collect();
            pick(dice, &words)
        }
        Domain::Thread => pick(dice, &THREADS),
        Domain::Code => pick(dice, &CODES),
    }
}

fn layout(dice: &mut Dice) -> Layout {
    let mut point = |role, designation: Option<&str>| Point {
        role,
        designation: designation.map(str::to_owned),
        x_mm: (dice.random_range(-45.0..45.0_f64) * 10.0).round() / 10.0,
        y_mm: (dice.random_range(-45.0..45.0_f64) * 10.0).round() / 10.0,
        size: None,
    };
    let mut points =
        vec![point(Role::Hole, None), point(Role::Hole, None), point(Role::Hole, None)];
    points.push(point(Role::Stud, Some("B+")));
    points.extend(["U", "V", "W"].map(|name| point(Role::Lead, Some(name))));
    Layout::new(points)
}

/// Makes a sibling of `part`.
fn vary(dice: &mut Dice, kind: &Kind, part: &mut Part) {
    let scales: Vec<&Measure> =
        kind.measures.iter().filter(|m| m.domain == Domain::Length).collect();
    for _ in 0..dice.random_range(1..=2) {
        let measure = scales[dice.random_range(0..scales.len())];
        if let Some(Value::Number(mm)) = part.measures.get_mut(&measure.key) {
            *mm += if dice.random_bool(0.5) { 1.5 } else { -1.5 };
        }
    }
    if dice.random_bool(0.4) {
        let others: Vec<&Measure> =
            kind.measures.iter().filter(|m| m.domain != Domain::Length).collect();
        if !others.is_empty() {
            let measure = others[dice.random_range(0..others.len())];
            part.measures.insert(measure.key.clone(), value(dice, measure));
        }
    }
    let Some(layout) = &part.layout else { return };
    let mut points = layout.points().to_vec();
    match dice.random_range(0..10) {
        0..4 => {}
        4..8 => {
            let at = dice.random_range(3..points.len());
            points[at].x_mm += if dice.random_bool(0.5) { 5.0 } else { -5.0 };
        }
        _ => points.iter_mut().for_each(|point| point.x_mm = -point.x_mm),
    }
    part.layout = Some(Layout::new(points));
}

fn with_gaps(dice: &mut Dice, whole: &Part) -> Part {
    let mut card = whole.clone();
    let share = dice.random_range(0.1..0.3);
    card.measures.retain(|_, _| !dice.random_bool(share));
    if dice.random_bool(0.25) {
        card.layout = None;
    }
    card
}

/// Returns the places of what a caliper and an eye take: lengths and counts.
pub fn by_caliper(kind: &Kind) -> Vec<usize> {
    let taken = |domain| matches!(domain, Domain::Length | Domain::Count);
    (0..kind.measures.len()).filter(|place| taken(kind.measures[*place].domain)).collect()
}

/// Returns the places of the eleven measures that the kind asks first, words and angles too.
pub fn asked_first(kind: &Kind) -> Vec<usize> {
    let mut places: Vec<usize> = (0..kind.measures.len()).collect();
    places.sort_by_key(|place| kind.measures[*place].rank);
    places.truncate(11);
    places
}

/// Returns what a person takes of `count` measures on the removed part `whole`, among the eleven
/// asked first, and its points in a frame of their own.
pub fn removed(dice: &mut Dice, kind: &Kind, whole: &Part, count: usize) -> Taken {
    removed_by(dice, kind, whole, asked_first(kind), count)
}

/// As [`removed`], the measures among those at `places`, any of them alike.
pub fn removed_by(
    dice: &mut Dice,
    kind: &Kind,
    whole: &Part,
    mut places: Vec<usize>,
    count: usize,
) -> Taken {
    let mut measured = Vec::with_capacity(count);
    while measured.len() < count && !places.is_empty() {
        let place = places.swap_remove(dice.random_range(0..places.len()));
        let measure = &kind.measures[place];
        if let Some(truth) = whole.measures.get(&measure.key) {
            measured.push((place, reading(dice, measure, truth)));
        }
    }
    let spread = kind.layout.as_ref().map_or(0.3, |taking| taking.spread_mm);
    let slip = kind.layout.as_ref().map_or(0.0, |taking| taking.slip);
    let layout = whole.layout.as_ref().map(|layout| turned(dice, layout, spread, slip));
    Taken { measured, layout }
}

fn reading(dice: &mut Dice, measure: &Measure, truth: &Value) -> Value {
    let slipped = dice.random_bool(measure.slip);
    match (measure.domain, truth) {
        (Domain::Count, Value::Number(count)) if slipped => {
            Value::Number((count + if dice.random_bool(0.5) { 1.0 } else { -1.0 }).max(0.0))
        }
        (Domain::Count, _) => truth.clone(),
        (_, Value::Number(truth)) => {
            if slipped {
                let [low, high] = measure.range.unwrap_or([0.0, 10.0]);
                return Value::Number(dice.random_range(low..=high));
            }
            let worn = dice.random_range(0.0..=measure.wear_allowance.max(f64::MIN_POSITIVE));
            let worn = match measure.wear {
                Wear::None => 0.0,
                Wear::Down => -worn,
                Wear::Up => worn,
            };
            let sd = measure.spread.hypot(measure.tolerance / 2.0);
            Value::Number(truth + worn + sd * normal(dice))
        }
        (_, Value::Word(_)) if slipped => value(dice, measure),
        (_, Value::Word(_)) => truth.clone(),
    }
}

/// The points of `layout` as taken: turned and shifted at random, each a little off, and every now
/// and then one anywhere on the part.
fn turned(dice: &mut Dice, layout: &Layout, spread_mm: f64, slip: f64) -> Layout {
    let (sin, cos) = dice.random_range(0.0..std::f64::consts::TAU).sin_cos();
    let shift = (dice.random_range(-50.0..50.0), dice.random_range(-50.0..50.0));
    let mut taken = |point: &Point| {
        let (x, y) = if dice.random_bool(slip) {
            (dice.random_range(-45.0..45.0), dice.random_range(-45.0..45.0))
        } else {
            (point.x_mm + spread_mm * normal(dice), point.y_mm + spread_mm * normal(dice))
        };
        let (x_mm, y_mm) = (cos * x - sin * y + shift.0, sin * x + cos * y + shift.1);
        Point { x_mm, y_mm, ..point.clone() }
    };
    Layout::new(layout.points().iter().map(&mut taken).collect())
}

/// A standard normal number, after Box and Muller (1958).
fn normal(dice: &mut Dice) -> f64 {
    let (u, v) = (1.0 - dice.random::<f64>(), dice.random::<f64>());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
