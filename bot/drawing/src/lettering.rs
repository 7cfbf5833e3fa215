//! How wide a text is in the embedded font, and how it is made to stay in its place.
//!
//! The font files carry no kerning and no ligatures, so a text's width is the exact sum of its characters' advances.

use std::fmt::Write as _;
use std::sync::LazyLock;
use unicode_normalization::UnicodeNormalization;

/// The least size, as a share of the wished one, at which a text that must not be cut is written.
const SMALLEST_SHARE: f32 = 0.6;
const ELLIPSIS: char = '…';
/// Stands for a letter the font does not have.
const UNKNOWN: char = '□';

/// One of the two embedded cuts of DejaVu Sans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    Regular,
    Bold,
}

static REGULAR: LazyLock<ttf_parser::Face<'static>> = LazyLock::new(|| parsed(Face::Regular));
static BOLD: LazyLock<ttf_parser::Face<'static>> = LazyLock::new(|| parsed(Face::Bold));

fn parsed(face: Face) -> ttf_parser::Face<'static> {
    ttf_parser::Face::parse(face.file(), 0).expect("the embedded font is whole")
}

impl Face {
    /// The font file.
    pub fn file(self) -> &'static [u8] {
        match self {
            Face::Regular => include_bytes!("font/DejaVuSans.ttf"),
            Face::Bold => include_bytes!("font/DejaVuSans-Bold.ttf"),
        }
    }

    fn font(self) -> &'static ttf_parser::Face<'static> {
        match self {
            Face::Regular => &REGULAR,
            Face::Bold => &BOLD,
        }
    }

    /// The glyph of a character; that of no character where the font has none.
    pub(crate) fn glyph(self, character: char) -> u16 {
        self.font().glyph_index(character).unwrap_or_default().0
    }

    /// How far a glyph moves on, as a share of the size.
    pub(crate) fn glyph_advance(self, glyph: u16) -> f32 {
        let font = self.font();
        let advance = font.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or_default();
        f32::from(advance) / f32::from(font.units_per_em())
    }

    fn advance(self, character: char) -> f32 {
        self.glyph_advance(self.glyph(character))
    }

    /// The measures of the whole font.
    pub(crate) fn shape(self) -> Shape {
        let font = self.font();
        let share = |units: i16| f32::from(units) / f32::from(font.units_per_em());
        let bounds = font.global_bounding_box();
        // The letter I is one stroke.
        let letter_i = font.glyph_index('I').and_then(|glyph| font.glyph_bounding_box(glyph));
        let stem = letter_i.map_or(0.1, |stroke| share(stroke.x_max - stroke.x_min));
        Shape {
            ascent: share(font.ascender()),
            descent: share(font.descender()),
            capitals: share(font.capital_height().unwrap_or(font.ascender())),
            stem,
            bounds: [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(share),
        }
    }

    /// The text's outline as the data of an SVG path in the font's own units: the baseline begins at 0, up is more.
    /// Empty where there is nothing to see.
    pub(crate) fn outline(self, text: &str) -> String {
        let font = self.font();
        let mut pen = Pen { path: String::new(), left: 0 };
        for character in text.chars() {
            let glyph = ttf_parser::GlyphId(self.glyph(character));
            // A glyph without an outline, such as a space, only moves on.
            let _ = font.outline_glyph(glyph, &mut pen);
            pen.left += i32::from(font.glyph_hor_advance(glyph).unwrap_or_default());
        }
        pen.path
    }

    /// What to multiply the font's units with for a text of this size.
    pub(crate) fn scale(self, size: f32) -> f32 {
        size / f32::from(self.font().units_per_em())
    }

    /// The width of one line in the unit of `size`.
    pub fn width(self, text: &str, size: f32) -> f32 {
        text.chars().map(|character| self.advance(character)).sum::<f32>() * size
    }

    /// `text` in characters the font has, on one line: composed, white space single, a strange letter as □, strange signs
    /// such as emoji dropped.
    pub fn shown(self, text: &str) -> String {
        let words: Vec<&str> = text.split_whitespace().collect();
        let known = |character: char| match self.font().glyph_index(character) {
            Some(_) => Some(character),
            None => character.is_alphanumeric().then_some(UNKNOWN),
        };
        words.join(" ").nfc().filter_map(known).collect::<String>().trim().to_owned()
    }

    /// `text`, or as much of it as fits in `width` with an ellipsis behind.
    pub fn cut(self, text: &str, size: f32, width: f32) -> String {
        if self.width(text, size) <= width {
            return text.to_owned();
        }
        let mut left = width - self.advance(ELLIPSIS) * size;
        let fits = |character: &char| {
            left -= self.advance(*character) * size;
            left >= 0.0
        };
        let mut kept: String = text.chars().take_while(fits).collect();
        kept.truncate(kept.trim_end().len());
        kept.push(ELLIPSIS);
        kept
    }

    /// The size at which `text` fits in `width`: the wished one or less, but not less than readable.
    pub fn size_for(self, text: &str, size: f32, width: f32) -> f32 {
        let wide = self.width(text, size);
        if wide <= width { size } else { size * (width / wide).max(SMALLEST_SHARE) }
    }

    /// `text` in lines of at most `width`, broken between words, or inside a word longer than a line; never empty.
    pub fn wrapped(self, text: &str, size: f32, width: f32) -> Vec<String> {
        let mut lines = vec![String::new()];
        for word in text.split_whitespace() {
            let line = lines.last_mut().expect("there is a first line");
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(&longer, size) <= width {
                *line = longer;
            } else if line.is_empty() {
                lines.pop();
                lines.extend(self.broken(word, size, width));
            } else {
                lines.extend(self.broken(word, size, width));
            }
        }
        lines
    }

    fn broken(self, word: &str, size: f32, width: f32) -> Vec<String> {
        let mut pieces = vec![String::new()];
        for character in word.chars() {
            let piece = pieces.last_mut().expect("there is a first piece");
            if !piece.is_empty() && self.width(piece, size) + self.advance(character) * size > width {
                pieces.push(character.to_string());
            } else {
                piece.push(character);
            }
        }
        pieces
    }
}

/// Measures of the whole font, as shares of the size.
pub(crate) struct Shape {
    pub ascent: f32,
    /// Below the baseline: less than nothing.
    pub descent: f32,
    /// How high capitals are.
    pub capitals: f32,
    /// How thick upright strokes are.
    pub stem: f32,
    /// Left, bottom, right and top of what every glyph fits in.
    pub bounds: [f32; 4],
}

/// Writes outlines as path data.
struct Pen {
    path: String,
    /// Where the glyph begins.
    left: i32,
}

impl Pen {
    fn step(&mut self, command: char, points: &[(f32, f32)]) {
        self.path.push(command);
        for (x, y) in points {
            // The font's points are whole numbers, and those between two of them halves. Writing to a string does not fail.
            let _ = write!(self.path, "{} {} ", f64::from(*x) + f64::from(self.left), y);
        }
    }
}

impl ttf_parser::OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.step('M', &[(x, y)]);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.step('L', &[(x, y)]);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.step('Q', &[(x1, y1), (x, y)]);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.step('C', &[(x1, y1), (x2, y2), (x, y)]);
    }

    fn close(&mut self) {
        self.path.push('Z');
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Advances of DejaVu Sans 2.37, read with fonttools: "H" 1540, "i" 569, space 651 of 2048; bold "H" 1714.
    #[test]
    fn widths_are_the_fonts_own() {
        assert_eq!(Face::Regular.width("Hi H", 2048.0), 1540.0 + 569.0 + 651.0 + 1540.0);
        assert_eq!(Face::Bold.width("H", 2048.0), 1714.0);
    }

    #[test]
    fn the_font_has_what_the_languages_write() {
        for letter in "áéíóúüñÁÉÍÓÚÜÑ¿¡ąćęłńóśźżĄĆĘŁŃÓŚŹŻ…–°≤≈□".chars() {
            for face in [Face::Regular, Face::Bold] {
                assert!(face.font().glyph_index(letter).is_some(), "{letter} in {face:?}");
            }
        }
    }

    #[test]
    fn strange_signs_are_dropped_and_strange_letters_shown_as_boxes() {
        for (text, expected) in [
            ("  Night \n Heron\t", "Night Heron"),
            ("Copper 🍄 Kettle🔥", "Copper Kettle"),
            ("Cafe\u{301}", "Café"),
            ("麺 bar", "□ bar"),
            ("\u{0}\u{7}", ""),
        ] {
            assert_eq!(Face::Regular.shown(text).split_whitespace().collect::<Vec<_>>().join(" "), expected);
        }
    }

    proptest! {
        #[test]
        fn nothing_is_wider_than_its_place(text in "\\PC{0,80}", width in 60.0f32..400.0) {
            for face in [Face::Regular, Face::Bold] {
                let shown = face.shown(&text);
                let cut = face.cut(&shown, 26.0, width);
                prop_assert!(face.width(&cut, 26.0) <= width + 0.01);
                let lines = face.wrapped(&shown, 26.0, width);
                for line in &lines {
                    prop_assert!(face.width(line, 26.0) <= width + 0.01, "{}", line);
                }
                prop_assert_eq!(lines.concat().replace(' ', ""), shown.replace(' ', ""));
            }
        }
    }
}
