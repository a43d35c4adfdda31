//! Does import give back what export wrote? For every table, both formats, both cell styles.

#![allow(clippy::unwrap_used, reason = "a test ends where it cannot go on")]

use std::collections::BTreeSet;
use std::io::Cursor;

use binwright_catalog::{
    BillLine, Condition, Cross, CrossKind, Domain, IssueUnit, Kind, Kinds, Layout, Machine, Money,
    Part, PartNumber, Point, Quantity, Role, Size, Unit, Value,
};
use binwright_exchange::{
    Bin, CellStyle, Demand, Export, Offer, Options, Price, Reader, Record, Stock, Supplier, Table,
    table_schema,
};
use proptest::collection::vec;
use proptest::prelude::*;
use rust_decimal::Decimal;

fn key() -> impl Strategy<Value = String> {
    "[A-Z0-9]([-A-Za-z0-9./ :;\\\\'=+@äß]{0,10}[A-Z0-9])?"
}

/// Text as people and suppliers write it; no NUL, which no cell may hold.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~]{0,30}",
        "['=+@;,\"-][ -~]{0,8}",
        "[äöüß″Ω一-三 \t\n;,\"]{0,12}",
        Just("two\nlines".to_owned()),
    ]
}

/// Text an XML part of a workbook can hold.
fn sheet_text() -> impl Strategy<Value = String> {
    prop_oneof!["[ -~]{0,30}", "['=+@;,\"-][ -~]{0,8}", "[äöüß″Ω一-三;,\"]{0,12}"]
}

fn quantity() -> impl Strategy<Value = Quantity> {
    prop_oneof![1i64..2_000_000, Just(i64::MAX)].prop_map(Quantity::from_thousandths)
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        (0..5_000_000i32).prop_map(|n| f64::from(n) / 1e4),
        (0..4000i32).prop_map(|sixteenths| f64::from(sixteenths) / 16.0 * 25.4),
        0.001..1e6f64,
    ]
}

fn value(kind: &Kind, at: usize, number: f64, pick: usize, code: String) -> Value {
    let measure = &kind.measures[at];
    match measure.domain {
        Domain::Length | Domain::Number => Value::Number(number),
        Domain::Count => Value::Number((pick % 200) as f64),
        Domain::Angle => Value::Number(number % 360.0),
        Domain::Choice => Value::Word(measure.choices[pick % measure.choices.len()].clone()),
        Domain::Thread => Value::Word(["M8", "M8x1", "1/4-28", "#10-32"][pick % 4].to_owned()),
        Domain::Code => Value::Word(code),
    }
}

fn layout() -> impl Strategy<Value = Option<Layout>> {
    let size = prop_oneof![
        Just(None),
        (1..200i32).prop_map(|n| Some(Size::Diameter(f64::from(n) / 10.0))),
        Just(Some(Size::Thread("M6".to_owned()))),
    ];
    let designation = prop_oneof![Just(None), "[A-Z][0-9+-]{0,3}".prop_map(Some)];
    let place = || (-20_000..20_000i32).prop_map(|n| f64::from(n) / 100.0);
    let point = (0..5usize, designation, place(), place(), size).prop_map(
        |(role, designation, x_mm, y_mm, size)| Point {
            role: Role::ALL[role],
            designation,
            x_mm,
            y_mm,
            size,
        },
    );
    proptest::option::of(vec(point, 1..6).prop_map(Layout::new))
}

fn part(kinds: &Kinds, text: BoxedStrategy<String>) -> impl Strategy<Value = Record> {
    let all: Vec<&Kind> = kinds.iter().collect();
    let numbers = vec((key(), prop_oneof![Just(String::new()), key()]), 0..4);
    let issue = prop_oneof![Just("C62"), Just("MTR"), Just("GRM")];
    let values = vec((any::<bool>(), number(), 0..10_000usize, "[A-Z]{1,3}[0-9]"), 32);
    let about = (text.clone(), text);
    (key(), 0..all.len(), about, issue, layout(), numbers, values).prop_map(
        move |(house, kind, (description, maker), issue, layout, numbers, values)| {
            let kind = all[kind];
            let gaps = kind.measures.iter().enumerate().zip(values);
            let measures = gaps
                .filter(|(_, (known, ..))| *known)
                .map(|((at, m), (_, n, pick, code))| {
                    (m.key.clone(), value(kind, at, n, pick, code))
                })
                .collect();
            Record::Part(Part {
                house,
                kind: kind.key.clone(),
                description,
                maker,
                measures,
                layout,
                issue: IssueUnit::named(issue).unwrap(),
                numbers: numbers
                    .into_iter()
                    .map(|(text, user)| PartNumber { text, user })
                    .collect(),
            })
        },
    )
}

fn others(text: BoxedStrategy<String>) -> Vec<BoxedStrategy<Record>> {
    let two = (text.clone(), text);
    let cross = (key(), 0..4usize, key(), quantity(), two.clone()).prop_map(
        |(from, kind, to, quantity, (remark, _))| {
            Record::Cross(Cross { from, kind: CrossKind::ALL[kind], to, quantity, remark })
        },
    );
    let amount = || proptest::option::of(any::<u16>());
    let unit = (key(), any::<bool>(), two.clone(), amount(), amount()).prop_map(
        |(number, starts, (description, maker), volts, amps)| {
            let machine = if starts { Machine::Starter } else { Machine::Alternator };
            Record::Unit(Unit { number, machine, description, maker, volts, amps })
        },
    );
    let bill = (key(), "[a-z]{2,6}(-[a-z]{2,6})?", key(), quantity(), two.clone()).prop_map(
        |(unit, role, part, quantity, (remark, _))| {
            Record::BillLine(BillLine { unit, role, part, quantity, remark })
        },
    );
    let bin = (key(), two, proptest::option::of(quantity())).prop_map(
        |(bin, (aisle, description), holds_most)| {
            Record::Bin(Bin { bin, aisle, description, holds_most, branch: None })
        },
    );
    let stock = (key(), key(), 0..3usize, quantity()).prop_map(|(part, bin, at, quantity)| {
        Record::Stock(Stock { part, bin, condition: Condition::ALL[at], quantity })
    });
    let minor = prop_oneof![0..10_000_000i64, Just(i64::MAX)];
    let currency = prop_oneof![Just("EUR"), Just("JPY"), Just("TND")];
    let price = (key(), key(), minor, currency).prop_map(|(part, list, minor, currency)| {
        let price = Money { minor, currency: currency.parse().unwrap() };
        Record::Price(Price { part, list, price, user: String::new() })
    });
    let demand = (key(), 1990..2030i32, 1..13u8, quantity(), 0..4usize).prop_map(
        |(part, year, month, quantity, mark)| {
            let mark = ["regular", "one-off", "lost", "asked"][mark].to_owned();
            let months = vec![(format!("{year:04}-{month:02}"), quantity)];
            Record::Demand(Demand { part, months, mark })
        },
    );
    let supplier = (key(), 1..i64::from(i32::MAX), any::<u16>(), any::<u16>(), amount()).prop_map(
        |(name, millionths, least, freight, lead_days)| {
            let currency = "EUR".parse().unwrap();
            let money = |minor: u16| Money { minor: i64::from(minor), currency };
            Record::Supplier(Supplier {
                name,
                currency,
                rate: Decimal::new(millionths, 6).normalize(),
                order_minimum: money(least),
                freight: money(freight),
                freight_free_from: lead_days.map(money),
                lead_days,
                address: String::new(),
            })
        },
    );
    let offer = (key(), key(), key(), any::<u16>(), quantity(), quantity(), amount()).prop_map(
        |(supplier, part, number, minor, from, pack, lead_days)| {
            let price = Money { minor: i64::from(minor), currency: "EUR".parse().unwrap() };
            let minimum = from;
            Record::Offer(Offer { supplier, part, number, price, from, pack, minimum, lead_days })
        },
    );
    vec![
        cross.boxed(),
        unit.boxed(),
        bill.boxed(),
        bin.boxed(),
        stock.boxed(),
        price.boxed(),
        demand.boxed(),
        supplier.boxed(),
        offer.boxed(),
    ]
}

/// `None` is XLSX.
fn written(table: Table, records: &[Record], style: Option<CellStyle>) -> Vec<u8> {
    let parts = records.iter().filter_map(|record| match record {
        Record::Part(part) => Some(part),
        _ => None,
    });
    let keys: BTreeSet<&String> = parts.flat_map(|part| part.measures.keys()).collect();
    let measures = keys.into_iter().cloned().collect();
    let mut export = match style {
        Some(style) => Export::csv(Vec::new(), table, measures, style),
        None => Export::xlsx(Vec::new(), table, measures),
    }
    .unwrap();
    for record in records {
        export.write(record).unwrap();
    }
    export.finish().unwrap()
}

fn given_back(bytes: Vec<u8>, kinds: &Kinds) -> Vec<Record> {
    let reader = Reader::open("out", Cursor::new(bytes), &Options::default(), kinds).unwrap();
    reader.map(|row| row.unwrap_or_else(|reject| panic!("{reject}")).record).collect()
}

const CSV: [Option<CellStyle>; 2] = [Some(CellStyle::Exact), Some(CellStyle::Defused)];

fn same(
    table: Table,
    records: &[Record],
    styles: &[Option<CellStyle>],
    kinds: &Kinds,
) -> Result<(), TestCaseError> {
    for style in styles {
        let back = given_back(written(table, records, *style), kinds);
        prop_assert_eq!(&back, records, "{:?}", style);
    }
    Ok(())
}

fn runner(cases: u32) -> proptest::test_runner::TestRunner {
    proptest::test_runner::TestRunner::new(ProptestConfig::with_cases(cases))
}

#[test]
fn import_after_export_is_the_identity_for_parts() {
    let kinds = Kinds::builtin().unwrap();
    let csv = vec(part(&kinds, text().boxed()), 0..8);
    runner(64).run(&csv, |parts| same(Table::Parts, &parts, &CSV, &kinds)).unwrap();
    let xlsx = vec(part(&kinds, sheet_text().boxed()), 0..8);
    runner(24).run(&xlsx, |parts| same(Table::Parts, &parts, &[None], &kinds)).unwrap();
}

#[test]
fn import_after_export_is_the_identity_for_the_other_tables() {
    let kinds = Kinds::builtin().unwrap();
    for (at, record) in others(text().boxed()).into_iter().enumerate() {
        let table = Table::ALL[at + 1];
        runner(48).run(&vec(record, 0..12), |all| same(table, &all, &CSV, &kinds)).unwrap();
    }
    for (at, record) in others(sheet_text().boxed()).into_iter().enumerate() {
        let table = Table::ALL[at + 1];
        runner(12).run(&vec(record, 0..12), |all| same(table, &all, &[None], &kinds)).unwrap();
    }
}

/// RFC 4180: records end with CRLF.
#[test]
fn csv_goes_out_with_crlf_and_a_description_beside_it() {
    let bin = |bin: &str, aisle: &str| {
        Record::Bin(Bin {
            bin: bin.to_owned(),
            aisle: aisle.to_owned(),
            description: "a \"b\"".to_owned(),
            holds_most: Some(Quantity::whole(12)),
            branch: Some("North".into()),
        })
    };
    let csv = written(Table::Bins, &[bin("A-1", "=1")], Some(CellStyle::Defused));
    let text = String::from_utf8(csv).unwrap();
    assert_eq!(text, "bin,aisle,description,holds_most\r\nA-1,'=1,\"a \"\"b\"\"\",12\r\n");
    let kinds = Kinds::builtin().unwrap();
    let measures = ["outline_od".to_owned(), "handed".to_owned()];
    let schema = table_schema(Table::Parts, &measures, &kinds);
    let names: Vec<_> =
        schema["fields"].as_array().unwrap().iter().map(|field| &field["name"]).collect();
    assert_eq!(names.len(), Table::Parts.fields().len() + 2);
    assert_eq!(
        (&schema["fields"][7]["unit"], &schema["fields"][8]["type"]),
        (&"mm".into(), &"string".into())
    );
}

#[test]
fn nothing_is_left_out_of_an_export_in_silence() {
    let part = Part {
        house: "A1".to_owned(),
        measures: [("bore".to_owned(), Value::Number(17.0))].into(),
        ..Part::default()
    };
    let mut export = Export::csv(Vec::new(), Table::Parts, Vec::new(), CellStyle::Exact).unwrap();
    assert!(export.write(&Record::Part(part.clone())).is_err());
    let mut export = Export::csv(Vec::new(), Table::Bins, Vec::new(), CellStyle::Exact).unwrap();
    assert!(export.write(&Record::Part(part)).is_err());
}
