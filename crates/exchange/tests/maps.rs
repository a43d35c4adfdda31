//! What does a supplier's map make of the supplier's file?

#![allow(clippy::unwrap_used, reason = "a test ends where it cannot go on")]

use binwright_catalog::{Kinds, LengthUnit, Part, Value};
use binwright_exchange::{
    ColumnMap, ExchangeError, Options, Reader, Record, RejectsFile, Row, Table,
};

const MAP: &str = r#"
table = "parts"
user = "Fennel Supply"
separator = ";"
decimal = ","
header_row = 3
unit = "mm"

[columns]
"Art. No" = "number"
"Group" = "kind"
"Text" = "description"
"Brand" = { to = "maker", optional = true }
"O.D. (in)" = { to = "outline_od", unit = "in" }
"Pitch" = "mount_pitch"
"Hand" = "handed"
"Their no." = "other_numbers"
"Replaces no." = { to = "other_numbers", user = "Hallam" }

[constants]
volt_class = "12"

[words.kind]
"RECT. PLATE" = "rectifier-plate"

[words.handed]
"LH" = "left"
"RH" = "right"
"#;

const FILE: &str = "Fennel Supply price book;;\r\nnot \"for resale\r\n\
    art.  no;Group;Text;O.D. (in);Pitch;Hand;Their no.;Replaces no.;Weight\r\n\
    F-100;Rect. Plate;plate, six diodes;4 7/16;92,1;LH;55-1;H 9;0,4\r\n\
    F-101;RECT. PLATE;=1+1;4,25;92,1 mm;RH;;;\r\n\
    F-102;rect. plate;plate;112.3;91;left;;;\r\n\
    F-103;gizmo;plate;4;91;left;;;\r\n";

fn options(map: &str) -> Options {
    Options { map: Some(ColumnMap::parse("fennel.toml", map).unwrap()), ..Options::default() }
}

fn part(row: &Row) -> &Part {
    match &row.record {
        Record::Part(part) => part,
        other => panic!("{other:?}"),
    }
}

fn number(part: &Part, key: &str) -> f64 {
    part.measures[key].number().unwrap()
}

/// 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
#[test]
fn a_suppliers_headers_units_and_words_become_ours() {
    let kinds = Kinds::builtin().unwrap();
    let reader = Reader::open("f.csv", FILE.as_bytes(), &options(MAP), &kinds).unwrap();
    assert_eq!((reader.ignored(), reader.header_row()), (&["Weight".to_owned()][..], 3));
    let rows: Vec<Row> = reader.filter_map(Result::ok).collect();
    assert_eq!(rows.len(), 2);
    let first = part(&rows[0]);
    assert_eq!((first.kind.as_str(), first.house.as_str()), ("rectifier-plate", "F-100"));
    assert!((number(first, "outline_od") - 112.7125).abs() < 1e-9);
    assert!((number(first, "mount_pitch") - 92.1).abs() < 1e-9);
    assert_eq!(first.measures["handed"], Value::Word("left".to_owned()));
    assert_eq!(first.measures["volt_class"], Value::Word("12".to_owned()));
    let numbers: Vec<_> = first.numbers.iter().map(|n| format!("{}:{}", n.user, n.text)).collect();
    assert_eq!(numbers, ["Fennel Supply:55-1", "Hallam:H 9"]);
    assert!((number(part(&rows[1]), "outline_od") - 107.95).abs() < 1e-9);
}

#[test]
fn rejects_are_mended_and_imported_with_the_same_map() {
    let kinds = Kinds::builtin().unwrap();
    let mut reader = Reader::open("f.csv", FILE.as_bytes(), &options(MAP), &kinds).unwrap();
    let mut file = RejectsFile::new(Vec::new(), &reader).unwrap();
    let rejects: Vec<_> = reader.by_ref().filter_map(Result::err).collect();
    assert_eq!(rejects.len(), 2, "{rejects:?}");
    assert_eq!((rejects[0].place.row, rejects[0].place.line), (6, 6));
    assert_eq!((rejects[0].column.as_str(), rejects[0].value.as_str()), ("O.D. (in)", "112.3"));
    assert!(rejects[0].would_be_right.contains("comma"), "{}", rejects[0].would_be_right);
    for reject in &rejects {
        file.write(reject).unwrap();
    }
    let text = String::from_utf8(file.finish().unwrap()).unwrap();
    // Unmended, both come back; and a second round keeps one set of our columns.
    let mut again = Reader::open("r.csv", text.as_bytes(), &options(MAP), &kinds).unwrap();
    let mut second = RejectsFile::new(Vec::new(), &again).unwrap();
    let back: Vec<_> = again.by_ref().filter_map(Result::err).collect();
    assert_eq!(back.len(), 2);
    back.iter().for_each(|reject| second.write(reject).unwrap());
    let mended = String::from_utf8(second.finish().unwrap()).unwrap();
    assert_eq!(mended.matches("reject_reason").count(), 1);

    let mended = mended.replace(";112.3;", ";4,42;").replace(";gizmo;", ";RECT. PLATE;");
    // The value column still holds the old text; only the row's own cells count.
    let mended = mended.replace("RECT. PLATE;kind", "gizmo;kind");
    let last = Reader::open("m.csv", mended.as_bytes(), &options(MAP), &kinds).unwrap();
    let rows: Vec<Row> = last.map(Result::unwrap).collect();
    assert_eq!(rows.len(), 2);
    assert_eq!(part(&rows[0]).house, "F-102");
}

#[test]
fn rejects_defuse_what_a_spreadsheet_would_run_and_import_undoes_it() {
    let kinds = Kinds::builtin().unwrap();
    let text = "bin,aisle,description\nA\u{200b}1,=cmd|'/C calc'!A0,'=2\n";
    let mut reader = Reader::open("b.csv", text.as_bytes(), &Options::default(), &kinds).unwrap();
    let mut file = RejectsFile::new(Vec::new(), &reader).unwrap();
    file.write(&reader.next().unwrap().unwrap_err()).unwrap();
    let written = String::from_utf8(file.finish().unwrap()).unwrap();
    assert!(written.contains(",'=cmd"), "{written}");
    let mended = written.replace('\u{200b}', "");
    let mut reader = Reader::open("b.csv", mended.as_bytes(), &Options::default(), &kinds).unwrap();
    let Record::Bin(bin) = reader.next().unwrap().unwrap().record else { panic!() };
    assert_eq!((bin.aisle.as_str(), bin.description.as_str()), ("=cmd|'/C calc'!A0", "=2"));
}

#[test]
fn a_decimal_mark_that_nobody_said_is_a_question() {
    let kinds = Kinds::builtin().unwrap();
    let map = MAP.replace("decimal = \",\"\n", "").replace("header_row = 3\n", "");
    let head = "Art. No;Group;Text;O.D. (in);Pitch;Hand;Their no.;Replaces no.\n";
    let open = |od: &str, map: &str| {
        let text = format!("{head}F1;rectifier-plate;x;{od};;;1.234;\n");
        let text = std::io::Cursor::new(text.into_bytes());
        Reader::open("f.csv", text, &options(map), &kinds).map(|mut reader| reader.next())
    };
    let error = open("1.234", &map).unwrap_err();
    assert!(matches!(error, ExchangeError::DecimalUnsaid { comma: false, .. }), "{error}");
    let error = open("4,25", &map).unwrap_err();
    assert!(matches!(error, ExchangeError::DecimalUnsaid { comma: true, .. }), "{error}");
    assert!(error.hint().unwrap().contains("decimal comma"));
    assert!(open("4.25", &map).unwrap().unwrap().is_ok());
    let said = format!("decimal = \".\"\n{map}");
    let row = open("1.234", &said).unwrap().unwrap().unwrap();
    assert!((number(part(&row), "outline_od") - 1.234 * 25.4).abs() < 1e-9);
    // The question is also asked of a row past those that were looked at.
    let mut late = head.to_owned();
    (0..300).for_each(|n| late.push_str(&format!("F{n};rectifier-plate;x;4;;;;\n")));
    late.push_str("G1;rectifier-plate;x;1.234;;;;\n");
    let mut reader = Reader::open("f.csv", late.as_bytes(), &options(&map), &kinds).unwrap();
    let reject = reader.find_map(Result::err).unwrap();
    assert_eq!(reject.reason, "`1.234` can be a decimal or a thousand");
}

#[test]
fn a_price_list_takes_its_constants_and_thousands_from_the_map() {
    let kinds = Kinds::builtin().unwrap();
    let map = "table = \"prices\"\nuser = \"Orrin\"\ndecimal = \",\"\nthousands = \".\"\n\
        [columns]\nArtikel = \"part\"\nPreis = \"amount\"\n\
        [constants]\nlist = \"Orrin 12\"\ncurrency = \"EUR\"\n";
    let text = "Artikel;Preis\n0047;1.234,50\n48;1.23,4\n49;12,345\n50;7\n";
    let reader = Reader::open("p.csv", text.as_bytes(), &options(map), &kinds).unwrap();
    let rows: Vec<_> = reader.collect();
    let Record::Price(price) = &rows[0].as_ref().unwrap().record else { panic!() };
    assert_eq!((price.part.as_str(), price.user.as_str()), ("0047", "Orrin"));
    assert_eq!(price.price.to_string(), "1234.50 EUR");
    assert!(rows[1].is_err() && rows[2].is_err() && rows[3].is_ok(), "{rows:?}");
}

#[test]
fn of_several_columns_of_numbers_the_one_that_is_wrong_is_named() {
    let kinds = Kinds::builtin().unwrap();
    let map = "table = \"parts\"\n[columns]\nNo = \"number\"\nKind = \"kind\"\n\
        Theirs = \"other_numbers\"\nOld = \"other_numbers\"\n";
    let text = "No,Kind,Theirs,Old\nF1,bearing,77 A,12\u{200b}4\n";
    let mut reader = Reader::open("f.csv", text.as_bytes(), &options(map), &kinds).unwrap();
    let reject = reader.next().unwrap().unwrap_err();
    assert_eq!((reject.column.as_str(), reject.value.as_str()), ("Old", "12\u{200b}4"));
}

#[test]
fn a_map_is_refused_with_line_key_and_suggestion() {
    let rows = [
        ("table = \"part\"\n[columns]\n", 1, "part", Some("parts")),
        ("table = \"bins\"\nseparater = \";\"\n[columns]\n", 2, "separater", Some("separator")),
        ("table = \"bins\"\n[columns]\nShelf = \"bins\"\n", 3, "`bins`", Some("bin")),
        (
            "table = \"bins\"\n[columns]\nA = { to = \"bin\", unti = \"mm\" }\n",
            3,
            "unti",
            Some("unit"),
        ),
        ("table = \"bins\"\n[columns]\nA = { to = \"bin\", unit = \"mm\" }\n", 3, "unit", None),
        ("table = \"bins\"\n[columns]\nA = \"bin\"\nB = \"bin\"\n", 4, "already", None),
        ("table = \"bins\"\nheader_row = 0\n[columns]\nA = \"bin\"\n", 2, "counts from 1", None),
        ("table = \"bins\"\nencoding = \"x\"\n[columns]\nA = \"bin\"\n", 2, "`x`", None),
        ("table = \"bins\"\nothers = \"measures\"\n[columns]\nA = \"bin\"\n", 2, "measures", None),
        ("table = \"bins\"\ndecimal = \"'\"\n[columns]\nA = \"bin\"\n", 2, "`'`", None),
        ("table = \"stock\"\n[columns]\nA = \"part\"\n", 1, "`bin`", None),
        ("table = \"bins\"\n[columns]\nA = 3\n", 3, "our column", None),
        ("table = \"bins\n", 1, "", None),
    ];
    for (text, due, says, near) in rows {
        let error = ColumnMap::parse("m.toml", text).unwrap_err();
        let ExchangeError::Map { file, line, message, nearest } = &error else { panic!() };
        assert_eq!((file.as_str(), *line), ("m.toml", due), "{text}: {message}");
        assert!(message.contains(says), "{text}: {message}");
        assert_eq!(nearest.as_deref(), near, "{text}: {message}");
    }
}

#[test]
fn a_map_with_a_measure_nobody_has_or_a_header_the_file_lacks_is_refused() {
    let kinds = Kinds::builtin().unwrap();
    let open = |map: &str| {
        Reader::open("f.csv", FILE.as_bytes(), &options(map), &kinds).map(|_| ()).unwrap_err()
    };
    let error = open(&MAP.replace("\"mount_pitch\"", "\"mount_pich\""));
    assert_eq!(error.hint().unwrap(), "Did you mean `mount_pitch`?");
    let error = open(&MAP.replace("\"Text\"", "\"Texts\""));
    assert_eq!(error.hint().unwrap(), "It has `Text`; is that the one?");
    let error = open(
        &MAP.replace("\"Hand\" = \"handed\"", "\"Hand\" = { to = \"handed\", unit = \"in\" }"),
    );
    assert!(matches!(error, ExchangeError::Headers { .. }), "{error}");
}

#[test]
fn our_own_headers_are_maps_and_tell_their_table() {
    for table in Table::ALL {
        let map = ColumnMap::builtin(table).unwrap();
        assert_eq!((map.table, map.unit), (table, LengthUnit::Mm));
        let headers: Vec<String> = table.fields().iter().map(|f| f.name.to_owned()).collect();
        assert_eq!(Table::told_by(&headers), Some(table));
    }
}

/// Names and defaults as in the Frictionless Table Schema: `decimalChar`, `missingValues`,
/// `constraints.required`; units by their UCUM codes.
#[test]
fn a_table_schema_stands_in_a_maps_place() {
    let schema = r#"{
        "fields": [
            {"name": "number", "constraints": {"required": true}},
            {"name": "kind", "constraints": {"required": true}},
            {"name": "outline_od", "type": "number", "unit": "[in_i]", "decimalChar": ","},
            {"name": "mount_pitch", "type": "number", "decimalChar": ","}
        ],
        "missingValues": ["", "n/a"]
    }"#;
    let map = ColumnMap::from_table_schema("x.schema.json", schema).unwrap();
    let options = Options { map: Some(map), ..Options::default() };
    let kinds = Kinds::builtin().unwrap();
    let file = "number;kind;outline_od;mount_pitch\nT-1;rectifier-plate;4,25;N/A\n";
    let mut reader = Reader::open("x.csv", file.as_bytes(), &options, &kinds).unwrap();
    let row = reader.next().unwrap().unwrap();
    assert!((number(part(&row), "outline_od") - 107.95).abs() < 1e-9);
    assert!(!part(&row).measures.contains_key("mount_pitch"), "n/a is blank");

    let refused =
        ColumnMap::from_table_schema("x.schema.json", r#"{"fields": [{"name": "colour"}]}"#);
    assert!(matches!(refused, Err(ExchangeError::NoTable { .. })));
    let refused = ColumnMap::from_table_schema("x.schema.json", "{\n\"fields\": 3}");
    assert!(matches!(refused, Err(ExchangeError::Map { line: 2, .. })));
}

#[test]
fn demand_comes_long_or_wide() {
    let kinds = Kinds::builtin().unwrap();
    let months = |file: &str| -> Vec<Vec<(String, String)>> {
        let reader = Reader::open("h.csv", file.as_bytes(), &Options::default(), &kinds).unwrap();
        assert_eq!(reader.table(), Table::Demand);
        let demand = |row: Row| match row.record {
            Record::Demand(demand) => demand.months,
            other => panic!("{other:?}"),
        };
        let text = |(month, n): (String, binwright_catalog::Quantity)| (month, n.to_string());
        reader.map(|row| demand(row.unwrap()).into_iter().map(text).collect()).collect()
    };
    let pair = |month: &str, n: &str| (month.to_owned(), n.to_owned());
    let long = months("part,month,quantity\nA-1,2024-03,2\nA-1,2024-04-30,-1\n");
    assert_eq!(long, [[pair("2024-03", "2")], [pair("2024-04", "-1")]]);
    let wide = months("part,2024-03,2024-04,2024-05\nA-1,2,,0\n");
    assert_eq!(wide, [[pair("2024-03", "2"), pair("2024-05", "0")]], "a blank month is not known");

    let open = |file: &'static str| {
        Reader::open("h.csv", file.as_bytes(), &Options::default(), &kinds).err().unwrap()
    };
    assert!(open("part,month,quantity,2024-03\n").to_string().contains("too"));
    let bad = "part,month,quantity\nA-1,2024-13,2\nA-1,March,2\n";
    let reader = Reader::open("h.csv", bad.as_bytes(), &Options::default(), &kinds).unwrap();
    assert!(reader.map(Result::unwrap_err).all(|reject| reject.column == "month"));
}
