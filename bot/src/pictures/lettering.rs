//! How wide a text is in the embedded font, and how it is made to stay in its place.
//!
//! The font files carry no kerning and no ligatures, so a text's width is the exact sum of its characters' advances.

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

    fn advance(self, character: char) -> f32 {
        let font = self.font();
        let glyph = font.glyph_index(character).unwrap_or_default();
        f32::from(font.glyph_hor_advance(glyph).unwrap_or_default()) / f32::from(font.units_per_em())
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
