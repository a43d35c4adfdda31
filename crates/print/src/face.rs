//! Which glyphs stand for a text, and how wide is it?
//!
//! Text is laid in one open-licence face (`fonts/`), each direction of writing in its own run (UAX 9),
//! glyphs joined as the face says. What would act instead of being seen, and what the face has no
//! glyph for, stands as a visible mark: `<U+202E>`, `<U+1F527>`.

use std::{borrow::Cow, sync::OnceLock};

use krilla::text::{GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face, UnicodeBuffer};
use unicode_bidi::BidiInfo;
use unicode_segmentation::UnicodeSegmentation;

/// Height of a capital by the em: 1493 of 2048 units in the faces' OS/2 table.
pub(crate) const CAPITAL: f64 = 0.729;

/// How heavy the letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Book,
    Bold,
}

impl Weight {
    /// The font file.
    pub(crate) fn file(self) -> &'static [u8] {
        match self {
            Self::Book => include_bytes!("../fonts/DejaVuSansCondensed.ttf"),
            Self::Bold => include_bytes!("../fonts/DejaVuSansCondensed-Bold.ttf"),
        }
    }

    fn face(self) -> &'static Face<'static> {
        static FACES: OnceLock<[Face<'static>; 2]> = OnceLock::new();
        let faces = FACES.get_or_init(|| {
            [Self::Book, Self::Bold]
                .map(|weight| Face::from_slice(weight.file(), 0).expect("our own font file"))
        });
        &faces[self as usize]
    }

    /// Whether `c` has a glyph whose meaning is the same everywhere: those for private use, which the
    /// face has some of, stand for nothing that a search would find.
    fn has(self, c: char) -> bool {
        !('\u{e000}'..='\u{f8ff}').contains(&c) && self.face().glyph_index(c).is_some()
    }
}

/// A stretch of text in one direction, its glyphs from left to right.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    pub(crate) text: String,
    pub(crate) glyphs: Vec<KrillaGlyph>,
    pub(crate) width_em: f64,
}

/// One line of text with its glyphs.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub(crate) text: String,
    pub(crate) weight: Weight,
    pub(crate) runs: Vec<Run>,
    pub(crate) width_em: f64,
}

impl Line {
    /// Lays `text` in `weight`.
    pub(crate) fn new(text: &str, weight: Weight) -> Self {
        let text = printable(text, weight).into_owned();
        let bidi = BidiInfo::new(&text, None);
        let mut runs = Vec::new();
        for paragraph in &bidi.paragraphs {
            let (levels, ranges) = bidi.visual_runs(paragraph, paragraph.range.clone());
            runs.extend(ranges.into_iter().map(|range| {
                let rtl = levels[range.start].is_rtl();
                shape(&text[range], weight, rtl)
            }));
        }
        let width_em = runs.iter().map(|run| run.width_em).sum();
        Self { text, weight, runs, width_em }
    }
}

/// Returns `text` with a mark in place of each character that hides or has no glyph in `weight`.
fn printable(text: &str, weight: Weight) -> Cow<'_, str> {
    let shown = binwright_catalog::shown::shown(text);
    if shown.chars().all(|c| weight.has(c)) {
        return shown;
    }
    let mut line = String::with_capacity(shown.len() + 8);
    for c in shown.chars() {
        match c {
            c if weight.has(c) => line.push(c),
            // The pictures of controls are not in the face: the control is named instead.
            '\u{2400}'..='\u{241f}' => line.push_str(&mark(u32::from(c) - 0x2400)),
            '\u{2421}' => line.push_str(&mark(0x7f)),
            c => line.push_str(&mark(u32::from(c))),
        }
    }
    Cow::Owned(line)
}

fn mark(code: u32) -> String {
    format!("<U+{code:04X}>")
}

fn shape(text: &str, weight: Weight, rtl: bool) -> Run {
    let face = weight.face();
    let em = f64::from(face.units_per_em());
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(if rtl { Direction::RightToLeft } else { Direction::LeftToRight });
    let shaped = rustybuzz::shape(face, &[], buffer);

    let mut starts: Vec<usize> = shaped.glyph_infos().iter().map(|g| g.cluster as usize).collect();
    starts.sort_unstable();
    starts.dedup();
    let mut width_em = 0.0;
    let glyphs = shaped.glyph_infos().iter().zip(shaped.glyph_positions()).map(|(glyph, place)| {
        let start = glyph.cluster as usize;
        let next = starts.partition_point(|&other| other <= start);
        let end = starts.get(next).copied().unwrap_or(text.len());
        let part = |units: i32| (f64::from(units) / em) as f32;
        width_em += f64::from(place.x_advance) / em;
        KrillaGlyph::new(
            GlyphId::new(glyph.glyph_id),
            part(place.x_advance),
            part(place.x_offset),
            part(place.y_offset),
            part(place.y_advance),
            start..end,
            None,
        )
    });
    let glyphs = glyphs.collect();
    Run { text: text.to_owned(), glyphs, width_em }
}

/// Breaks `text` into lines of at most `width_em`: between words, inside a word that is longer than
/// a line. A line that ends between words keeps its space, for who hears the text, outside its width. Past `most` lines the last one ends in `…`.
pub(crate) fn wrap(text: &str, weight: Weight, width_em: f64, most: usize) -> Vec<Line> {
    let text = printable(text, weight);
    let whole = Line::new(&text, weight);
    if whole.width_em <= width_em {
        return vec![whole];
    }
    let width = |text: &str| Line::new(text, weight).width_em;
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let last = lines.last_mut().expect("never empty");
        let longer = if last.is_empty() { word.to_owned() } else { format!("{last} {word}") };
        if width(&longer) <= width_em {
            *last = longer;
            continue;
        }
        if !last.is_empty() {
            last.push(' ');
        }
        let mut rest = String::new();
        for letter in word.graphemes(true) {
            if !rest.is_empty() && width(&format!("{rest}{letter}")) > width_em {
                push(&mut lines, std::mem::take(&mut rest));
            }
            rest.push_str(letter);
        }
        push(&mut lines, rest);
    }
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            *last = shortened(&format!("{}…", last.trim_end()), weight, width_em).text;
        }
    }
    let spaced =
        |line: &String| Line { width_em: width(line.trim_end()), ..Line::new(line, weight) };
    lines.iter().map(spaced).collect()
}

fn push(lines: &mut Vec<String>, line: String) {
    match lines.last_mut() {
        Some(last) if last.is_empty() => *last = line,
        _ => lines.push(line),
    }
}

/// Returns `text` on one line of at most `width_em`, its end cut to `…` where it is longer.
pub(crate) fn shortened(text: &str, weight: Weight, width_em: f64) -> Line {
    let text = printable(text, weight);
    let line = Line::new(&text, weight);
    if line.width_em <= width_em {
        return line;
    }
    let letters: Vec<&str> = text.trim_end_matches('…').graphemes(true).collect();
    (0..letters.len())
        .rev()
        .map(|kept| Line::new(&format!("{}…", letters[..kept].concat().trim_end()), weight))
        .find(|line| line.width_em <= width_em)
        .unwrap_or_else(|| Line::new("…", weight))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Latin, Greek and Cyrillic blocks of Unicode 15 that European text needs; assigned letters only.
    #[test]
    fn the_face_has_latin_greek_and_cyrillic() {
        for weight in [Weight::Book, Weight::Bold] {
            let letters = (' '..='~').chain('¡'..='ž').chain('Α'..='Ρ').chain('Σ'..='ώ');
            for letter in letters.chain('Ѐ'..='ӹ').chain("–—‘’“”„…€°±×Ω″′½".chars())
            {
                if letter != '\u{ad}' {
                    assert!(weight.face().glyph_index(letter).is_some(), "{letter} in {weight:?}");
                }
            }
        }
    }

    #[test]
    fn what_hides_or_has_no_glyph_becomes_a_mark() {
        let text = |text| Line::new(text, Weight::Book).text;
        assert_eq!(text("brush \u{1b}[31m\u{202e}set"), "brush <U+001B>[31m<U+202E>set");
        assert_eq!(text("fitter 👩\u{200d}🔧 語"), "fitter <U+1F469><U+200D><U+1F527> <U+8A9E>");
        assert_eq!(text("Läufer ротор δρομέας"), "Läufer ротор δρομέας");
    }

    #[test]
    fn hebrew_runs_from_right_to_left() {
        let line = Line::new("אבג 12", Weight::Book);
        let first = |run: &Run| run.glyphs[0].text_range.clone();
        assert_eq!(line.runs.len(), 2, "digits stand to the left of the word");
        assert_eq!(line.runs[0].text, "12");
        let word = &line.runs[1];
        assert!(first(word).start > word.glyphs.last().unwrap().text_range.start);
    }

    #[test]
    fn lines_are_no_wider_than_asked_and_nothing_is_lost() {
        let text = "regulator, 14.5 V, B-circuit, ".repeat(7) + &"X".repeat(60);
        let lines = wrap(&text, Weight::Book, 20.0, 99);
        assert!(lines.iter().all(|line| line.width_em <= 20.0));
        let letters = |text: &str| text.replace(' ', "");
        let laid: String = lines.iter().map(|line| line.text.as_str()).collect();
        assert_eq!(letters(&laid), letters(&text));
        assert!(laid.starts_with("regulator, 14.5 V, B-circuit, regulator,"), "{laid}");
        let cut = wrap(&text, Weight::Book, 20.0, 2);
        assert_eq!((cut.len(), cut[1].text.ends_with('…')), (2, true));
    }
}
