//! Which points must the removed part sit on? Layouts at true scale, laid on one another.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use binwright_catalog::{Domain, Layout, Part, Point, Value};
use binwright_fit::registration::{Motion, register};
use binwright_print::{self as print, Contour, Pages, Paper, Piece, Setting};

use crate::sheet::sites;
use crate::{Asked, Shop, ShopError};

/// How close the points of a mirror image must lie to be called one, in mm.
const TWIN_MM: f64 = 0.5;
/// The measures that name an outer edge: diameters, then a length and a width.
const EDGES: [&str; 5] = ["outline_od", "body_dia", "od", "size_l", "size_w"];
/// How close points of two candidates must come to be laid on one another, in mm: what is further apart
/// is what tells them apart.
const SAME_MM: f64 = 1.0;
/// A turn below this is none, in degrees: a tenth of a millimetre on a plate's edge.
const TURN_LEAST_DEG: f64 = 0.1;

impl Shop {
    /// The layouts of the parts with these numbers at true scale, each turned and shifted (never
    /// mirrored) to lie on the first.
    ///
    /// # Errors
    ///
    /// When a number is not known, a part has no layout, or it cannot be drawn.
    pub fn outline(&mut self, numbers: &[String], setting: &Setting) -> Result<Pages, ShopError> {
        let mut pieces = Vec::with_capacity(numbers.len());
        for number in numbers {
            pieces.push(self.piece(self.part_numbered(number)?)?);
        }
        lay_on_first(&mut pieces);
        Ok(print::outline(&pieces, setting)?)
    }

    /// Writes the outline of these parts on A4 into the shop's own `paper` folder and returns where.
    /// A file that is there already is never written over: the same pages stay, others get a new
    /// name.
    ///
    /// # Errors
    ///
    /// As [`Shop::outline`], or when the folder cannot be written.
    pub fn outline_file(&mut self, numbers: &[String]) -> Result<PathBuf, ShopError> {
        let setting = self.paper(Paper::A4, None, self.today)?;
        let pdf = self.outline(numbers, &setting)?.pdf()?;
        let folder = self.store.dir().join("paper");
        let unwritable = |path: &Path| {
            let path = path.to_owned();
            move |source| ShopError::Unwritable { path, source }
        };
        fs::create_dir_all(&folder).map_err(unwritable(&folder))?;
        // Numbers come from outside: of them only letters and digits make a name.
        let plain = |number: &String| -> String {
            let plain = |letter: char| if letter.is_ascii_alphanumeric() { letter } else { '-' };
            number.chars().take(24).map(plain).collect()
        };
        let name: Vec<String> = numbers.iter().take(4).map(plain).collect();
        let name = format!("outline-{}", name.join("-"));
        for at in 1.. {
            let again = if at == 1 { String::new() } else { format!("-{at}") };
            let path = folder.join(format!("{name}{again}.pdf"));
            match File::create_new(&path) {
                Ok(mut file) => {
                    let written = file.write_all(&pdf).and_then(|()| file.sync_all());
                    return written.map(|()| path.clone()).map_err(unwritable(&path));
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                    if fs::read(&path).is_ok_and(|there| there == pdf) {
                        return Ok(path);
                    }
                }
                Err(source) => return Err(ShopError::Unwritable { path, source }),
            }
        }
        Ok(folder)
    }

    fn piece(&mut self, id: u64) -> Result<Piece, ShopError> {
        let part = self.part(id)?;
        let layout = part
            .layout
            .clone()
            .ok_or_else(|| ShopError::NoLayout { number: part.house.clone() })?;
        let mirror_twin = self.mirror_twin(&part, &layout)?;
        let kind = self
            .kinds
            .get(&part.kind)
            .ok_or_else(|| ShopError::unknown_kind(&part.kind, &self.kinds))?;
        Ok(Piece {
            kind: kind.label.clone(),
            contour: contour(|key| part.measures.get(key).and_then(Value::number)),
            face: None,
            measures: self.part_card(id)?.measures,
            mirror_twin,
            laid: None,
            layout,
            number: part.house,
            description: part.description,
        })
    }

    /// The part that is the mirror image of this one, point by point and in size and counts, when the
    /// shop has one. A part that is its own mirror image has no twin.
    fn mirror_twin(&mut self, own: &Part, layout: &Layout) -> Result<Option<String>, ShopError> {
        let mirrored =
            layout.points().iter().map(|point| Point { x_mm: -point.x_mm, ..point.clone() });
        let asked = Asked {
            kind: Some(own.kind.clone()),
            layout: Some(Layout::new(mirrored.collect()).to_string()),
            ..Asked::default()
        };
        let mut twin = None;
        for candidate in self.fit(&asked, 5)?.candidates {
            let lies_on =
                candidate.layout_points.as_ref().is_some_and(|on| on.unmatched.is_empty())
                    && candidate.layout_rms_mm.is_some_and(|rms| rms <= TWIN_MM);
            if candidate.wrong_hand || !lies_on {
                continue;
            }
            for number in [&candidate.number].into_iter().chain(&candidate.also) {
                let other = self.part(self.part_numbered(number)?)?;
                let Some(points) = &other.layout else { continue };
                if points == layout {
                    return Ok(None);
                }
                if points.points().len() == layout.points().len() && self.same_size(own, &other) {
                    twin.get_or_insert(other.house);
                }
            }
        }
        Ok(twin)
    }

    /// Whether the two have the same outer edge and the same counts, as far as both are known.
    fn same_size(&self, one: &Part, other: &Part) -> bool {
        let Some(kind) = self.kinds.get(&one.kind) else { return false };
        kind.measures.iter().all(|measure| {
            let value = |part: &Part| part.measures.get(&measure.key).and_then(Value::number);
            let (Some(a), Some(b)) = (value(one), value(other)) else { return true };
            let edge = EDGES.contains(&measure.key.as_str());
            (a - b).abs() <= TWIN_MM || !(edge || measure.domain == Domain::Count)
        })
    }
}

/// Lays every later piece on the first as their points agree; where no two do, it stays as recorded.
fn lay_on_first(pieces: &mut [Piece]) {
    let Some((first, others)) = pieces.split_first_mut() else { return };
    let on = sites(&first.layout);
    for piece in others {
        let Some(motion) = register(&sites(&piece.layout), &on, SAME_MM) else {
            piece.laid = Some("No two points agree with the first: drawn as recorded.".to_owned());
            continue;
        };
        piece.layout = moved(&piece.layout, &motion);
        let turned = motion.angle_deg.abs() >= TURN_LEAST_DEG;
        if turned && matches!(piece.contour, Some(Contour::Box { .. })) {
            // A box lies along the axes; its sides stand among the measures.
            piece.contour = None;
        }
        let (x, y) = motion.shift_mm;
        if turned || x.hypot(y) >= SAME_MM / 10.0 {
            piece.laid = Some(format!(
                "Turned by {:.1}° and shifted by {x:.1}, {y:.1} mm to lie on the first: {} points \
                 agree.",
                motion.angle_deg,
                motion.pairs.len()
            ));
        }
    }
}

fn moved(layout: &Layout, motion: &Motion) -> Layout {
    let (sin, cos) = motion.angle_deg.to_radians().sin_cos();
    let point = |point: &Point| Point {
        x_mm: cos * point.x_mm - sin * point.y_mm + motion.shift_mm.0,
        y_mm: sin * point.x_mm + cos * point.y_mm + motion.shift_mm.1,
        ..point.clone()
    };
    Layout::new(layout.points().iter().map(point).collect())
}

/// The outer edge by the measures that name it: a diameter, or a length and a width.
fn contour(measure: impl Fn(&str) -> Option<f64>) -> Option<Contour> {
    if let Some(diameter_mm) = EDGES[..3].iter().copied().find_map(&measure) {
        return Some(Contour::Circle { diameter_mm, centre_mm: None });
    }
    let (width_mm, height_mm) = (measure(EDGES[3])?, measure(EDGES[4])?);
    Some(Contour::Box { width_mm, height_mm, centre_mm: None })
}
