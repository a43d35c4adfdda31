//! Which points must the removed part sit on? Layouts at true scale, laid on one another.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use binwright_catalog::{Layout, Point, Value};
use binwright_fit::registration::{Motion, register};
use binwright_print::{self as print, Contour, Pages, Paper, Piece, Setting};

use crate::sheet::sites;
use crate::{Asked, Shop, ShopError};

/// How close the points of a mirror image must lie to be called one, in mm.
const TWIN_MM: f64 = 0.5;
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
        let mirror_twin = self.mirror_twin(&part.kind, &layout)?;
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

    /// The part whose points are the mirror image of these, when the shop has one.
    fn mirror_twin(&mut self, kind: &str, layout: &Layout) -> Result<Option<String>, ShopError> {
        let mirrored =
            layout.points().iter().map(|point| Point { x_mm: -point.x_mm, ..point.clone() });
        let asked = Asked {
            kind: Some(kind.to_owned()),
            layout: Some(Layout::new(mirrored.collect()).to_string()),
            ..Asked::default()
        };
        let answer = self.fit(&asked, 5)?;
        let twin = answer.candidates.into_iter().find(|candidate| {
            !candidate.wrong_hand && candidate.layout_rms_mm.is_some_and(|rms| rms <= TWIN_MM)
        });
        let own = twin.as_ref().is_some_and(|twin| {
            // A part that is its own mirror image has no twin.
            let number = [&twin.number].into_iter().chain(&twin.also);
            number.into_iter().any(|number| {
                let part = self.part_numbered(number).and_then(|id| self.part(id));
                part.is_ok_and(|part| part.layout.as_ref() == Some(layout))
            })
        });
        Ok(twin.filter(|_| !own).map(|twin| twin.number))
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
    if let Some(diameter_mm) = ["outline_od", "body_dia", "od"].into_iter().find_map(&measure) {
        return Some(Contour::Circle { diameter_mm, centre_mm: None });
    }
    let (width_mm, height_mm) = (measure("size_l")?, measure("size_w")?);
    Some(Contour::Box { width_mm, height_mm, centre_mm: None })
}
