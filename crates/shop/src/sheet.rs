//! What does the counter see of a candidate beside its rank? Every measure, the layout drawn with
//! the measured points laid over, and what tells it from the first.

use binwright_catalog::{Kind, Layout, Part, Role, Size, Value};
use binwright_fit::registration::{Motion, Site, register, register_mirrored};

use crate::{Asked, Shop, ShopError};

/// How far a measured point may lie from the part's and still be taken for it, in spreads.
const REACH_SPREADS: f64 = 8.0;

/// One candidate, laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// House number.
    pub number: String,
    /// What a person calls its kind.
    pub kind: String,
    /// Every measure of the kind, in counter rank.
    pub measures: Vec<OnCard>,
    /// Its layout, when known.
    pub drawing: Option<Drawing>,
    /// The measures that tell it from the first candidate, the plainest first; empty for the first.
    pub apart: Vec<Apart>,
}

/// One measure as the card has it.
#[derive(Debug, Clone, PartialEq)]
pub struct OnCard {
    /// Key of the measure.
    pub measure: String,
    /// What a person reads.
    pub label: String,
    /// Unit; empty for counts and words.
    pub unit: String,
    /// As known; `None` is a gap.
    pub nominal: Option<String>,
}

/// A measure in which two parts differ.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// What a person reads.
    pub label: String,
    /// The short word, as it is typed.
    pub word: String,
    /// Unit; empty for counts and words.
    pub unit: String,
    /// The first candidate's value.
    pub first: String,
    /// This one's.
    pub this: String,
}

impl Apart {
    /// `mounting hole pitch 93.5 mm, not 92 mm`
    pub fn in_full(&self) -> String {
        let Self { label, unit, first, this, .. } = self;
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        format!("{label} {this}{unit}, not {first}{unit}")
    }

    /// `pitch 93.5, not 92`
    pub fn in_short(&self) -> String {
        let Self { word, first, this, .. } = self;
        format!("{word} {this}, not {first}")
    }
}

/// A layout in its own frame with the measured points laid over it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// The part's points.
    pub points: Vec<Drawn>,
    /// The measured points, turned and shifted onto the part's.
    pub laid: Vec<Laid>,
    /// The measured points had to be mirrored: the part is the wrong hand.
    pub mirrored: bool,
}

/// One point of the part.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// What it is for.
    pub role: Role,
    /// Terminal designation, when it has one.
    pub designation: Option<String>,
    /// To the right, in mm.
    pub x_mm: f64,
    /// Up, in mm.
    pub y_mm: f64,
    /// Diameter of a hole, when known.
    pub diameter_mm: Option<f64>,
}

/// One measured point in the part's frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// To the right, in mm.
    pub x_mm: f64,
    /// Up, in mm.
    pub y_mm: f64,
    /// Place of the part's point it lies on, and the distance left in mm; `None` lies on none.
    pub on: Option<(usize, f64)>,
}

impl Drawing {
    /// A layout drawn as it is.
    pub fn of(layout: &Layout) -> Self {
        let point = |point: &binwright_catalog::Point| Drawn {
            role: point.role,
            designation: point.designation.clone(),
            x_mm: point.x_mm,
            y_mm: point.y_mm,
            diameter_mm: match point.size {
                Some(Size::Diameter(mm)) => Some(mm),
                _ => None,
            },
        };
        Self { points: layout.points().iter().map(point).collect(), ..Self::default() }
    }

    /// The layout `part` with `measured` laid over it; pairs lie within `reach_mm`. Nothing is
    /// laid over when fewer than two points agree either way round.
    pub fn laid_over(part: &Layout, measured: &Layout, reach_mm: f64) -> Self {
        let mut drawing = Self::of(part);
        let (model, taken) = (sites(part), sites(measured));
        let plain = register(&model, &taken, reach_mm);
        let mirror = register_mirrored(&model, &taken, reach_mm);
        let agree = |motion: &Option<Motion>| motion.as_ref().map_or(0, |m| m.pairs.len());
        let motion = if agree(&mirror) > agree(&plain) { mirror } else { plain };
        let Some(motion) = motion else { return drawing };
        drawing.mirrored = motion.mirrored;
        let (sin, cos) = motion.angle_deg.to_radians().sin_cos();
        drawing.laid = taken
            .iter()
            .enumerate()
            .map(|(at, site)| {
                let (x, y) = (site.x_mm - motion.shift_mm.0, site.y_mm - motion.shift_mm.1);
                let (x, y) = (cos * x + sin * y, cos * y - sin * x);
                let pair = motion.pairs.iter().find(|pair| pair.measured == at);
                Laid {
                    x_mm: if motion.mirrored { -x } else { x },
                    y_mm: y,
                    on: pair.map(|pair| (pair.model, pair.deviation_mm)),
                }
            })
            .collect();
        drawing
    }
}

/// The points of `layout` as registration takes them, mates or not.
pub(crate) fn sites(layout: &Layout) -> Vec<Site> {
    // Designations are not asked: a swapped lead is shown where it lies.
    let site = |point: &binwright_catalog::Point| Site {
        role: point.role as usize,
        designation: 0,
        x_mm: point.x_mm,
        y_mm: point.y_mm,
    };
    layout.points().iter().map(site).collect()
}

impl Shop {
    /// Lays out the parts with these house numbers, the likeliest first, against what was asked.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the layout cannot be read or the store fails.
    pub fn sheets(&self, asked: &Asked, numbers: &[&str]) -> Result<Vec<Sheet>, ShopError> {
        let measured = asked.layout()?;
        let mut parts: Vec<Part> = Vec::with_capacity(numbers.len());
        for number in numbers {
            for id in self.store.parts_by_number(number)? {
                parts.extend(
                    self.store
                        .part(id)?
                        .map(|stored| stored.part)
                        .filter(|part| part.house == *number),
                );
            }
        }
        let Some(first) = parts.first() else { return Ok(Vec::new()) };
        let sheet = |part: &Part| {
            let kind = self.kinds.get(&part.kind);
            Sheet {
                number: part.house.clone(),
                kind: kind.map_or(&part.kind, |kind| &kind.label).clone(),
                measures: kind.map_or_else(Vec::new, |kind| on_card(kind, part)),
                drawing: part.layout.as_ref().map(|layout| {
                    let spread_mm = kind.and_then(|k| k.layout.as_ref()).map(|l| l.spread_mm);
                    match (&measured, spread_mm) {
                        (Some(measured), Some(spread_mm)) => {
                            Drawing::laid_over(layout, measured, REACH_SPREADS * spread_mm)
                        }
                        _ => Drawing::of(layout),
                    }
                }),
                apart: match kind {
                    Some(kind) if part.kind == first.kind => apart(kind, first, part),
                    _ => Vec::new(),
                },
            }
        };
        Ok(parts.iter().map(sheet).collect())
    }

    /// Loads what weighing parts of the kind needs, ahead of the first question.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the kind is not known or the index fails.
    pub fn warm(&mut self, kind: &str) -> Result<(), ShopError> {
        self.model(kind).map(|_| ())
    }
}

fn unit_of(measure: &binwright_catalog::Measure) -> String {
    if measure.unit == "1" { String::new() } else { measure.unit.clone() }
}

fn on_card(kind: &Kind, part: &Part) -> Vec<OnCard> {
    kind.measures
        .iter()
        .map(|measure| OnCard {
            measure: measure.key.clone(),
            label: measure.label.clone(),
            unit: unit_of(measure),
            nominal: part.measures.get(&measure.key).map(ToString::to_string),
        })
        .collect()
}

/// What tells `this` from `first`: words that differ, then numbers by how many times what reading
/// and making may differ they lie apart. What no instrument tells apart is left out.
fn apart(kind: &Kind, first: &Part, this: &Part) -> Vec<Apart> {
    let mut found: Vec<(f64, Apart)> = Vec::new();
    for measure in &kind.measures {
        let values = (first.measures.get(&measure.key), this.measures.get(&measure.key));
        let (Some(a), Some(b)) = values else { continue };
        let times = match (a, b) {
            (Value::Number(a), Value::Number(b)) => {
                (a - b).abs()
                    / measure
                        .spread
                        .hypot(measure.tolerance)
                        .max(0.5 * f64::from(u8::from(measure.unit == "1")))
            }
            (a, b) if a == b => 0.0,
            _ => f64::INFINITY,
        };
        if times > 1.0 {
            let unit = unit_of(measure);
            let apart = Apart {
                label: measure.label.clone(),
                word: measure.words.first().unwrap_or(&measure.key).clone(),
                unit: unit.clone(),
                first: a.to_string(),
                this: b.to_string(),
            };
            found.push((times, apart));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, apart)| apart).collect()
}
