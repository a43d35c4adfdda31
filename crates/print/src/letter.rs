//! In whose name does a document go out? Name, address, logo and small print of the shop.

use std::sync::Arc;

use crate::{
    PrintError, Setting,
    canvas::{Area, Mark, Picture, Role},
    flow::{Flow, SMALL_MM, TEXT_MM},
};

const LOGO_MM: [f64; 2] = [50.0, 18.0];
const LOGO_DOTS_MOST: u32 = 4000;

/// What a shop puts on its documents; from its settings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Letterhead {
    /// The shop's name.
    pub name: String,
    /// Its address, telephone, tax number: one line each.
    pub address: Vec<String>,
    /// Its picture.
    pub logo: Option<Logo>,
    /// What stands under every document that goes to somebody else, one paragraph each.
    pub small_print: Vec<String>,
}

/// A shop's picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Logo(Picture);

impl Logo {
    /// Reads a PNG or JPEG file.
    ///
    /// # Errors
    ///
    /// [`PrintError::BadLogo`] when it is neither, or larger than is sensible.
    pub fn read(file: Vec<u8>) -> Result<Self, PrintError> {
        let bad = |reason: &str| PrintError::BadLogo { reason: reason.to_owned() };
        let file = Arc::new(file);
        let (mime, image) = if file.starts_with(b"\x89PNG\r\n\x1a\n") {
            ("image/png", krilla::image::Image::from_png(file.clone().into(), false))
        } else if file.starts_with(&[0xff, 0xd8, 0xff]) {
            ("image/jpeg", krilla::image::Image::from_jpeg(file.clone().into(), false))
        } else {
            return Err(bad("it is neither PNG nor JPEG"));
        };
        let image = image.map_err(|_| bad("the file is damaged"))?;
        let (width, height) = image.size();
        if width == 0 || height == 0 || width.max(height) > LOGO_DOTS_MOST {
            return Err(bad(&format!("it has {width} × {height} dots")));
        }
        Ok(Self(Picture { image, mime, file }))
    }
}

/// Starts a document: the letterhead, then `title` and a line for each of `about` that says something.
pub(crate) fn start(setting: &Setting, title: &str, about: &[(&str, &str)]) -> Flow {
    let shop = &setting.shop;
    let mut flow = Flow::new(setting.paper.size_mm(), setting.scale.factors());
    let top = flow.room.top;
    if let Some(Logo(picture)) = &shop.logo {
        let (width, height) = picture.image.size();
        let [width, height] = [f64::from(width), f64::from(height)];
        let scale = (LOGO_MM[0] / width).min(LOGO_MM[1] / height);
        let left = flow.room.right - width * scale;
        let area = Area::new(left, top, width * scale, height * scale);
        let block = flow.sheet().block(Role::Figure(format!("Logo of {}", shop.name)));
        block.marks.push(Mark::Picture { area, picture: picture.clone() });
        flow.room.right -= LOGO_MM[0] + 4.0; // the address keeps off it
    }
    if !shop.name.trim().is_empty() {
        flow.strong(&shop.name, 4.5);
    }
    for line in &shop.address {
        flow.paragraph(line, SMALL_MM);
    }
    if let Some(Logo(_)) = &shop.logo {
        flow.room.right += LOGO_MM[0] + 4.0;
        flow.room.top = flow.room.top.max(top + LOGO_MM[1]);
    }
    flow.gap(4.0);
    flow.heading(title, 5.5);
    for (what, text) in about.iter().filter(|(_, text)| !text.trim().is_empty()) {
        flow.paragraph(&format!("{what}: {text}"), TEXT_MM);
    }
    flow.gap(2.0);
    flow
}

/// Ends a document that goes to somebody else: the shop's small print.
pub(crate) fn small_print(flow: &mut Flow, setting: &Setting) {
    flow.gap(4.0);
    for paragraph in &setting.shop.small_print {
        flow.paragraph(paragraph, SMALL_MM);
    }
}

/// Room for a hand: a rule with `words` under it.
pub(crate) fn signature(flow: &mut Flow, words: &str) {
    flow.keep(22.0);
    flow.gap(14.0);
    let [left, top] = [flow.room.left, flow.room.top];
    let rule = flow.sheet().block(Role::Decoration);
    rule.line([left, top], [left + 80.0, top], crate::canvas::Pen::THIN);
    flow.paragraph(words, SMALL_MM);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_picture_is_refused() {
        let refused = |file: &[u8]| Logo::read(file.to_vec()).unwrap_err().to_string();
        assert_eq!(refused(b"<svg/>"), "the logo cannot be used: it is neither PNG nor JPEG");
        let cut = refused(b"\x89PNG\r\n\x1a\n\0\0");
        assert_eq!(cut, "the logo cannot be used: the file is damaged");
    }
}
