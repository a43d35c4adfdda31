//! What does a file do that is broken, crafted or from a strange machine? One test a threat.

#![allow(clippy::unwrap_used, reason = "a test ends where it cannot go on")]

use std::io::{Cursor, Write};

use binwright_catalog::{Kinds, Money};
use binwright_exchange::{
    CELL_BYTES_MAX, ColumnMap, ExchangeError, Options, Reader, Record, Reject, Row, Table,
};

fn kinds() -> Kinds {
    Kinds::builtin().unwrap()
}

fn table(table: Table) -> Options {
    Options { map: Some(ColumnMap::builtin(table).unwrap()), ..Options::default() }
}

type Read = (Vec<Row>, Vec<Reject>);

fn try_read(bytes: &[u8], options: &Options) -> Result<Read, ExchangeError> {
    let kinds = kinds();
    let reader = Reader::open("f.csv", Cursor::new(bytes.to_vec()), options, &kinds)?;
    let (mut rows, mut rejects) = (Vec::new(), Vec::new());
    for row in reader {
        match row {
            Ok(row) => rows.push(row),
            Err(reject) => rejects.push(reject),
        }
    }
    Ok((rows, rejects))
}

fn read(bytes: impl AsRef<[u8]>) -> Read {
    try_read(bytes.as_ref(), &Options::default()).unwrap()
}

fn refused(bytes: impl AsRef<[u8]>) -> ExchangeError {
    try_read(bytes.as_ref(), &Options::default()).map(|_| ()).unwrap_err()
}

fn only_reject(bytes: impl AsRef<[u8]>) -> Reject {
    let (rows, mut rejects) = read(bytes);
    assert_eq!((rows.len(), rejects.len()), (0, 1), "{rejects:?}");
    rejects.remove(0)
}

/// A parts file whose second row has `value` under `column`, and a sound row after it.
fn part_with(column: &str, value: &str) -> String {
    format!("number,kind,{column}\nA-1,bearing,{value}\nA-2,bearing,\n")
}

#[test]
fn a_field_beyond_4_kb_is_named_and_nothing_is_cut_short() {
    let fits = "x".repeat(CELL_BYTES_MAX);
    let (rows, rejects) = read(part_with("description", &fits));
    assert_eq!((rows.len(), rejects.len()), (2, 0));
    let (rows, rejects) = read(part_with("description", &format!("{fits}x")));
    assert_eq!((rows.len(), rejects.len()), (1, 1));
    assert_eq!((rejects[0].column.as_str(), rejects[0].place.line), ("description", 2));
    assert!(rejects[0].reason.contains("4097 bytes"), "{}", rejects[0].reason);
    assert_eq!(rejects[0].cells[2].len(), 4097);
}

#[test]
fn a_nul_byte_is_a_row_error_and_never_a_shorter_text() {
    let (rows, rejects) = read(part_with("description", "brush\0set"));
    assert_eq!((rows.len(), rejects.len()), (1, 1));
    assert!(rejects[0].reason.contains("NUL"), "{}", rejects[0].reason);
    assert_eq!(rejects[0].cells[2], "brush\0set");
}

/// CWE-150: text is kept as it came (it is marked where it is shown); keys refuse it.
#[test]
fn control_direction_and_zero_width_characters_are_kept_in_text_and_refused_in_keys() {
    let (rows, _) = read(part_with("description", "red \u{1b}[31mset\u{202e}"));
    assert!(matches!(&rows[0].record, Record::Part(p) if p.description.contains('\u{1b}')));
    for c in ['\u{1b}', '\u{7}', '\u{9b}', '\u{202e}', '\u{200b}', '\u{2066}', '\u{feff}'] {
        let reject = only_reject(format!("number,kind\nA{c}1,bearing\n"));
        assert_eq!(reject.column, "number", "{c:?}");
        let reject = only_reject(format!("number,kind,other_numbers\nA1,bearing,Orrin:7{c}7\n"));
        assert_eq!(reject.column, "other_numbers", "{c:?}");
    }
}

#[test]
fn invalid_utf_8_is_asked_about_or_named_by_offset_and_never_replaced() {
    let error = refused(b"number,kind,description\nA1,bearing,L\xE4ufer f\xFCr Anlasser\n");
    let ExchangeError::EncodingUnsaid { offset: 36, guess: "windows-1252", .. } = error else {
        panic!("{error:?}")
    };
    // Past what is sniffed, the row is named.
    let mut late = b"number,kind,description\n".to_vec();
    for n in 0..5000 {
        late.extend(format!("A{n},bearing,sound row of text\n").bytes());
    }
    let offset = late.len() + 12;
    late.extend(b"B1,bearing,L\xE4ufer\nB2,bearing,ok\n");
    let (rows, rejects) = read(&late);
    assert_eq!((rows.len(), rejects.len()), (5001, 1));
    assert_eq!(rejects[0].reason, format!("byte {offset} of the file is not UTF-8"));
    assert_eq!(rejects[0].place.line, 5002);
}

#[test]
fn a_legacy_code_page_is_read_when_it_is_said() {
    let bytes = b"number,kind,description\nA1,bearing,L\xE4ufer\n";
    let options = Options { encoding: Some("windows-1252".to_owned()), ..Options::default() };
    let (rows, _) = try_read(bytes, &options).unwrap();
    assert!(matches!(&rows[0].record, Record::Part(part) if part.description == "Läufer"));
    let options = Options { encoding: Some("no-such-page".to_owned()), ..Options::default() };
    let error = try_read(bytes, &options).map(|_| ()).unwrap_err();
    assert!(matches!(error, ExchangeError::UnknownEncoding { .. }));
}

#[test]
fn byte_order_marks_and_utf_16_are_no_part_of_the_first_header() {
    let text = "number;kind;description\r\nA1;bearing;Läufer\r\n";
    let wide = |bytes: fn(u16) -> [u8; 2]| {
        "\u{feff}".encode_utf16().chain(text.encode_utf16()).flat_map(bytes).collect::<Vec<u8>>()
    };
    let marked = format!("\u{feff}{text}").into_bytes();
    for bytes in [marked, wide(u16::to_le_bytes), wide(u16::to_be_bytes)] {
        let (rows, rejects) = read(&bytes);
        assert_eq!((rows.len(), rejects.len()), (1, 0));
        assert!(matches!(&rows[0].record, Record::Part(part) if part.description == "Läufer"));
    }
}

#[test]
fn every_line_end_is_a_line_end() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["number,kind,bore", "A1,bearing,17", "A2,bearing,wide", ""].join(end);
        let (rows, rejects) = read(&text);
        assert_eq!((rows.len(), rejects.len()), (1, 1), "{end:?}");
        assert_eq!((rejects[0].place.row, rejects[0].place.line), (3, 3), "{end:?}");
    }
}

#[test]
fn ragged_rows_and_open_quotes_are_named() {
    let reject = only_reject("bin,aisle\nA1,2,3\n");
    assert_eq!(reject.reason, "the row has 3 cells under 2 headers");
    assert_eq!(reject.cells, ["A1", "2", "3"]);
    assert!(only_reject("bin,aisle\nA1\n").reason.contains("1 cells under 2"));
    let reject = only_reject("bin,aisle\nA1,\"north\nA2,south\n");
    assert!(reject.reason.contains("quote") && reject.rest_unread, "{}", reject.reason);
    let reject = only_reject("bin,aisle,description\nA1,\"north,x\nA2,\"south\",y\n");
    assert!(reject.reason.contains("quote") && !reject.rest_unread, "{reject:?}");
    let endless = format!("bin,aisle\nA1,\"{}", "north\n".repeat(300_000));
    let reject = only_reject(endless);
    assert!(reject.rest_unread && reject.place.line == 2, "{}", reject.reason);
}

#[test]
fn empty_and_headers_only_files_are_told_apart() {
    assert!(matches!(refused(""), ExchangeError::Empty { .. }));
    assert!(matches!(refused("\u{feff}\r\n\r\n"), ExchangeError::Empty { .. }));
    let (rows, rejects) = read("bin,aisle\n");
    assert_eq!((rows.len(), rejects.len()), (0, 0));
}

#[test]
fn a_file_of_one_column_is_a_file() {
    let (rows, rejects) = read("bin\nA-1\nA-2\n");
    assert_eq!((rows.len(), rejects.len()), (2, 0));
}

#[test]
fn headers_are_judged_with_a_suggestion() {
    let error = refused("number,kind,outline_odd\nA1,rectifier-plate,5\n");
    assert_eq!(error.to_string(), "f.csv: column `outline_odd` is not known in parts");
    assert_eq!(error.hint().unwrap(), "Did you mean `outline_od`?");
    let error = refused("number,kind,bore, Bore\nA1,bearing,1,2\n");
    assert!(matches!(error, ExchangeError::DuplicateHeader { first: 3, second: 4, .. }));
    let error = try_read(b"bins,aisle\nA1,2\n", &table(Table::Bins)).map(|_| ()).unwrap_err();
    assert!(matches!(&error, ExchangeError::MissingColumn { header, .. } if header == "bin"));
    assert_eq!(error.hint().unwrap(), "It has `bins`; is that the one?");
    assert!(matches!(refused("a,b\n1,2\n"), ExchangeError::NoTable { .. }));
}

#[test]
fn an_unknown_kind_and_a_measure_of_another_kind_are_rejects_with_a_suggestion() {
    let reject = only_reject("number,kind\nA1,baering\n");
    assert_eq!(reject.reason, "kind `baering` is not known");
    assert!(reject.would_be_right.contains("`bearing`"), "{}", reject.would_be_right);
    let reject = only_reject("number,kind,outline_od\nA1,bearing,40\n");
    assert_eq!(reject.reason, "kind `bearing` has no measure `outline_od`");
}

#[test]
fn numbers_of_parts_stay_text_and_suspected_ones_are_warned_of() {
    let (rows, _) = read("number,kind\n00471,bearing\n1E5,bearing\n4.71E+11,bearing\n");
    let numbers: Vec<_> = rows
        .iter()
        .map(|row| match &row.record {
            Record::Part(part) => (part.house.as_str(), row.warnings.len()),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(numbers, [("00471", 0), ("1E5", 1), ("4.71E+11", 1)]);
}

#[test]
fn a_number_longer_than_allowed_or_without_a_letter_is_refused() {
    assert_eq!(only_reject(format!("bin\n{}\n", "7".repeat(65))).reason, "it is too long");
    assert_eq!(only_reject("bin\n---\n").reason, "it has no letter and no digit");
    assert_eq!(only_reject("bin,aisle\n,north\n").reason, "`bin` is missing");
    let reject = only_reject(format!("number,kind,bore\nA1,bearing,{}\n", "9".repeat(40)));
    assert_eq!(reject.column, "bore");
}

#[test]
fn quantities_and_money_that_do_not_fit_are_refused() {
    let stock = |text: &str| format!("part,bin,condition,quantity\nA1,B1,new,{text}\n");
    for text in ["9223372036854776", "-1", "1.0005", "", "1e3", "NaN", "99999999999999999999"] {
        assert_eq!(only_reject(stock(text)).column, "quantity", "{text}");
    }
    assert_eq!(read(stock("9223372036854775.807")).0.len(), 1);
    let price = |text: &str| format!("part,list,amount,currency\nA1,house,{text},EUR\n");
    for text in ["92233720368547758.08", "-1", "1.005", "", "inf", "1.2.3"] {
        assert_eq!(only_reject(price(text)).column, "amount", "{text}");
    }
    let (rows, _) = read(price("92233720368547758.07"));
    let Record::Price(price) = &rows[0].record else { panic!() };
    assert_eq!(price.price, Money { minor: i64::MAX, ..price.price });
    let reject = only_reject("part,list,amount,currency\nA1,house,1,EURO\n");
    assert_eq!(reject.column, "currency");
    let unit = only_reject("number,machine,volts\nU1,starter,70000\n");
    assert_eq!(unit.column, "volts");
}

fn zipped(members: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in members {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// CWE-409: the members' sizes are summed, as declared and as unpacked, before any is parsed.
#[test]
fn a_zip_bomb_is_refused_before_it_is_unpacked() {
    let zeros = vec![b' '; 70 << 20];
    let mut bomb = zipped(&[("xl/sharedStrings.xml", &zeros)]);
    assert!(bomb.len() < 100_000);
    let error = refused(&bomb);
    assert!(matches!(error, ExchangeError::TooLarge { .. }), "{error:?}");
    // The same, lying about its size in the local header and the directory.
    let size = (70u32 << 20).to_le_bytes();
    for at in (0..bomb.len() - 4).rev() {
        if bomb[at..at + 4] == size {
            bomb[at..at + 4].copy_from_slice(&1000u32.to_le_bytes());
        }
    }
    let error = refused(&bomb);
    let lying = matches!(error, ExchangeError::TooLarge { .. } | ExchangeError::Workbook { .. });
    assert!(lying, "{error:?}");
    let many: Vec<(String, &[u8])> = (0..2001).map(|n| (format!("m{n}"), &b"x"[..])).collect();
    let many: Vec<(&str, &[u8])> = many.iter().map(|(name, b)| (name.as_str(), *b)).collect();
    assert!(matches!(refused(zipped(&many)), ExchangeError::TooLarge { .. }));
}

#[test]
fn a_malformed_workbook_is_an_error_that_names_the_file() {
    let error = refused(zipped(&[("xl/workbook.xml", b"<workbook><sheets><sheet")]));
    assert!(error.to_string().starts_with("f.csv is not a workbook"), "{error}");
    assert!(matches!(refused(b"PK\x03\x04 and nothing"), ExchangeError::Workbook { .. }));
    let legacy = refused([0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1]);
    assert!(matches!(legacy, ExchangeError::LegacyWorkbook { .. }) && legacy.hint().is_some());
}

/// Every byte of a sound workbook is broken in turn: an answer or an error, never a panic.
#[test]
fn a_workbook_with_any_byte_broken_does_not_end_the_program() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (column, header) in ["bin", "aisle"].into_iter().enumerate() {
        sheet.write_string(0, column as u16, header).unwrap();
        sheet.write_string(1, column as u16, "A1").unwrap();
    }
    let sound = book.save_to_buffer().unwrap();
    assert_eq!(read(&sound).0.len(), 1);
    for at in (0..sound.len()).step_by(7) {
        let mut broken = sound.clone();
        broken[at] ^= 0xFF;
        let _ = try_read(&broken, &Options::default());
    }
}

/// A cell far out must cost no memory for the rectangle it spans.
#[test]
fn a_cell_at_the_sheets_far_corner_is_refused_in_words() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write_string(0, 0, "bin").unwrap();
    sheet.write_string(1_048_575, 16_383, "x").unwrap();
    let error = refused(book.save_to_buffer().unwrap());
    assert!(error.to_string().contains("row 1048576 has a cell out of place"), "{error}");
}

#[test]
fn cells_of_a_workbook_keep_their_text_and_numbers_are_suspected() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    let date = rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd");
    for (column, header) in (0..).zip(["number", "kind", "bore"]) {
        sheet.write_string(0, column, header).unwrap();
    }
    for row in 1..=4 {
        sheet.write_string(row, 1, "bearing").unwrap();
        sheet.write_number(row, 2, 17.5).unwrap();
    }
    sheet.write_string(1, 0, "00471").unwrap();
    sheet.write_number(2, 0, 4711.0).unwrap();
    sheet.write_number(3, 0, 4.71e11).unwrap();
    sheet.write_number_with_format(4, 0, 45000.0, &date).unwrap();
    let (rows, rejects) = read(book.save_to_buffer().unwrap());
    assert!(rejects.is_empty(), "{rejects:?}");
    let seen: Vec<_> = rows
        .iter()
        .map(|row| match &row.record {
            Record::Part(part) => (part.house.as_str(), row.warnings.len()),
            other => panic!("{other:?}"),
        })
        .collect();
    let due = [("00471", 0), ("4711", 0), ("471000000000", 1), ("2023-03-15", 1)];
    assert_eq!(seen, due);
    assert_eq!(rows[2].place.to_string(), "f.csv, row 4");
}
