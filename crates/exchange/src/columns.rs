//! Which column of this file is which of ours?

use std::collections::HashMap;

use binwright_catalog::{DecimalMark, Domain, Kind, Kinds, LengthUnit, Measure, suggest::nearest};

use crate::cell::unguard;
use crate::error::ExchangeError;
use crate::map::{ColumnMap, OTHER_NUMBERS, Others};
use crate::rejects::is_ours;
use crate::rows::Cells;
use crate::table::month;
use crate::{Class, Table};

/// Where one of our columns is found in a row.
#[derive(Debug, Default)]
pub(crate) struct Slot {
    pub at: Option<usize>,
    /// Their header; ours when there is none.
    pub header: String,
    constant: String,
    words: HashMap<String, String>,
}

impl Slot {
    /// The cell without outer spaces and in our words; the constant when it is blank.
    pub fn word<'a>(&'a self, cells: Cells<'a>) -> &'a str {
        self.meant(self.at.map_or("", |at| unguard(cells.get(at).trim()).trim()))
    }

    /// The cell as it is; the constant when it is blank.
    pub fn text<'a>(&'a self, cells: Cells<'a>) -> &'a str {
        self.meant(self.at.map_or("", |at| unguard(cells.get(at))))
    }

    fn meant<'a>(&'a self, cell: &'a str) -> &'a str {
        if cell.is_empty() {
            return &self.constant;
        }
        if self.words.is_empty() {
            return cell;
        }
        self.words.get(&cell.trim().to_lowercase()).map_or(cell, String::as_str)
    }
}

/// A column of a measure.
#[derive(Debug)]
pub(crate) struct MeasureColumn {
    pub slot: Slot,
    /// Key or short word of the measure, resolved for each kind.
    pub to: String,
    pub unit: LengthUnit,
}

/// The measures that the columns of a file are for one kind.
#[derive(Debug)]
pub(crate) struct Plan<'k> {
    pub kind: &'k Kind,
    /// One for each measure column; `None` where the kind has no such measure.
    pub measures: Vec<Option<&'k Measure>>,
}

/// The columns of one file, resolved.
#[derive(Debug)]
pub(crate) struct Columns<'k> {
    pub table: Table,
    pub user: String,
    pub decimal: DecimalMark,
    /// Nobody said the decimal mark and nothing told it: `1.234` is a question.
    pub asking: bool,
    pub thousands: Option<char>,
    pub kinds: &'k Kinds,
    pub headers: Vec<String>,
    /// In the order of [`Table::fields`].
    pub slots: Vec<Slot>,
    /// Columns of other numbers and who uses them.
    pub numbers: Vec<(usize, String)>,
    pub measures: Vec<MeasureColumn>,
    /// Columns of months, in the wide form of demand.
    pub months: Vec<(Slot, String)>,
    pub ignored: Vec<String>,
    /// By the kind as it is written in the file.
    pub plans: HashMap<String, Plan<'k>>,
}

impl<'k> Columns<'k> {
    /// Finds the columns of `map` among `headers`.
    pub fn resolve(
        file: &str,
        map: &ColumnMap,
        headers: Vec<String>,
        kinds: &'k Kinds,
    ) -> Result<Self, ExchangeError> {
        let fields = map.table.fields();
        let slot = |name: &str| Slot {
            at: None,
            header: name.to_owned(),
            constant: map.constants.get(name).cloned().unwrap_or_default(),
            words: map.words.get(name).cloned().unwrap_or_default(),
        };
        let mut columns = Columns {
            table: map.table,
            user: map.user.clone(),
            decimal: map.decimal.unwrap_or_default(),
            asking: map.decimal.is_none(),
            thousands: map.thousands,
            kinds,
            slots: fields.iter().map(|field| slot(field.name)).collect(),
            numbers: Vec::new(),
            measures: Vec::new(),
            months: Vec::new(),
            ignored: Vec::new(),
            plans: HashMap::new(),
            headers,
        };
        let mut taken = vec![false; columns.headers.len()];
        for column in &map.columns {
            let Some(at) = columns.find(file, &column.theirs)? else {
                if column.optional {
                    continue;
                }
                return Err(columns.missing(file, &column.theirs));
            };
            taken[at] = true;
            let header = columns.headers[at].clone();
            if column.to == OTHER_NUMBERS {
                let user = column.user.as_ref().unwrap_or(&map.user).clone();
                columns.numbers.push((at, user));
            } else if let Some(field) = fields.iter().position(|field| field.name == column.to) {
                columns.slots[field] = Slot { at: Some(at), header, ..slot(&column.to) };
            } else {
                let slot = Slot { at: Some(at), header, ..slot(&column.to) };
                columns.measure(file, slot, &column.to, column.unit, map.unit)?;
            }
        }
        columns.numbers.sort_unstable_by_key(|(at, _)| *at);
        columns.others(file, map, &taken, slot)?;
        columns.refuse_two_forms(file)?;
        for name in map.constants.keys() {
            let known = fields.iter().any(|field| field.name == name)
                || columns.measures.iter().any(|measure| measure.to == *name);
            if !known {
                columns.measure(file, slot(name), name, None, map.unit)?;
            }
        }
        Ok(columns)
    }

    /// Demand comes long (a row a month) or wide (a column a month), never both or neither.
    fn refuse_two_forms(&self, file: &str) -> Result<(), ExchangeError> {
        let given = |at: usize| self.slots[at].at.is_some() || !self.slots[at].constant.is_empty();
        let long = self.table == Table::Demand && given(1) && given(2);
        let message = match (self.table == Table::Demand, long, self.months.is_empty()) {
            (true, false, true) => "it needs `month` and `quantity`, or a column for each month",
            (true, true, false) => "it has `month` and `quantity`, and a column for a month too",
            _ => return Ok(()),
        };
        Err(ExchangeError::Headers { file: file.to_owned(), message: message.to_owned() })
    }

    fn others(
        &mut self,
        file: &str,
        map: &ColumnMap,
        taken: &[bool],
        slot: impl Fn(&str) -> Slot,
    ) -> Result<(), ExchangeError> {
        for (at, taken) in taken.iter().enumerate() {
            let header = self.headers[at].trim().to_owned();
            if *taken || is_ours(&header) {
                continue;
            }
            if map.table == Table::Demand
                && let Some(month) = month(&header)
            {
                self.months.push((Slot { at: Some(at), header, ..Slot::default() }, month));
                continue;
            }
            match map.others {
                _ if header.is_empty() => self.ignored.push(format!("column {}", at + 1)),
                Others::Ignore => self.ignored.push(header),
                Others::Refuse => return Err(self.unknown(file, header)),
                Others::Measures => {
                    self.find(file, &header)?;
                    let slot = Slot { at: Some(at), header: header.clone(), ..slot(&header) };
                    self.measure(file, slot, &header, None, map.unit)?;
                }
            }
        }
        Ok(())
    }

    fn measure(
        &mut self,
        file: &str,
        slot: Slot,
        to: &str,
        unit: Option<LengthUnit>,
        default: LengthUnit,
    ) -> Result<(), ExchangeError> {
        let Some((_, measure)) = self.kinds.iter().find_map(|kind| kind.measure(to)) else {
            return Err(self.unknown(file, to.to_owned()));
        };
        if unit.is_some() && measure.domain != Domain::Length {
            let message =
                format!("`{}` is `{to}`, which is no length and takes no unit", slot.header);
            return Err(ExchangeError::Headers { file: file.to_owned(), message });
        }
        let to = to.to_owned();
        self.measures.push(MeasureColumn { slot, to, unit: unit.unwrap_or(default) });
        Ok(())
    }

    /// The column under `header`, whatever its case and spaces.
    fn find(&self, file: &str, header: &str) -> Result<Option<usize>, ExchangeError> {
        let wanted = folded(header);
        let mut found =
            self.headers.iter().enumerate().filter(|(_, known)| folded(known) == wanted);
        let first = found.next().map(|(at, _)| at);
        match (first, found.next()) {
            (Some(first), Some((second, _))) => Err(ExchangeError::DuplicateHeader {
                file: file.to_owned(),
                header: header.to_owned(),
                first: first + 1,
                second: second + 1,
            }),
            _ => Ok(first),
        }
    }

    fn missing(&self, file: &str, header: &str) -> ExchangeError {
        let nearest = nearest(header, self.headers.iter().map(String::as_str));
        let (file, header) = (file.to_owned(), header.to_owned());
        ExchangeError::MissingColumn { file, header, nearest: nearest.map(str::to_owned) }
    }

    fn unknown(&self, file: &str, header: String) -> ExchangeError {
        let ours = self.table.fields().iter().map(|field| field.name);
        let measures = self.kinds.iter().flat_map(|kind| &kind.measures).map(|m| m.key.as_str());
        let known = ours.chain(measures.filter(|_| self.table == Table::Parts));
        let nearest = nearest(&header, known).map(str::to_owned);
        let (file, table) = (file.to_owned(), self.table.word());
        ExchangeError::UnknownColumn { file, header, table, nearest }
    }

    /// Columns that hold numbers with decimals.
    pub fn decimals(&self) -> impl Iterator<Item = usize> {
        let number = |to: &str| {
            let measure = self.kinds.iter().find_map(|kind| kind.measure(to));
            measure.is_some_and(|(_, measure)| measure.domain.is_number())
        };
        let measures = self.measures.iter().filter(move |column| number(&column.to));
        let fields = self.table.fields().iter().zip(&self.slots);
        fields
            .filter(|(field, _)| field.class == Class::Amount)
            .filter_map(|(_, slot)| slot.at)
            .chain(measures.filter_map(|column| column.slot.at))
            .chain(self.months.iter().filter_map(|(slot, _)| slot.at))
    }
}

fn folded(header: &str) -> String {
    header.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
