//! What is known of the parts of one kind, column by column?

use binwright_catalog::{Kind, Layout, Measure, Size, Value, number};

/// The rows of one kind as columns: what the index keeps and the scan reads.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// The store's id of each row's part.
    pub parts: Vec<u64>,
    /// Rows with the same group are interchangeable (`same` crosses); a part alone has its own id.
    pub groups: Vec<u64>,
    /// Hash of the number's stem; 0 when the number has none.
    pub stems: Vec<u64>,
    /// One column per measure of the kind, [`UNKNOWN`] where a part has a gap.
    pub columns: Vec<Vec<f64>>,
    /// Where each row's points start in [`Self::points`]; one more entry than rows.
    pub point_starts: Vec<u32>,
    /// The points of all rows, one after the other.
    pub points: Vec<PackedPoint>,
}

/// A gap in a column. Not a number, so that no comparison with it holds.
pub const UNKNOWN: f64 = f64::NAN;

impl Table {
    /// Returns an empty table for the measures of `kind`.
    pub fn new(kind: &Kind) -> Self {
        Self {
            columns: vec![Vec::new(); kind.measures.len()],
            point_starts: vec![0],
            ..Self::default()
        }
    }

    /// Adds a part: `values` holds one encoded value per measure of the kind ([`encode`]).
    pub fn push(
        &mut self,
        part: u64,
        group: u64,
        stem: u64,
        values: &[f64],
        points: &[PackedPoint],
    ) {
        self.parts.push(part);
        self.groups.push(group);
        self.stems.push(stem);
        for (column, value) in self.columns.iter_mut().zip(values) {
            column.push(*value);
        }
        self.points.extend_from_slice(points);
        self.point_starts.push(self.points.len() as u32);
    }

    /// The number of rows.
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The points of `row`; empty when its layout is not known.
    pub fn points_of(&self, row: usize) -> &[PackedPoint] {
        &self.points[self.point_starts[row] as usize..self.point_starts[row + 1] as usize]
    }
}

/// Returns the number a column keeps for `value`: a number as it is, a word by a hash of its
/// folded form that an `f64` holds exactly. Equal words are equal numbers, and that is all that is
/// asked of words. [`UNKNOWN`] when the value is of the wrong sort for `measure`.
pub fn encode(measure: &Measure, value: &Value) -> f64 {
    match (measure.domain.is_number(), value) {
        (true, Value::Number(number)) => *number,
        (false, Value::Word(word)) => (hash(&number::fold(word)) >> 12) as f64,
        _ => UNKNOWN,
    }
}

/// Returns the hash of the stem that the house number `house` shares with its family; 0 for none.
pub fn stem_hash(house: &str) -> u64 {
    let folded = number::fold(house);
    match number::stem(&folded) {
        "" => 0,
        stem => hash(stem) | 1,
    }
}

/// 64-bit FNV-1a: stable for ever, since the index keeps what it gives.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// One planar point in eight bytes: role 3 bits, designation 9, size 12, x and y 20 each.
/// Places and sizes are kept to 0.01 mm, far below what a caliper tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PackedPoint(pub u64);

impl PackedPoint {
    const STEP_MM: f64 = 0.01;

    /// Packs all points of `layout`. The whole reach of a layout fits; a size of 40.95 mm or more
    /// counts as 40.95.
    pub fn pack(layout: &Layout) -> Vec<Self> {
        layout
            .points()
            .iter()
            .map(|point| {
                let step = |mm: f64| ((mm / Self::STEP_MM).round() as i64 + (1 << 19)) as u64;
                let size = match &point.size {
                    Some(Size::Diameter(mm)) => (mm / Self::STEP_MM).round().clamp(1.0, 4095.0),
                    Some(Size::Thread(thread)) => 1.0 + (hash(thread) % 4095) as f64,
                    None => 0.0,
                } as u64;
                let designation = point
                    .designation
                    .as_ref()
                    .map_or(0, |word| 1 + hash(&word.to_ascii_uppercase()) % 511);
                Self(
                    (point.role as u64) << 61
                        | designation << 52
                        | size << 40
                        | step(point.x_mm) << 20
                        | step(point.y_mm),
                )
            })
            .collect()
    }

    /// The role, by its place in [`binwright_catalog::Role::ALL`].
    pub fn role(self) -> usize {
        (self.0 >> 61) as usize
    }

    /// A code that is equal for equal designations; 0 when there is none.
    pub fn designation(self) -> u64 {
        self.0 >> 52 & 0x1ff
    }

    /// A code that is equal for equal sizes; 0 when there is none.
    pub fn size(self) -> u64 {
        self.0 >> 40 & 0xfff
    }

    /// To the right, in mm.
    pub fn x_mm(self) -> f64 {
        ((self.0 >> 20 & 0xf_ffff) as f64 - f64::from(1 << 19)) * Self::STEP_MM
    }

    /// Up, in mm.
    pub fn y_mm(self) -> f64 {
        ((self.0 & 0xf_ffff) as f64 - f64::from(1 << 19)) * Self::STEP_MM
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_comes_out_of_the_pack_as_it_went_in() {
        let layout: Layout = "hole@-1999.99,2000/6.2; stud:B+@46.04,-31.5/M8".parse().unwrap();
        let packed = PackedPoint::pack(&layout);
        for (point, packed) in layout.points().iter().zip(&packed) {
            assert_eq!(packed.role(), point.role as usize);
            assert!((packed.x_mm() - point.x_mm).abs() < 0.006);
            assert!((packed.y_mm() - point.y_mm).abs() < 0.006);
        }
        assert_eq!((packed[0].designation(), packed[0].size()), (0, 620));
        assert!(packed[1].designation() > 0 && packed[1].size() > 0);
    }
}
