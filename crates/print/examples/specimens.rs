//! How does every document look, and how long does it take? Writes one of each into the folder named
//! on the command line, as PDF and SVG, with the time it took. A made-up shop; nothing is measured
//! but the clock.

#![allow(clippy::print_stdout, reason = "that is what it is for")]

use std::{fs, path::PathBuf, time::Instant};

use binwright_print::{
    Code, Contour, Label, LabelSheet, Pages, Paper, Piece, PrintError, PrinterScale, Setting,
    labels, outline,
};
use jiff::civil::date;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("name a folder")?);
    fs::create_dir_all(&folder)?;
    let setting = Setting::new(Paper::A4, date(2031, 3, 14));
    let write = |name: &str, make: &dyn Fn() -> Result<Pages, PrintError>| {
        let start = Instant::now();
        let pages = make()?;
        let drawn_ms = start.elapsed().as_millis();
        let pdf = pages.pdf()?;
        let ms = start.elapsed().as_millis();
        println!(
            "{name}: {} sheets, {} bytes, {ms} ms, of which drawn in {drawn_ms} ms",
            pages.count(),
            pdf.len()
        );
        fs::write(folder.join(name).with_extension("pdf"), pdf)?;
        for (at, svg) in pages.svg().iter().enumerate() {
            fs::write(folder.join(format!("{name}-{}.svg", at + 1)), svg)?;
        }
        Ok::<(), Box<dyn std::error::Error>>(())
    };

    let near = "hole@0,0/6.2; hole@92.1,0/6.2; stud:B+@46,31.5/M8; lead:U@18,12; lead:V@46,-9; lead:W@74,12; diode@10,30; plug:D+@80,-10";
    write("outline", &|| outline(&[plate("HV-2103", near)], &setting))?;
    let twin = plate("HV-2104", &near.replace("46,31.5", "47.5,31.5"));
    write("outline-two", &|| outline(&[plate("HV-2103", near), twin.clone()], &setting))?;
    let points: Vec<String> = (0..1000)
        .map(|at| format!("hole@{},{}/2.5", at % 25 * 6, f64::from(at / 25) * 4.5))
        .collect();
    write("outline-thousand", &|| outline(&[plate("HV-9000", &points.join(";"))], &setting))?;
    for sheet in LabelSheet::built_in() {
        let all: Vec<Label> = (0..1000).map(label).collect();
        let name = format!("labels-{}", sheet.key);
        write(&name, &|| labels(&all, &sheet, 0, PrinterScale::default(), setting.day))?;
    }
    Ok(())
}

fn plate(number: &str, layout: &str) -> Piece {
    Piece {
        number: number.to_owned(),
        description: "six diodes, three leads".to_owned(),
        kind: "rectifier plate".to_owned(),
        layout: layout.parse().expect("written above"),
        contour: Some(Contour::Circle { diameter_mm: 112.3, centre_mm: None }),
        face: Some("heat-sink side".to_owned()),
        measures: vec![("outside diameter".to_owned(), "112.3 mm".to_owned())],
        mirror_twin: Some("HV-2105".to_owned()),
        laid: None,
    }
}

fn label(at: usize) -> Label {
    let number = format!("HV-{:05}", 20_000 + at * 37);
    let code = match at % 2 {
        0 => Code::Code128(number.clone()),
        _ => Code::Qr(format!("part:{number}")),
    };
    Label {
        number,
        description: "regulator, 14.5 V, B-circuit, with brush set".to_owned(),
        bin: format!("A-{:02}-{}", at % 40, at % 7),
        code: Some(code),
    }
}
