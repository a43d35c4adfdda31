//! How many rows of parts are read a second? `cargo run --release --example speed [ROWS]`

use std::fmt::Write as _;
use std::io::Cursor;
use std::time::Instant;

use binwright_catalog::Kinds;
use binwright_exchange::{Options, Reader};

#[allow(clippy::print_stdout, reason = "it prints what it measured")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let rows: u32 = std::env::args().nth(1).map_or(Ok(1_000_000), |n| n.parse())?;
    let mut text = String::from(
        "number,kind,description,maker,phase_lugs,outline_od,mount_pitch,bplus_thread,handed,height\n",
    );
    for n in 0..rows {
        let (od, pitch) = (f64::from(n % 900) / 10.0 + 60.0, f64::from(n % 700) / 10.0 + 40.0);
        writeln!(
            text,
            "RP-{n:07},rectifier-plate,plate for {n},Orrin,{},{od:.1},{pitch:.1},M8,left,{}",
            n % 6 + 1,
            n % 40 + 10,
        )?;
    }
    let bytes = text.len();
    let kinds = Kinds::builtin()?;
    let begun = Instant::now();
    let reader = Reader::open("p.csv", Cursor::new(text), &Options::default(), &kinds)?;
    let taken = reader.flatten().count();
    let seconds = begun.elapsed().as_secs_f64();
    let each = f64::from(rows) / seconds;
    println!("{taken} of {rows} rows, {bytes} bytes: {seconds:.2} s, {each:.0} rows/s");
    Ok(())
}
