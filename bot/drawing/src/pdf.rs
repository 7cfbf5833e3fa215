//! Set pages as a PDF file (ISO 32000-1) with real text: the letters that are used go along as a subset of the font, and a
//! map back to characters lets readers search and copy.

use super::lettering::Face;
use super::paper::{Mark, Paper};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use std::io::Write as _;
use subsetter::GlyphRemapper;

/// What a character set of glyph numbers is called (ISO 32000-1, 9.7.5.2 and 9.10.3).
const IDENTITY: SystemInfo = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
const RULE_WIDTH: f32 = 0.8;
/// PDF measures glyphs in thousandths of the size.
const PER_SIZE: f32 = 1000.0;

/// The pages of one document.
pub struct Document<'a> {
    pub title: &'a str,
    /// BCP 47.
    pub language: &'a str,
    pub paper: Paper,
    pub pages: &'a [Vec<Mark>],
}

/// One cut of the font as far as the document uses it.
struct Letters {
    face: Face,
    glyphs: GlyphRemapper,
    /// Characters by their glyph in the subset.
    characters: BTreeMap<u16, char>,
}

impl Letters {
    fn new(face: Face) -> Letters {
        Letters { face, glyphs: GlyphRemapper::new(), characters: BTreeMap::new() }
    }

    /// The text as glyphs of the subset, two bytes each.
    fn encoded(&mut self, text: &str) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(text.len() * 2);
        for character in text.chars() {
            let glyph = self.glyphs.remap(self.face.glyph(character));
            self.characters.entry(glyph).or_insert(character);
            bytes.extend(glyph.to_be_bytes());
        }
        bytes
    }
}

/// The numbers of a font's objects.
struct FontRefs {
    font: Ref,
    glyphs: Ref,
    descriptor: Ref,
    file: Ref,
    characters: Ref,
}

impl Document<'_> {
    /// The file.
    pub fn bytes(&self) -> Vec<u8> {
        let mut next = Ref::new(1);
        let (catalog, tree, info) = (next.bump(), next.bump(), next.bump());
        let fonts: [FontRefs; 2] = std::array::from_fn(|_| FontRefs {
            font: next.bump(),
            glyphs: next.bump(),
            descriptor: next.bump(),
            file: next.bump(),
            characters: next.bump(),
        });
        let pages: Vec<(Ref, Ref)> = self.pages.iter().map(|_| (next.bump(), next.bump())).collect();
        let mut letters = [Letters::new(Face::Regular), Letters::new(Face::Bold)];

        let mut pdf = Pdf::new();
        let mut root = pdf.catalog(catalog);
        root.pages(tree).lang(TextStr(self.language));
        root.viewer_preferences().display_doc_title(true);
        root.finish();
        pdf.document_info(info).title(TextStr(self.title));
        let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
        pdf.pages(tree).kids(pages.iter().map(|(page, _)| *page)).count(count);
        let (width, height) = self.paper.size();
        for ((page_ref, content_ref), marks) in pages.into_iter().zip(self.pages) {
            let mut page = pdf.page(page_ref);
            page.parent(tree).media_box(Rect::new(0.0, 0.0, width, height)).contents(content_ref);
            let mut resources = page.resources();
            let mut named = resources.fonts();
            for (refs, letters) in fonts.iter().zip(&letters) {
                named.pair(name(letters.face), refs.font);
            }
            named.finish();
            resources.finish();
            page.finish();
            let content = compressed(&content(marks, height, &mut letters));
            pdf.stream(content_ref, &content).filter(Filter::FlateDecode);
        }
        for (refs, letters) in fonts.iter().zip(&letters) {
            embed(&mut pdf, refs, letters);
        }
        pdf.finish()
    }
}

/// What a page calls the font.
fn name(face: Face) -> Name<'static> {
    match face {
        Face::Regular => Name(b"Regular"),
        Face::Bold => Name(b"Bold"),
    }
}

/// A page's operators. PDF counts heights from the bottom.
fn content(marks: &[Mark], page_height: f32, [regular, bold]: &mut [Letters; 2]) -> Vec<u8> {
    let mut content = Content::new();
    content.set_line_width(RULE_WIDTH);
    for mark in marks {
        match mark {
            Mark::Text { left, baseline, size, face, text } => {
                let letters = if *face == Face::Bold { &mut *bold } else { &mut *regular };
                content.begin_text();
                content.set_font(name(*face), *size).next_line(*left, page_height - baseline);
                content.show(Str(&letters.encoded(text)));
                content.end_text();
            }
            Mark::Rule { left, right, height } => {
                let height = page_height - height;
                content.move_to(*left, height).line_to(*right, height).stroke();
            }
            Mark::Tick { left, top, side } => {
                content.rect(*left, page_height - top - side, *side, *side).stroke();
            }
        }
    }
    content.finish().into_vec()
}

/// The font's objects: a composite font of numbered glyphs, as the subset has no table of characters of its own.
fn embed(pdf: &mut Pdf, refs: &FontRefs, letters: &Letters) {
    // The letters before the sign name the subset (ISO 32000-1, 9.6.4).
    let full_name: &[u8] = match letters.face {
        Face::Regular => b"PINSET+DejaVuSans",
        Face::Bold => b"PINSET+DejaVuSans-Bold",
    };
    let full_name = Name(full_name);
    let mut font = pdf.type0_font(refs.font);
    font.base_font(full_name).encoding_predefined(Name(b"Identity-H"));
    font.descendant_font(refs.glyphs).to_unicode(refs.characters);
    font.finish();

    let shape = letters.face.shape();
    let mut glyphs = pdf.cid_font(refs.glyphs);
    glyphs.subtype(CidFontType::Type2).base_font(full_name).system_info(IDENTITY);
    glyphs.font_descriptor(refs.descriptor).default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    let widths = letters.glyphs.remapped_gids().map(|glyph| letters.face.glyph_advance(glyph) * PER_SIZE);
    glyphs.widths().consecutive(0, widths);
    glyphs.finish();

    let mut descriptor = pdf.font_descriptor(refs.descriptor);
    let [left, bottom, right, top] = shape.bounds.map(|side| side * PER_SIZE);
    descriptor.name(full_name).flags(FontFlags::NON_SYMBOLIC).bbox(Rect::new(left, bottom, right, top));
    descriptor.italic_angle(0.0).ascent(shape.ascent * PER_SIZE).descent(shape.descent * PER_SIZE);
    descriptor.cap_height(shape.capitals * PER_SIZE).stem_v(shape.stem * PER_SIZE).font_file2(refs.file);
    descriptor.finish();

    let file = subsetter::subset(letters.face.file(), 0, &letters.glyphs).expect("the embedded font is whole");
    let length = i32::try_from(file.len()).unwrap_or(i32::MAX);
    let file = compressed(&file);
    let mut stream = pdf.stream(refs.file, &file);
    stream.filter(Filter::FlateDecode).pair(Name(b"Length1"), length);
    stream.finish();

    let mut map = UnicodeCmap::<u16>::new(Name(b"Characters"), IDENTITY);
    for (glyph, character) in &letters.characters {
        map.pair(*glyph, *character);
    }
    let map = compressed(&map.finish().into_vec());
    pdf.stream(refs.characters, &map).filter(Filter::FlateDecode);
}

fn compressed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(bytes).and_then(|()| encoder.finish()).expect("memory takes what is written")
}
