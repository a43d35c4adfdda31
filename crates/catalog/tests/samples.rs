//! Can the built-in kinds read every value of the invented shop?

use std::collections::BTreeMap;

use binwright_catalog::{DecimalMark, Kinds, Layout, LengthUnit, Machine, cross};

fn rows(name: &str) -> Vec<BTreeMap<String, String>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../import-samples/");
    let rows = csv::Reader::from_path(format!("{folder}{name}")).expect("a sample file");
    rows.into_deserialize().map(|row| row.expect("a whole row")).collect()
}

#[test]
fn every_value_of_the_sample_parts_is_read_by_its_kind() {
    let kinds = Kinds::builtin().unwrap();
    let fixed = ["number", "kind", "description", "maker", "layout", "other_numbers"];
    let (mut values, mut layouts) = (0, 0);
    for row in rows("parts.csv") {
        let number = &row["number"];
        let kind = kinds.get(&row["kind"]).unwrap_or_else(|| panic!("{number}: kind"));
        for (key, text) in
            row.iter().filter(|(key, text)| !text.is_empty() && !fixed.contains(&key.as_str()))
        {
            let (_, measure) = kind.measure(key).unwrap_or_else(|| panic!("{number}: {key}"));
            let value = measure.parse(text, LengthUnit::Mm, DecimalMark::Point).unwrap();
            assert_eq!(&value.to_string(), text, "{number}: {key} is written in its usual form");
            assert!(measure.plausible(&value), "{number}: {key} {text}");
            values += 1;
        }
        if !row["layout"].is_empty() {
            assert!(kind.layout.is_some(), "{number}: its kind has no layout");
            assert_eq!(row["layout"].parse::<Layout>().unwrap().to_string(), row["layout"]);
            layouts += 1;
        }
    }
    assert!(values > 3000 && layouts > 100, "{values} values, {layouts} layouts");
}

#[test]
fn the_sample_bills_name_parts_that_belong_in_the_role_and_the_voltage() {
    let kinds = Kinds::builtin().unwrap();
    let by_number = |name, key: &str| -> BTreeMap<String, BTreeMap<String, String>> {
        rows(name).into_iter().map(|row| (row[key].clone(), row)).collect()
    };
    let (parts, units) = (by_number("parts.csv", "number"), by_number("units.csv", "number"));
    for line in rows("bills.csv") {
        let (unit, part) = (&units[&line["unit"]], &parts[&line["part"]]);
        let kind = kinds.get(&part["kind"]).unwrap();
        assert!(kind.roles.contains(&line["role"]), "{line:?}");
        let machine: Machine = unit["machine"].parse().unwrap();
        assert!(kind.machine.is_none_or(|needed| needed == machine), "{line:?}");
        let volts = part.get("volt_class").filter(|volts| !volts.is_empty());
        assert!(volts.is_none_or(|volts| *volts == unit["volts"]), "{line:?}");
    }
    let crosses = rows("crosses.csv");
    let edges: Vec<(&str, &str)> = crosses
        .iter()
        .filter(|row| row["kind"] == "replaces")
        .map(|row| (row["from"].as_str(), row["to"].as_str()))
        .collect();
    assert!(edges.len() >= 3 && cross::find_loop(&edges).is_none());
    for row in &crosses {
        assert!(parts.contains_key(&row["from"]) && parts.contains_key(&row["to"]), "{row:?}");
    }
}
