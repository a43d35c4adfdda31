//! How are sheets written as PDF? Through krilla, tagged and checked against PDF/UA-1 and PDF/A-2a.

use std::num::NonZeroU16;

use binwright_catalog::shown::shown;
use krilla::{
    Document, SerializeSettings,
    color::luma,
    configure::{Accessibility, Archival, ConfigurationBuilder, ValidationError},
    destination::XyzDestination,
    error::KrillaError,
    geom::{Path, PathBuilder, Point, Rect, Size, Transform},
    metadata::{DateTime, Metadata},
    outline::{Outline, OutlineNode},
    page::PageSettings,
    paint::{Fill, FillRule, Stroke, StrokeDash},
    surface::Surface,
    tagging::{
        Artifact, ArtifactType, ContentTag, Identifier, Node, TableHeaderScope, Tag, TagGroup,
        TagTree,
    },
    text::Font,
};

use crate::{
    Pages, PrintError,
    canvas::{Area, Block, Mark, Pen, Place, Role, Sheet},
    face::Weight,
    paper::PT_PER_MM,
    unscaled,
};

/// Returns `pages` as a PDF.
pub(crate) fn write(pages: &Pages) -> Result<Vec<u8>, PrintError> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .expect("both standards build on PDF 1.7");
    let settings = SerializeSettings { configuration, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    let fonts = [Weight::Book, Weight::Bold]
        .map(|weight| Font::new(weight.file().into(), 0).expect("our own font file"));

    let mut tree = Tree::default();
    for sheet in &pages.sheets {
        let [w, h] = sheet.size_mm.map(pt);
        let size = PageSettings::from_wh(w, h).expect("papers have a size");
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        surface.push_transform(&correction(sheet));
        for block in &sheet.blocks {
            let tag = match block.role {
                Role::Decoration => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                _ => ContentTag::Other,
            };
            let id = surface.start_tagged(tag);
            draw(&mut surface, block, &fonts);
            surface.end_tagged();
            tree.push(&block.role, id);
        }
        surface.pop();
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tree.finish());
    let mut outline = Outline::new();
    let start = XyzDestination::new(0, Point::from_xy(0.0, 0.0));
    outline.push_child(OutlineNode::new(said(&pages.title), start));
    document.set_outline(outline);
    let day = pages.day;
    let day = DateTime::new(day.year().unsigned_abs())
        .month(day.month().unsigned_abs())
        .day(day.day().unsigned_abs());
    document.set_metadata(
        Metadata::new()
            .title(said(&pages.title))
            .language("en".to_owned())
            .creator("Binwright".to_owned())
            .creation_date(day),
    );
    let bytes = document.finish().map_err(told)?;
    unscaled::ask(bytes).ok_or_else(|| refused(&"its catalog was not found"))
}

fn refused(reason: &dyn std::fmt::Display) -> PrintError {
    PrintError::Refused { reason: reason.to_string() }
}

/// What the writer found, in our words where the shop can mend it.
fn told(error: KrillaError) -> PrintError {
    let logo = |reason: &str| PrintError::BadLogo { reason: reason.to_owned() };
    let cmyk = |found: &[(ValidationError, _)]| {
        found.iter().any(|(error, _)| *error == ValidationError::MissingCMYKProfile)
    };
    match error {
        KrillaError::Image(..) => logo("the file is damaged"),
        KrillaError::Validation(found) if cmyk(&found) => logo("its colours are CMYK, not RGB"),
        other => refused(&other),
    }
}

fn said(words: &str) -> String {
    shown(words).into_owned()
}

fn pt(mm: f64) -> f32 {
    (mm * PT_PER_MM) as f32
}

fn point([x, y]: Place) -> Point {
    Point::from_xy(pt(x), pt(y))
}

fn correction(sheet: &Sheet) -> Transform {
    let [[w, h], [sx, sy]] = [sheet.size_mm, sheet.scale];
    let shift = |size: f64, scale: f64| pt(size / 2.0 * (1.0 - scale));
    Transform::from_row(sx as f32, 0.0, 0.0, sy as f32, shift(w, sx), shift(h, sy))
}

fn draw(surface: &mut Surface<'_>, block: &Block, fonts: &[Font; 2]) {
    let clip = block.clip.as_ref().and_then(|clip| areas(std::slice::from_ref(clip)));
    if let Some(path) = &clip {
        surface.push_clip_path(path, &FillRule::NonZero);
    }
    for mark in &block.marks {
        draw_mark(surface, mark, fonts);
    }
    if clip.is_some() {
        surface.pop();
    }
}

fn draw_mark(surface: &mut Surface<'_>, mark: &Mark, fonts: &[Font; 2]) {
    match mark {
        Mark::Lines { lines: all, pen } => stroke(surface, lines(all), pen),
        Mark::Circle { centre, radius_mm, pen } => {
            stroke(surface, circle(*centre, *radius_mm), pen);
        }
        Mark::Frame { area, pen } => stroke(surface, areas(std::slice::from_ref(area)), pen),
        Mark::Ink(inked) => {
            surface.set_stroke(None);
            surface.set_fill(Some(ink()));
            if let Some(path) = areas(inked) {
                surface.draw_path(&path);
            }
        }
        Mark::Text { at, size_mm, line, upward } => {
            surface.set_stroke(None);
            surface.set_fill(Some(ink()));
            if *upward {
                surface.push_transform(&Transform::from_rotate_at(-90.0, pt(at[0]), pt(at[1])));
            }
            let mut x = at[0];
            for run in &line.runs {
                let font = fonts[line.weight as usize].clone();
                surface.draw_glyphs(
                    point([x, at[1]]),
                    &run.glyphs,
                    font,
                    &run.text,
                    pt(*size_mm),
                    false,
                );
                x += run.width_em * size_mm;
            }
            if *upward {
                surface.pop();
            }
        }
        Mark::Picture { area, picture } => {
            let Some(size) = Size::from_wh(pt(area.width()), pt(area.height())) else { return };
            surface.push_transform(&Transform::from_translate(pt(area.left), pt(area.top)));
            surface.draw_image(picture.image.clone(), size);
            surface.pop();
        }
    }
}

fn ink() -> Fill {
    Fill { paint: luma::Color::new(0).into(), ..Fill::default() }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, pen: &Pen) {
    let Some(path) = path else { return };
    let dash = (!pen.dash_mm.is_empty())
        .then(|| StrokeDash { array: pen.dash_mm.iter().map(|mm| pt(*mm)).collect(), offset: 0.0 });
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint: luma::Color::new(0).into(),
        width: pt(pen.width_mm),
        dash,
        ..Stroke::default()
    }));
    surface.draw_path(&path);
}

fn lines(lines: &[[Place; 2]]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for [from, to] in lines {
        path.move_to(pt(from[0]), pt(from[1]));
        path.line_to(pt(to[0]), pt(to[1]));
    }
    path.finish()
}

fn areas(areas: &[Area]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for area in areas {
        let [left, top, right, bottom] = [area.left, area.top, area.right, area.bottom].map(pt);
        if let Some(rect) = Rect::from_ltrb(left, top, right, bottom) {
            path.push_rect(rect);
        }
    }
    path.finish()
}

/// Four cubic curves, each at most 0.03 % of the radius off: 0.02 mm on a plate of 120 mm.
fn circle([x, y]: Place, r: f64) -> Option<Path> {
    const ARM: f64 = 0.552_284_749_8; // 4/3 (√2 − 1)
    let mut path = PathBuilder::new();
    path.move_to(pt(x + r), pt(y));
    for [ax, ay] in [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0f64]] {
        let [bx, by] = [-ay, ax]; // a quarter turn on
        let at = |u: f64, v: f64| (pt(x + r * (ax * u + bx * v)), pt(y + r * (ay * u + by * v)));
        let ((cx, cy), (dx, dy), (ex, ey)) = (at(1.0, ARM), at(ARM, 1.0), at(0.0, 1.0));
        path.cubic_to(cx, cy, dx, dy, ex, ey);
    }
    path.close();
    path.finish()
}

/// The document's structure as it grows: cells gather in rows, rows in tables.
#[derive(Default)]
struct Tree {
    tree: TagTree,
    table: Option<Table>,
}

struct Table {
    number: usize,
    row: usize,
    rows: Vec<TagGroup>,
}

impl Tree {
    fn push(&mut self, role: &Role, id: Identifier) {
        let mut group = match role {
            Role::Decoration => return,
            Role::Heading(words) => TagGroup::new(Tag::Hn(NonZeroU16::MIN, Some(said(words)))),
            Role::Paragraph => TagGroup::new(Tag::P),
            Role::Figure(words) => TagGroup::new(Tag::Figure(Some(said(words)))),
            Role::Cell { head: true, .. } => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
            Role::Cell { .. } => TagGroup::new(Tag::TD),
        };
        group.push(id);
        let Role::Cell { table: number, row, .. } = *role else {
            self.end_table();
            return self.tree.push(group);
        };
        if self.table.as_ref().is_none_or(|table| table.number != number) {
            self.end_table();
        }
        let table =
            self.table.get_or_insert_with(|| Table { number, row: usize::MAX, rows: vec![] });
        if table.row != row {
            table.row = row;
            table.rows.push(TagGroup::new(Tag::TR));
        }
        if let Some(last) = table.rows.last_mut() {
            last.push(group);
        }
    }

    fn end_table(&mut self) {
        if let Some(table) = self.table.take() {
            let rows = table.rows.into_iter().map(Node::from).collect();
            self.tree.push(TagGroup::with_children(Tag::Table, rows));
        }
    }

    fn finish(mut self) -> TagTree {
        self.end_table();
        self.tree
    }
}
