//! A sheet to draw on: shapes and measured texts as SVG, and the SVG as PNG.
//!
//! Rule: a text is given the room it may take and never takes more.

use super::lettering::Face;
use super::palette::Palette;
use resvg::{tiny_skia, usvg};
use std::fmt::Write as _;

/// Where in its room a text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Left,
    Middle,
    Right,
}

/// What happens to a text that is longer than its room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TooLong {
    /// Names: an ellipsis.
    Cut,
    /// Weights and dates: written smaller, and cut only when that is not enough.
    Smaller,
}

/// One line of text and its room. Lengths in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    pub left: f32,
    pub baseline: f32,
    pub room: f32,
    pub size: f32,
    pub face: Face,
    pub side: Side,
    pub too_long: TooLong,
    pub colour: &'static str,
}

/// A box. Lengths in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    pub left: f32,
    pub top: f32,
    pub width: f32,
    pub height: f32,
}

/// The drawing so far.
pub struct Canvas {
    pub palette: Palette,
    width: u32,
    body: String,
}

impl Canvas {
    /// An empty one.
    pub fn new(width: u32, palette: Palette) -> Canvas {
        Canvas { palette, width, body: String::new() }
    }

    /// Any shape: SVG elements of our own making, without names.
    pub fn shape(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    /// A filled box with round corners.
    pub fn panel(&mut self, frame: Frame, colour: &str) {
        let Frame { left, top, width, height } = frame;
        self.shape(&format!(
            r#"<rect x="{left}" y="{top}" width="{width}" height="{height}" rx="18" fill="{colour}"/>"#
        ));
    }

    /// A straight line of this width from one point to another.
    pub fn stroke(&mut self, from: (f32, f32), to: (f32, f32), pen: (f32, &str)) {
        let ((x1, y1), (x2, y2), (width, colour)) = (from, to, pen);
        self.shape(&format!(
            r#"<line x1="{x1:.1}" y1="{y1:.1}" x2="{x2:.1}" y2="{y2:.1}" stroke="{colour}" stroke-width="{width}"/>"#
        ));
    }

    /// Writes a line; gives where it ends.
    pub fn text(&mut self, text: &str, line: Line) -> f32 {
        let shown = line.face.shown(text);
        let size = match line.too_long {
            TooLong::Cut => line.size,
            TooLong::Smaller => line.face.size_for(&shown, line.size, line.room),
        };
        // A hair of room for the rounding of the size.
        let shown = line.face.cut(&shown, size, line.room + 0.5);
        let width = line.face.width(&shown, size);
        let left = match line.side {
            Side::Left => line.left,
            Side::Middle => line.left + (line.room - width) / 2.0,
            Side::Right => line.left + line.room - width,
        };
        let outline = line.face.outline(&shown);
        if !outline.is_empty() {
            let (scale, baseline, colour) = (line.face.scale(size), line.baseline, line.colour);
            // Named by its words, for who looks for them in the file.
            let words = escaped(&shown);
            self.shape(&format!(
                r#"<g transform="translate({left:.2} {baseline:.2}) scale({scale:.7} -{scale:.7})"><path id="{words}" fill="{colour}" d="{outline}"/></g>"#
            ));
        }
        left + width
    }

    /// The whole as SVG of this height.
    pub fn svg(&self, height: u32) -> String {
        let mut svg = String::new();
        let Palette { ground, panel, band, .. } = self.palette;
        let width = self.width;
        // Writing to a string does not fail.
        let _ = write!(
            svg,
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">
<defs><pattern id="hatch" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="9" height="9" fill="{panel}"/><rect width="3" height="9" fill="{band}"/></pattern></defs>
<rect width="{width}" height="{height}" fill="{ground}"/>
{body}</svg>"#,
            body = self.body
        );
        svg
    }

    /// The whole as PNG of this height.
    pub fn png(&self, height: u32) -> Vec<u8> {
        let tree = tree(&self.svg(height));
        let mut pixels = tiny_skia::Pixmap::new(self.width, height).expect("a picture has pixels");
        resvg::render(&tree, tiny_skia::Transform::identity(), &mut pixels.as_mut());
        pixels.encode_png().expect("pixels in memory can be written as PNG")
    }
}

/// Reads a drawing of ours.
fn tree(svg: &str) -> usvg::Tree {
    usvg::Tree::from_str(svg, &usvg::Options::default()).expect("our own drawing is SVG")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(feature = "checks")]
pub mod checks {
    //! What holds for every drawing, measured by the SVG reader and not by us.

    use super::*;

    /// Left, top, right, bottom of every text: as far to the right as there is ink, as high and low as a line is.
    pub fn text_boxes(svg: &str) -> Vec<(String, usvg::Rect)> {
        let tree = tree(svg);
        let mut boxes = Vec::new();
        collect(tree.root(), &mut boxes);
        boxes
    }

    fn collect(group: &usvg::Group, boxes: &mut Vec<(String, usvg::Rect)>) {
        for node in group.children() {
            match node {
                usvg::Node::Group(group) => collect(group, boxes),
                usvg::Node::Path(path) if !path.id().is_empty() => {
                    let (place, ink) = (path.abs_transform(), path.abs_bounding_box());
                    // Both cuts of the font have the same lines.
                    let shape = Face::Regular.shape();
                    let size = place.sx / Face::Regular.scale(1.0);
                    let (top, bottom) = (place.ty - shape.ascent * size, place.ty - shape.descent * size);
                    let right = ink.right().max(place.tx + 1.0);
                    let line = usvg::Rect::from_ltrb(place.tx.min(ink.left()), top, right, bottom);
                    boxes.push((path.id().to_owned(), line.expect("a text has a size")));
                }
                _ => {}
            }
        }
    }

    /// Every text lies on the sheet and on no other text, no number is missing, and the PNG has the size.
    pub fn sound(canvas: &Canvas, height: u32) {
        let svg = canvas.svg(height);
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "a number is missing");
        let boxes = text_boxes(&svg);
        assert_eq!(boxes.len(), svg.matches("<path id=").count(), "a text was lost");
        let (right, bottom) = (canvas.width as f32, height as f32);
        for (text, place) in &boxes {
            let inside =
                place.left() >= 0.0 && place.top() >= 0.0 && place.right() <= right && place.bottom() <= bottom;
            assert!(inside, "{text:?} at {place:?} leaves the sheet");
        }
        for (index, (text, place)) in boxes.iter().enumerate() {
            for (other, beside) in &boxes[index + 1..] {
                let across = place.left() < beside.right() - 0.5 && beside.left() < place.right() - 0.5;
                let along = place.top() < beside.bottom() - 0.5 && beside.top() < place.bottom() - 0.5;
                assert!(!(across && along), "{text:?} lies on {other:?}");
            }
        }
        let pixels = tiny_skia::Pixmap::decode_png(&canvas.png(height)).expect("a PNG");
        assert_eq!((pixels.width(), pixels.height()), (canvas.width, height));
    }
}
