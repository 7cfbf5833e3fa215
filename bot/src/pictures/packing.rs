//! The packing sheet: for each buyer what goes into the crate and from which lot, with a box to tick, and the totals.

use super::printed;
use crate::wording::{Args, DateForm, Voice};
use drawing::lettering::Face;
use drawing::paper::{MARGIN, Pages, Paper, Place};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

const SIZE: f32 = 13.0;

/// One delivery day's crates.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackingSheet {
    pub farm: String,
    pub day: LocalDate,
    /// In the order of the run.
    pub crates: Vec<Crate>,
}

/// What one buyer gets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Crate {
    pub buyer: String,
    /// What the buyer or the family wants remembered.
    pub note: Option<String>,
    pub lines: Vec<CrateLine>,
}

/// One crop of one lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CrateLine {
    /// In the reader's language.
    pub crop: String,
    pub weight: Grams,
    /// What stands on the lot's label; `None` for what no lot on the books can fill.
    pub lot: Option<String>,
}

impl PackingSheet {
    /// The sheet as PDF, for one reader.
    pub fn pdf(&self, paper: Paper, voice: &Voice) -> Vec<u8> {
        printed(self.pages(paper, voice), voice)
    }

    fn pages(&self, paper: Paper, voice: &Voice) -> Pages {
        let none = Args::new();
        let title = voice.plain("sheet-packing-title", &Args::new().date_as("day", self.day, DateForm::WithYear));
        let mut pages = Pages::new(paper, &title, &voice.plain("sheet-cold", &none));
        pages.paragraph(&self.farm, pages.whole(20.0, Face::Bold), 2);
        pages.paragraph(&title, pages.whole(14.0, Face::Regular), 3);
        for packed in &self.crates {
            packed.set(&mut pages, voice);
        }
        pages.skip(16.0);
        if self.crates.is_empty() {
            pages.paragraph(&voice.plain("sheet-packing-nothing", &none), pages.whole(SIZE, Face::Regular), 2);
            return pages;
        }
        pages.need(60.0);
        pages.paragraph(&voice.plain("sheet-packing-totals", &none), pages.whole(14.0, Face::Bold), 1);
        pages.rule();
        for (crop, weight) in self.totals() {
            row(&mut pages, [voice.weight(weight), crop, String::new()], Face::Regular);
        }
        row(&mut pages, [voice.weight(self.total()), voice.plain("sheet-total", &none), String::new()], Face::Bold);
        pages
    }

    /// Each crop once, in the order of its first line.
    fn totals(&self) -> Vec<(String, Grams)> {
        let mut totals: Vec<(String, Grams)> = Vec::new();
        for line in self.crates.iter().flat_map(|packed| &packed.lines) {
            match totals.iter_mut().find(|(crop, _)| *crop == line.crop) {
                Some((_, total)) => *total += line.weight,
                None => totals.push((line.crop.clone(), line.weight)),
            }
        }
        totals
    }

    fn total(&self) -> Grams {
        self.totals().into_iter().map(|(_, weight)| weight).sum()
    }
}

impl Crate {
    fn set(&self, pages: &mut Pages, voice: &Voice) {
        pages.skip(16.0);
        // A buyer's name is not left alone at the foot of a page.
        pages.need(80.0);
        pages.paragraph(&self.buyer, pages.whole(15.0, Face::Bold), 2);
        pages.rule();
        if let Some(note) = &self.note {
            pages.paragraph(note, pages.whole(11.0, Face::Regular), 4);
        }
        for line in &self.lines {
            pages.skip(4.0);
            pages.tick_box(SIZE);
            let lot = match &line.lot {
                Some(lot) => voice.plain("sheet-packing-lot", &Args::new().text("lot", lot.clone())),
                None => voice.plain("sheet-packing-no-lot", &Args::new()),
            };
            row(pages, [voice.weight(line.weight), line.crop.clone(), lot], Face::Regular);
        }
    }
}

/// Weight, crop and lot in their columns.
fn row(pages: &mut Pages, [weight, crop, lot]: [String; 3], face: Face) {
    let after_box = MARGIN + 26.0;
    let rest = pages.width() - 26.0 - 120.0;
    let place = |left, room, face| Place { left, room, size: SIZE, face };
    pages.row(&[
        (weight, place(after_box, 110.0, Face::Bold)),
        (crop, place(after_box + 120.0, rest * 0.55 - 8.0, face)),
        (lot, place(after_box + 120.0 + rest * 0.55, rest * 0.45, face)),
    ]);
}

#[cfg(test)]
mod tests {
    use super::super::samples::{day, keep, long_name, voices};
    use super::*;
    use drawing::paper::checks::{inside, page_texts};

    fn line(crop: &str, grams: i64, lot: &str) -> CrateLine {
        CrateLine { crop: crop.to_owned(), weight: Grams::new(grams), lot: Some(lot.to_owned()) }
    }

    fn thursday() -> PackingSheet {
        PackingSheet {
            farm: "Larkrise Mushrooms".to_owned(),
            day: day("2026-03-05"),
            crates: vec![
                Crate {
                    buyer: "Night Heron Noodle Bar".to_owned(),
                    note: Some("Back door, before ten; small caps.".to_owned()),
                    lines: vec![line("shiitake", 2268, "S-0304"), line("oyster", 1134, "O-0304")],
                },
                Crate {
                    buyer: "Copper Kettle Bistro".to_owned(),
                    note: None,
                    lines: vec![line("shiitake", 4536, "S-0304"), line("shiitake", 907, "S-0302")],
                },
                Crate { buyer: "Saltmarsh Bakery".to_owned(), note: None, lines: vec![line("oyster", 1361, "O-0304")] },
            ],
        }
    }

    #[test]
    fn the_sheet_can_be_read_back_on_both_papers_in_every_language() {
        for voice in voices() {
            for paper in [Paper::Letter, Paper::A4] {
                inside(&thursday().pages(paper, &voice));
                let pdf = thursday().pdf(paper, &voice);
                assert_eq!(pdf, thursday().pdf(paper, &voice));
                keep(&format!("packing-{}-{paper:?}.pdf", voice.reader().language), &pdf);
                let pages = page_texts(&pdf, paper);
                assert_eq!(pages.len(), 1);
                for text in ["Larkrise Mushrooms", "Copper Kettle Bistro", "S-0302", "5 °C (41 °F)", "2026"] {
                    assert!(pages[0].contains(text), "{text} in {}", pages[0]);
                }
                // 7,711 g shiitake, 2,495 g oyster, 10,206 g together; 1 lb = 453.59237 g (NIST SP 811, appendix B).
                let totals = match paper {
                    _ if voice.reader().language.tag() == "pl" => ["7,711 kg", "2,495 kg", "10,206 kg"],
                    _ => ["17 lb", "5 lb 8 oz", "22 lb 8 oz"],
                };
                for total in totals {
                    assert!(pages[0].contains(total), "{total} in {}", pages[0]);
                }
            }
        }
    }

    #[test]
    fn many_and_long_lines_go_on_to_further_pages() {
        let [_, spanish, _] = voices();
        let packed = Crate {
            buyer: long_name(),
            note: Some(long_name()),
            lines: vec![line(&long_name(), i64::MAX / 1000, &long_name()); 9],
        };
        let sheet = PackingSheet { farm: long_name(), day: day("2026-12-31"), crates: vec![packed; 12] };
        inside(&sheet.pages(Paper::Letter, &spanish));
        let pdf = sheet.pdf(Paper::Letter, &spanish);
        let pages = page_texts(&pdf, Paper::Letter);
        assert!(pages.len() > 3);
        for (index, page) in pages.iter().enumerate() {
            assert!(page.contains(&format!("Página {} de {}", index + 1, pages.len())), "{page}");
            assert!(page.contains("41 °F"), "the caution is on every page");
        }
        keep("packing-long.pdf", &pdf);
        let empty = PackingSheet { farm: String::new(), day: day("2026-12-31"), crates: vec![] };
        assert!(page_texts(&empty.pdf(Paper::A4, &spanish), Paper::A4)[0].contains("nada que empacar"));
    }
}
