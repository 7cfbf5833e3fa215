//! Printable pages: measured real text, rules and boxes, set from the top down, as PDF.
//!
//! Rule: every page carries the caution at its foot and its number; what does not fit goes on to the next page, never off
//! this one. Lengths are points, 72 to the inch.

use super::lettering::Face;
use super::pdf::Document;
use serde::Deserialize;

/// What is in the printer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Paper {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 millimetres (ISO 216).
    A4,
}

impl Paper {
    /// Width and height in points.
    pub const fn size(self) -> (f32, f32) {
        match self {
            Paper::Letter => (612.0, 792.0),
            Paper::A4 => (595.276, 841.89),
        }
    }
}

/// White around what is printed.
pub const MARGIN: f32 = 50.0;
const CAUTION_SIZE: f32 = 10.0;
const LEADING: f32 = 1.3;

/// Where a line of text starts, the room it has, and its size.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    pub left: f32,
    pub room: f32,
    pub size: f32,
    pub face: Face,
}

/// What stands on a page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Mark {
    Text { left: f32, baseline: f32, size: f32, face: Face, text: String },
    Rule { left: f32, right: f32, height: f32 },
    Tick { left: f32, top: f32, side: f32 },
}

/// Pages being set.
pub struct Pages {
    paper: Paper,
    heading: String,
    caution: Vec<String>,
    pages: Vec<Vec<Mark>>,
    /// The top of what comes next.
    cursor: f32,
}

impl Pages {
    /// The first page, with `heading` as the document's title and on top of every further page, and `caution` at the foot of all.
    pub fn new(paper: Paper, heading: &str, caution: &str) -> Pages {
        let shown = Face::Bold.shown(caution);
        let room = paper.size().0 - 2.0 * MARGIN;
        let caution = Face::Bold.wrapped(&shown, CAUTION_SIZE, room);
        Pages { paper, heading: Face::Regular.shown(heading), caution, pages: vec![Vec::new()], cursor: MARGIN }
    }

    /// Width between the margins.
    pub fn width(&self) -> f32 {
        self.paper.size().0 - 2.0 * MARGIN
    }

    /// A place over the whole width.
    pub fn whole(&self, size: f32, face: Face) -> Place {
        Place { left: MARGIN, room: self.width(), size, face }
    }

    /// Makes sure that so much fits below, on a new page if need be.
    pub fn need(&mut self, height: f32) {
        if self.cursor + height <= self.bottom() || self.cursor <= MARGIN {
            return;
        }
        self.pages.push(Vec::new());
        self.cursor = MARGIN;
        let place = self.whole(10.0, Face::Regular);
        let heading = place.face.cut(&self.heading, place.size, place.room);
        self.line(&heading, place);
        self.skip(8.0);
    }

    /// Leaves white.
    pub fn skip(&mut self, height: f32) {
        self.cursor += height;
    }

    /// Writes a text of at most `lines_max` lines, the last one cut with an ellipsis if there were more.
    pub fn paragraph(&mut self, text: &str, place: Place, lines_max: usize) {
        let shown = place.face.shown(text);
        let mut lines = place.face.wrapped(&shown, place.size, place.room);
        if lines.len() > lines_max {
            let rest = lines.split_off(lines_max - 1).join(" ");
            lines.push(place.face.cut(&rest, place.size, place.room));
        }
        for line in lines {
            self.need(place.size * LEADING);
            self.line(&line, place);
        }
    }

    /// Writes cells side by side on one line: names are cut, and so is anything else that does not fit.
    pub fn row(&mut self, cells: &[(String, Place)]) {
        let height = cells.iter().map(|(_, place)| place.size).fold(0.0, f32::max) * LEADING;
        self.need(height);
        for (text, place) in cells {
            let shown = place.face.shown(text);
            let size = place.face.size_for(&shown, place.size, place.room);
            let text = place.face.cut(&shown, size, place.room + 0.1);
            self.text(&text, Place { size, ..*place });
        }
        self.cursor += height;
    }

    /// A box to tick at the left margin, beside the row that comes next, which is of this size.
    pub fn tick_box(&mut self, size: f32) {
        self.need(size * LEADING);
        self.mark(Mark::Tick { left: MARGIN, top: self.cursor + size * 0.12, side: size * 0.95 });
    }

    /// A thin line across.
    pub fn rule(&mut self) {
        let height = self.cursor;
        self.mark(Mark::Rule { left: MARGIN, right: MARGIN + self.width(), height });
        self.cursor += 5.0;
    }

    /// A line to write on by hand behind the words on the row just written.
    pub fn writing_line(&mut self, left: f32) {
        let height = self.cursor - 2.0;
        self.mark(Mark::Rule { left, right: MARGIN + self.width(), height });
    }

    /// The document, in this language (BCP 47); `label` names a page from its number and how many there are. The same
    /// pages give the same bytes.
    pub fn pdf(mut self, language: &str, label: impl Fn(usize, usize) -> String) -> Vec<u8> {
        self.finish(label);
        Document { title: &self.heading, language, paper: self.paper, pages: &self.pages }.bytes()
    }

    /// Puts the caution and the number on every page.
    fn finish(&mut self, label: impl Fn(usize, usize) -> String) {
        let pages = self.pages.len();
        for page in 0..pages {
            let label = Face::Regular.shown(&label(page + 1, pages));
            let mut baseline = self.bottom() + 14.0;
            let rule = Mark::Rule { left: MARGIN, right: MARGIN + self.width(), height: baseline - 12.0 };
            self.pages[page].push(rule);
            for text in self.caution.clone() {
                self.pages[page].push(Mark::Text {
                    left: MARGIN,
                    baseline,
                    size: CAUTION_SIZE,
                    face: Face::Bold,
                    text,
                });
                baseline += CAUTION_SIZE * LEADING;
            }
            let left = MARGIN + self.width() - Face::Regular.width(&label, CAUTION_SIZE);
            let face = Face::Regular;
            self.pages[page].push(Mark::Text { left, baseline: baseline + 2.0, size: CAUTION_SIZE, face, text: label });
        }
    }

    /// Where the foot begins.
    fn bottom(&self) -> f32 {
        let foot = (self.caution.len() as f32 + 1.0) * CAUTION_SIZE * LEADING + 16.0;
        self.paper.size().1 - MARGIN * 0.8 - foot
    }

    fn line(&mut self, text: &str, place: Place) {
        self.text(text, place);
        self.cursor += place.size * LEADING;
    }

    fn text(&mut self, text: &str, place: Place) {
        let Place { left, size, face, .. } = place;
        let baseline = self.cursor + size;
        self.mark(Mark::Text { left, baseline, size, face, text: text.to_owned() });
    }

    fn mark(&mut self, mark: Mark) {
        self.pages.last_mut().expect("there is a first page").push(mark);
    }
}

#[cfg(feature = "checks")]
pub mod checks {
    //! What holds for every document, read back by another library.

    use super::*;

    /// The text of each page; the paper has its size everywhere.
    pub fn page_texts(pdf: &[u8], paper: Paper) -> Vec<String> {
        let mut document = lopdf::Document::load_mem(pdf).expect("a PDF");
        document.objects.values_mut().for_each(bare_character_map);
        let (width, height) = paper.size();
        let pages = document.get_pages();
        for id in pages.values() {
            let page = document.get_dictionary(*id).expect("a page");
            let media = page.get(b"MediaBox").and_then(|object| object.as_array()).expect("a size");
            let sides: Vec<f32> = media.iter().map(|side| side.as_float().expect("a number")).collect();
            assert!((sides[2] - width).abs() < 0.01 && (sides[3] - height).abs() < 0.01, "{sides:?}");
        }
        pages.keys().map(|number| document.extract_text(&[*number]).expect("real text")).collect()
    }

    /// The reader knows neither comments nor these two entries in a map from glyphs to characters; the rest is left as it is.
    fn bare_character_map(object: &mut lopdf::Object) {
        let Ok(stream) = object.as_stream_mut() else { return };
        let Ok(content) = stream.get_plain_content() else { return };
        let Ok(map) = String::from_utf8(content) else { return };
        if map.contains("begincmap") {
            let strange = |line: &&str| ["%", "/CMapVersion", "/WMode"].iter().any(|start| line.starts_with(start));
            let lines: Vec<&str> = map.lines().filter(|line| !strange(line)).collect();
            stream.set_plain_content(format!("{}\n", lines.join("\n")).into_bytes());
        }
    }

    /// Every mark lies between the margins.
    pub fn inside(pages: &Pages) {
        let (width, height) = pages.paper.size();
        for mark in pages.pages.iter().flatten() {
            let (left, right, bottom) = match mark {
                Mark::Text { left, baseline, size, face, text } => (*left, left + face.width(text, *size), *baseline),
                Mark::Rule { left, right, height } => (*left, *right, *height),
                Mark::Tick { left, top, side } => (*left, left + side, top + side),
            };
            assert!(left >= MARGIN - 0.1 && right <= width - MARGIN + 0.5 && bottom <= height - 20.0, "{mark:?}");
        }
    }
}
