//! How does a Table Schema describe a table? One lies beside each export; of a file that comes in it
//! serves as the column map.
//!
//! Read are `fields` with `name`, `unit` (UCUM), `decimalChar`, `groupChar` and
//! `constraints.required`, and `missingValues`; what else a schema may say is left, as its standard
//! (Frictionless Table Schema) allows. The names must be our own headers: a stranger's take a map.

use std::collections::{BTreeMap, HashMap};

use binwright_catalog::{DecimalMark, Domain, Kinds, LengthUnit};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::error::ExchangeError;
use crate::map::{Column, ColumnMap, Others};
use crate::table::BRANCH;
use crate::{Class, Table};

/// Returns the Frictionless Table Schema of an export of `table`, to lie beside it as JSON. What
/// stands behind our own columns is `more`, as in [`Export::csv`](crate::Export::csv); units are
/// UCUM codes.
pub fn table_schema(table: Table, more: &[String], kinds: &Kinds) -> Value {
    let branch = more.iter().any(|key| key == BRANCH);
    let ours = table.fields().iter().filter(|field| field.name != BRANCH || branch);
    let ours = ours.map(|field| {
        let kind = match field.class {
            Class::Key | Class::Text | Class::Word => "string",
            Class::Amount => "number",
            Class::Whole => "integer",
        };
        json!({
            "name": field.name,
            "type": kind,
            "description": field.about,
            "constraints": { "required": field.needed },
        })
    });
    let theirs = more.iter().filter(|key| *key != BRANCH).map(|key| {
        // Kinds may share a key; what it is called and counted in they share then too.
        let measure = kinds.iter().find_map(|kind| kind.measures.iter().find(|m| m.key == *key));
        let Some(measure) = measure else { return json!({ "name": key, "type": "any" }) };
        let kind = match measure.domain {
            Domain::Count => "integer",
            domain if domain.is_number() => "number",
            _ => "string",
        };
        json!({
            "name": key,
            "type": kind,
            "title": measure.label,
            "description": measure.how,
            "unit": measure.unit,
        })
    });
    let key: &[&str] = match table {
        Table::Parts | Table::Units => &["number"],
        Table::Crosses => &["from", "kind", "to"],
        Table::Bills => &["unit", "role", "part"],
        Table::Bins => &["bin"],
        Table::Stock => &["part", "bin", "condition"],
        Table::Prices => &["part", "list"],
        Table::Demand => &["part", "month", "mark"],
        Table::Suppliers => &["supplier"],
        Table::Offers => &["supplier", "part", "from"],
    };
    json!({
        "$schema": "https://datapackage.org/profiles/2.0/tableschema.json",
        "fields": ours.chain(theirs).collect::<Vec<_>>(),
        "missingValues": [""],
        "primaryKey": key,
    })
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Schema {
    fields: Vec<Described>,
    #[serde(default)]
    missing_values: Vec<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Described {
    name: String,
    unit: Option<String>,
    decimal_char: Option<String>,
    group_char: Option<String>,
    #[serde(default)]
    constraints: Constraints,
}

#[derive(Deserialize, Default)]
struct Constraints {
    #[serde(default)]
    required: bool,
}

impl ColumnMap {
    /// Returns the map that the Table Schema `text` of `file` (JSON) amounts to.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Map`] names the file, the line and what is wrong; [`ExchangeError::NoTable`]
    /// when the names of its fields are not the headers of any of our tables.
    pub fn from_table_schema(file: &str, text: &str) -> Result<Self, ExchangeError> {
        let wrong = |line, message| ExchangeError::Map {
            file: file.to_owned(),
            line,
            message,
            nearest: None,
        };
        let schema: Schema =
            serde_json::from_str(text).map_err(|error| wrong(error.line(), error.to_string()))?;
        let names: Vec<String> = schema.fields.iter().map(|field| field.name.clone()).collect();
        let table = Table::told_by(&names)
            .ok_or_else(|| ExchangeError::NoTable { file: file.to_owned() })?;
        let one = |marks: Vec<&String>, what: &str| match marks.as_slice() {
            [] => Ok(None),
            [first, rest @ ..] if rest.iter().all(|mark| mark == first) => {
                Ok(Some((*first).clone()))
            }
            [first, ..] => {
                Err(wrong(1, format!("{what} is `{first}` in one field and another elsewhere")))
            }
        };
        let decimal = one(
            schema.fields.iter().filter_map(|f| f.decimal_char.as_ref()).collect(),
            "decimalChar",
        )?;
        let decimal = match decimal.as_deref() {
            // The standard's own default.
            None | Some(".") => DecimalMark::Point,
            Some(",") => DecimalMark::Comma,
            Some(found) => {
                return Err(wrong(1, format!("decimalChar `{found}` is neither . nor ,")));
            }
        };
        let group =
            one(schema.fields.iter().filter_map(|f| f.group_char.as_ref()).collect(), "groupChar")?;
        let blank: HashMap<String, String> = schema
            .missing_values
            .iter()
            .filter(|word| !word.is_empty())
            .map(|word| (word.trim().to_lowercase(), String::new()))
            .collect();
        let own = |name: &str| table.fields().iter().any(|field| field.name == name);
        let column = |field: &Described| Column {
            theirs: field.name.clone(),
            to: field.name.clone(),
            unit: field.unit.as_deref().filter(|_| !own(&field.name)).and_then(length),
            user: None,
            optional: !field.constraints.required,
        };
        Ok(Self {
            table,
            user: String::new(),
            separator: None,
            encoding: None,
            decimal: Some(decimal),
            thousands: group.and_then(|mark| mark.chars().next()),
            unit: LengthUnit::Mm,
            header_row: 1,
            sheet: None,
            others: Others::Refuse,
            columns: schema.fields.iter().map(column).collect(),
            constants: BTreeMap::new(),
            words: if blank.is_empty() {
                BTreeMap::new()
            } else {
                names.into_iter().map(|name| (name, blank.clone())).collect()
            },
        })
    }
}

/// The unit of length with this UCUM code; `None` for every other unit.
fn length(code: &str) -> Option<LengthUnit> {
    match code {
        "mm" => Some(LengthUnit::Mm),
        "[in_i]" => Some(LengthUnit::Inch),
        "[mil_i]" => Some(LengthUnit::Mil),
        _ => None,
    }
}
