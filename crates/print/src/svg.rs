//! How is a sheet written as SVG? One viewBox unit is one millimetre.

use std::fmt::Write;

use binwright_catalog::shown::shown;

use crate::{
    canvas::{Area, Block, Mark, Pen, Place, Role, Sheet},
    face::Weight,
};

/// Returns `sheet` as one SVG document.
pub(crate) fn write(sheet: &Sheet, title: &str) -> String {
    let [w, h] = sheet.size_mm;
    let [sx, sy] = sheet.scale;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n<g fill=\"none\" stroke=\"none\" \
         font-family=\"'DejaVu Sans Condensed','DejaVu Sans',sans-serif\" \
         transform=\"translate({} {}) scale({sx} {sy}) translate({} {})\">\n",
        escaped(&shown(title)),
        n(w / 2.0),
        n(h / 2.0),
        n(-w / 2.0),
        n(-h / 2.0),
    );
    for (at, block) in sheet.blocks.iter().enumerate() {
        block_to(&mut out, at, block);
    }
    out + "</g>\n</svg>\n"
}

fn block_to(out: &mut String, at: usize, block: &Block) {
    if let Some(clip) = &block.clip {
        let _ = writeln!(out, "<clipPath id=\"c{at}\"><rect {}/></clipPath>", rect(clip));
    }
    out.push_str("<g");
    if block.clip.is_some() {
        let _ = write!(out, " clip-path=\"url(#c{at})\"");
    }
    match &block.role {
        Role::Decoration => out.push_str(" aria-hidden=\"true\">\n"),
        Role::Figure(words) => {
            let _ = writeln!(out, " role=\"img\"><title>{}</title>", escaped(&shown(words)));
        }
        _ => out.push_str(">\n"),
    }
    for mark in &block.marks {
        mark_to(out, mark);
    }
    out.push_str("</g>\n");
}

fn mark_to(out: &mut String, mark: &Mark) {
    let _ = match mark {
        Mark::Lines { lines, pen } => {
            let path = lines.iter().fold(String::new(), |path, [[ax, ay], [bx, by]]| {
                path + &format!("M{} {}L{} {}", n(*ax), n(*ay), n(*bx), n(*by))
            });
            writeln!(out, "<path d=\"{path}\" {}/>", stroke(pen))
        }
        Mark::Circle { centre: [x, y], radius_mm, pen } => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>",
            n(*x),
            n(*y),
            n(*radius_mm),
            stroke(pen)
        ),
        Mark::Frame { area, pen } => writeln!(out, "<rect {} {}/>", rect(area), stroke(pen)),
        Mark::Ink(areas) => {
            let path = areas.iter().fold(String::new(), |path, area| {
                let (w, h) = (n(area.width()), n(area.height()));
                path + &format!("M{} {}h{w}v{h}h-{w}z", n(area.left), n(area.top))
            });
            writeln!(out, "<path d=\"{path}\" fill=\"#000\"/>")
        }
        Mark::Text { at, size_mm, line, upward } => {
            let weight = if line.weight == Weight::Bold { " font-weight=\"bold\"" } else { "" };
            writeln!(
                out,
                "<text {} font-size=\"{}\"{weight} fill=\"#000\" textLength=\"{}\" \
                 lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">{}</text>",
                place(*at, *upward),
                n(*size_mm),
                n(line.width_em * size_mm),
                escaped(line.text.trim_end())
            )
        }
        Mark::Picture { area, picture } => writeln!(
            out,
            "<image {} href=\"data:{};base64,{}\"/>",
            rect(area),
            picture.mime,
            base64(&picture.file)
        ),
    };
}

fn place([x, y]: Place, upward: bool) -> String {
    let turn = if upward {
        format!(" transform=\"rotate(-90 {} {})\"", n(x), n(y))
    } else {
        String::new()
    };
    format!("x=\"{}\" y=\"{}\"{turn}", n(x), n(y))
}

fn rect(area: &Area) -> String {
    let (w, h) = (n(area.width()), n(area.height()));
    format!("x=\"{}\" y=\"{}\" width=\"{w}\" height=\"{h}\"", n(area.left), n(area.top))
}

fn stroke(pen: &Pen) -> String {
    let mut out = format!("stroke=\"#000\" stroke-width=\"{}\"", pen.width_mm);
    if !pen.dash_mm.is_empty() {
        let dashes: Vec<String> = pen.dash_mm.iter().map(f64::to_string).collect();
        let _ = write!(out, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    out
}

/// A length to a ten-thousandth of a millimetre.
fn n(mm: f64) -> f64 {
    (mm * 1e4).round() / 1e4
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c => out.push(c),
        }
    }
    out
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let bits = three.iter().fold(0u32, |bits, byte| bits << 8 | u32::from(*byte))
            << (8 * (3 - three.len()));
        for at in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * at) & 63) as usize];
            out.push(if at > three.len() { '=' } else { char::from(letter) });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    /// RFC 4648, section 10, test vectors.
    #[test]
    fn base64_follows_the_rfc() {
        let rows = [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg==")];
        for (plain, coded) in rows {
            assert_eq!(super::base64(plain.as_bytes()), coded);
        }
    }
}
