//! How likely are the readings on a part of a family that is not in the catalogue?

use binwright_catalog::{Domain, Kind};

use crate::{
    column::Column,
    model::Weighed,
    multiply::{Codes, WorthOf, multiply},
    weigh::Room,
};

/// A part of a family we do not have differs from those we have by about this much, in mm
/// (found by trial on invented catalogues).
const MOVED_MM: f64 = 4.0;
/// The same of measures that are not lengths, as a share of their span.
const MOVED_SHARE: f64 = 0.05;
/// As many rows stand for all. With twice as many, parts we have are told from others better by at most
/// 0.003 of the area under the curve (the accuracy test, 10 k and 100 k parts).
const ROWS: usize = 128;
/// Values closer than this share of how far a part is moved are taken for one.
const CLOSE: f64 = 0.25;

/// Rows from all over the table, which stand for all.
#[derive(Debug)]
pub(crate) struct Sample {
    rows: usize,
    columns: Vec<Sampled>,
}

/// A column of the sample.
#[derive(Debug)]
struct Sampled {
    stand_ins: StandIns,
    /// One per row: the place of the stand-in of its value; the number of these for a gap.
    codes: Codes,
}

/// The values that stand for those near them, ascending.
#[derive(Debug)]
enum StandIns {
    /// Values, and how far a part is moved.
    Values(Vec<f64>, f64),
    /// Of counts and words, which are not moved, the codes in the column.
    Codes(Vec<u32>),
}

impl Sample {
    pub fn new(kind: &Kind, rows: usize, columns: &[Column], spans: &[f64]) -> Self {
        let rows: Vec<usize> = (0..rows).step_by(rows.div_ceil(ROWS).max(1)).collect();
        let measures = kind.measures.iter().zip(columns).zip(spans);
        let columns = measures.map(|((measure, column), span)| {
            let moved = match measure.domain {
                Domain::Length => MOVED_MM,
                _ => MOVED_SHARE * span,
            };
            Sampled::new(column, measure.domain.is_continuous().then_some(moved), &rows)
        });
        Self { rows: rows.len(), columns: columns.collect() }
    }

    /// The mean over the catalogue, every part moved a good way, of how much better it explains the
    /// readings than the kind's spread does.
    pub fn mean(&self, weighed: &[Weighed<'_>], room: &mut Room) -> f64 {
        room.stand_ins.clear();
        let mut ends = vec![0];
        for weighed in weighed {
            self.columns[weighed.column].stand_ins.weigh(weighed, room);
            ends.push(room.stand_ins.len());
        }
        let mut columns: Vec<WorthOf<'_, 1>> = weighed
            .iter()
            .zip(ends.windows(2))
            .map(|(weighed, ends)| {
                (&self.columns[weighed.column].codes, &room.stand_ins[ends[0]..ends[1]])
            })
            .collect();
        let sum = multiply(self.rows, &mut columns, 0.0, |sum, [product]| sum + product);
        sum / self.rows.max(1) as f64
    }
}

impl Sampled {
    fn new(column: &Column, moved: Option<f64>, rows: &[usize]) -> Self {
        let codes: Vec<usize> = rows.iter().map(|row| column.code(*row)).collect();
        let mut met: Vec<usize> =
            codes.iter().copied().filter(|c| *c < column.values.len()).collect();
        met.sort_unstable();
        met.dedup();
        let value = |code: &usize| column.values[*code];
        let close = moved.map_or(0.0, |moved| CLOSE * moved);
        let groups: Vec<&[usize]> = group(&met, |first, code| value(code) - value(first) <= close);
        let place = |code: usize| groups.partition_point(|group| group[group.len() - 1] < code);
        let places = codes.iter().map(|code| place(*code) as u32).collect();
        let middle =
            |group: &&[usize]| f64::midpoint(value(&group[0]), value(&group[group.len() - 1]));
        let stand_ins = match moved {
            Some(moved) => StandIns::Values(groups.iter().map(middle).collect(), moved),
            None => StandIns::Codes(groups.iter().map(|group| group[0] as u32).collect()),
        };
        Self { stand_ins, codes: Codes::new(places, groups.len() + 1) }
    }
}

/// Cuts `codes` into groups, each as long as `joins` takes its first and a later one together.
fn group(codes: &[usize], joins: impl Fn(&usize, &usize) -> bool) -> Vec<&[usize]> {
    let mut groups = Vec::new();
    let mut left = codes;
    while let Some(first) = left.first() {
        let (group, rest) = left.split_at(left.partition_point(|code| joins(first, code)));
        groups.push(group);
        left = rest;
    }
    groups
}

impl StandIns {
    /// Appends to the room's, for each and last for a gap, how much better it explains the reading
    /// than the kind's spread does.
    fn weigh(&self, weighed: &Weighed<'_>, room: &mut Room) {
        let Weighed { reading, weights, .. } = weighed;
        let Room { exact, worth, stand_ins, .. } = room;
        match self {
            Self::Values(values, moved) => {
                reading.at_floor(values.len(), exact);
                reading.curve(*moved).add_rises(values, 1.0, exact);
                let per_background = (1.0 / weights.background) as f32;
                stand_ins.extend(exact.iter().map(|density| [density * per_background]));
            }
            Self::Codes(codes) => {
                let worth = &worth[weights.worth.clone()];
                stand_ins.extend(codes.iter().map(|code| [worth[*code as usize][0]]));
            }
        }
        stand_ins.push([1.0]);
    }
}

#[cfg(test)]
mod tests {
    use binwright_catalog::Value;

    use super::*;
    use crate::{Query, kin::Lending, table::Table};

    /// A length, a number, a count and a word, each with gaps: against every row moved by itself.
    #[test]
    fn the_mean_is_that_of_every_row_moved() {
        let measure = |key: &str, sort: &str, more: &str| {
            format!(
                "[[measure]]\nkey = \"{key}\"\nlabel = \"{key}\"\ntype = \"{sort}\"\n{more}\n\
                 instrument = \"eye\"\nhow = \"look\"\nslip = 0.05\nminutes = 1\nrank = 1\n"
            )
        };
        let text = [
            "key = \"plate\"\nlabel = \"plate\"\n".to_owned(),
            measure("od", "length", "unit = \"mm\"\nspread = 0.1\ntolerance = 0.3"),
            measure("amps", "number", "unit = \"A\"\nspread = 2.0\ntolerance = 4.0"),
            measure("lugs", "count", "unit = \"1\""),
            measure("hand", "choice", "unit = \"1\"\nchoices = [\"left\", \"right\"]"),
        ];
        let kind: Kind = toml::from_str(&text.concat()).unwrap();
        let hand =
            |word: &str| crate::table::encode(&kind.measures[3], &Value::Word(word.to_owned()));
        let mut table = Table::new(&kind);
        for row in 0..1_000_u32 {
            let gap = |every, value| if row % every == 1 { f64::NAN } else { value };
            let values = [
                gap(5, 80.0 + f64::from(row * 7 % 400) / 10.0),
                gap(7, 50.0 + f64::from(row * 3 % 90)),
                gap(11, f64::from(3 + row % 4)),
                gap(4, hand(["left", "right"][row as usize % 2])),
            ];
            table.push(u64::from(row), u64::from(row), 0, &values, &[]);
        }
        let model = crate::Model::new(kind.clone(), table, Lending::default());
        let measured = vec![
            (0, Value::Number(101.3)),
            (1, Value::Number(71.0)),
            (2, Value::Number(5.0)),
            (3, Value::Word("right".to_owned())),
        ];
        let (query, mut room) = (Query { measured, ..Query::default() }, Room::of(4));
        let weighed = model.weighed(&query, &mut room).unwrap();
        let every = |row: usize| -> f64 {
            let each = weighed.iter().map(|weighed| {
                let at = weighed.column;
                let value = model.table().columns[at][row];
                let moved = [MOVED_MM, MOVED_SHARE * model.spans[at], 0.0, 0.0][at];
                let density = weighed.reading.density(value, moved);
                if value.is_nan() { 1.0 } else { density / weighed.weights.background }
            });
            each.product()
        };
        let slow = (0..1_000).step_by(1_000_usize.div_ceil(ROWS)).map(every).sum::<f64>()
            / 1_000_usize.div_ceil(1_000_usize.div_ceil(ROWS)) as f64;
        let quick = model.sample.mean(&weighed, &mut room);
        assert!((quick / slow - 1.0).abs() < 0.02, "{quick} {slow}");
    }
}
