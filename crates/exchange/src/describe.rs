//! What are the columns of an exported table, for a program that reads it? A Table Schema.

use binwright_catalog::{Domain, Kinds};
use serde_json::{Value, json};

use crate::table::BRANCH;
use crate::{Class, Table};

/// Returns the Frictionless Table Schema of an export of `table`, to lie beside it as JSON. Of
/// parts, `measures` are the columns behind our own; their units are in UCUM codes.
pub fn table_schema(table: Table, measures: &[String], kinds: &Kinds) -> Value {
    // The branch is asked for as measures are, and told as what it is.
    let branch = measures.iter().any(|key| key == BRANCH);
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
    let theirs = measures.iter().filter(|key| *key != BRANCH).map(|key| {
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
