//! The year's sheet of what was given: kilograms by food bank and month, meals, and every entry with its worth for whoever
//! advises the family.

use super::printed;
use crate::wording::{Args, DateForm, Voice};
use drawing::lettering::Face;
use drawing::paper::{MARGIN, Pages, Paper, Place};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

const SIZE: f32 = 10.0;

/// One year.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GivenSheet {
    pub farm: String,
    pub year: i32,
    /// Food bank, month in words, weight: in the order they are printed.
    pub months: Vec<(String, String, Grams)>,
    pub total: Grams,
    pub meals: i64,
    pub rows: Vec<GivenRow>,
    /// Sums with their currency; none where a part is not known.
    pub value: Option<String>,
    pub basis: Option<String>,
    pub deduction: Option<String>,
}

/// One entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GivenRow {
    pub day: LocalDate,
    pub partner: String,
    /// In the reader's language.
    pub crop: String,
    /// Negative in a correction.
    pub weight: Grams,
    pub value: String,
    pub basis: String,
    pub is_correction: bool,
}

impl GivenSheet {
    /// The sheet as PDF, for one reader.
    pub fn pdf(&self, paper: Paper, voice: &Voice) -> Vec<u8> {
        printed(self.pages(paper, voice), voice)
    }

    fn pages(&self, paper: Paper, voice: &Voice) -> Pages {
        let none = Args::new();
        let title = voice.plain("sheet-given-title", &Args::new().text("year", self.year.to_string()));
        let mut pages = Pages::new(paper, &title, &voice.plain("sheet-given-caution", &none));
        pages.paragraph(&self.farm, pages.whole(14.0, Face::Regular), 2);
        pages.paragraph(&title, pages.whole(20.0, Face::Bold), 3);
        self.set_months(&mut pages, voice);
        self.set_entries(&mut pages, voice);
        pages.skip(12.0);
        for (text, sum) in [
            (voice.plain("sheet-given-value", &none), &self.value),
            (voice.plain("sheet-given-basis", &none), &self.basis),
            (voice.plain("sheet-given-deduction", &none), &self.deduction),
        ] {
            if let Some(sum) = sum {
                pages.need(40.0);
                pages.paragraph(&format!("{text}: {sum}"), pages.whole(SIZE + 1.0, Face::Bold), 3);
            }
        }
        pages
    }

    fn set_months(&self, pages: &mut Pages, voice: &Voice) {
        pages.skip(12.0);
        pages.need(60.0);
        pages.paragraph(&voice.plain("sheet-given-months", &Args::new()), pages.whole(13.0, Face::Bold), 1);
        pages.rule();
        let total = (voice.plain("sheet-total", &Args::new()), String::new(), self.total);
        for (index, (bank, month, weight)) in self.months.iter().chain([&total]).enumerate() {
            let face = if index == self.months.len() { Face::Bold } else { Face::Regular };
            let cells = [(kilograms(*weight), 0.0, 0.16), (voice.weight(*weight), 0.16, 0.22)];
            set(
                pages,
                face,
                &[cells[0].clone(), cells[1].clone(), (bank.clone(), 0.38, 0.38), (month.clone(), 0.76, 0.24)],
            );
        }
        let meals = voice.plain("sheet-given-meals", &Args::new().count("meals", self.meals));
        pages.paragraph(&meals, pages.whole(SIZE, Face::Regular), 3);
    }

    fn set_entries(&self, pages: &mut Pages, voice: &Voice) {
        pages.skip(12.0);
        pages.need(80.0);
        pages.paragraph(&voice.plain("sheet-given-entries", &Args::new()), pages.whole(13.0, Face::Bold), 1);
        let heading = [
            voice.plain("given-column-day", &Args::new()),
            voice.plain("given-column-bank", &Args::new()),
            voice.plain("given-column-crop", &Args::new()),
            "kg".to_owned(),
            voice.plain("sheet-given-column-value", &Args::new()),
            voice.plain("given-column-basis", &Args::new()),
        ];
        row(pages, Face::Bold, heading);
        pages.rule();
        for entry in &self.rows {
            let crop = if entry.is_correction {
                voice.plain("sheet-given-correction", &Args::new().text("crop", entry.crop.clone()))
            } else {
                entry.crop.clone()
            };
            let day = voice.date(entry.day, DateForm::Short);
            let (value, basis) = (entry.value.clone(), entry.basis.clone());
            row(pages, Face::Regular, [day, entry.partner.clone(), crop, kilograms(entry.weight), value, basis]);
        }
    }
}

fn kilograms(weight: Grams) -> String {
    let (sign, grams) = (if weight < Grams::ZERO { "-" } else { "" }, weight.get().unsigned_abs());
    format!("{sign}{}.{:03} kg", grams / 1000, grams % 1000)
}

/// Day, food bank, crop, kilograms, value, basis.
fn row(pages: &mut Pages, face: Face, [day, bank, crop, weight, value, basis]: [String; 6]) {
    let places = [(0.0, 0.15), (0.15, 0.25), (0.40, 0.20), (0.60, 0.13), (0.73, 0.14), (0.87, 0.13)];
    let cells = [day, bank, crop, weight, value, basis].into_iter().zip(places);
    set(pages, face, &cells.map(|(text, (left, room))| (text, left, room)).collect::<Vec<_>>());
}

/// Cells on one line: the text, where it starts and its room, as shares of the width.
fn set(pages: &mut Pages, face: Face, cells: &[(String, f32, f32)]) {
    let width = pages.width();
    let cells = cells.iter().map(|(text, left, room)| {
        (text.clone(), Place { left: MARGIN + left * width, room: room * width - 6.0, size: SIZE, face })
    });
    pages.row(&cells.collect::<Vec<_>>());
}

#[cfg(test)]
mod tests {
    use super::super::samples::{day, keep, long_name, voices};
    use super::*;
    use drawing::paper::checks::{inside, page_texts};

    fn entry(grams: i64, partner: String) -> GivenRow {
        GivenRow {
            day: day("2026-06-06"),
            partner,
            crop: "oyster".to_owned(),
            weight: Grams::new(grams),
            value: "43.50 USD".to_owned(),
            basis: "12.60 USD".to_owned(),
            is_correction: grams < 0,
        }
    }

    fn year(rows: Vec<GivenRow>) -> GivenSheet {
        let total = rows.iter().map(|row| row.weight).sum();
        GivenSheet {
            farm: "Larkrise Mushrooms".to_owned(),
            year: 2026,
            months: vec![("Merrow Community Pantry".to_owned(), "June 2026".to_owned(), total)],
            total,
            meals: 4,
            rows,
            value: Some("43.50 USD".to_owned()),
            basis: Some("12.60 USD".to_owned()),
            deduction: Some("25.20 USD".to_owned()),
        }
    }

    #[test]
    fn the_year_can_be_read_back_on_both_papers_in_every_language() {
        let pantry = || "Merrow Community Pantry".to_owned();
        let sheet = year(vec![entry(3000, pantry()), entry(-454, pantry())]);
        let words = [["correction", "adviser"], ["corrección", "asesor"], ["korekta", "doradcę"]];
        for (voice, words) in voices().iter().zip(words) {
            for paper in [Paper::Letter, Paper::A4] {
                inside(&sheet.pages(paper, voice));
                let pdf = sheet.pdf(paper, voice);
                keep(&format!("given-{}-{paper:?}.pdf", voice.reader().language), &pdf);
                let pages = page_texts(&pdf, paper);
                assert_eq!(pages.len(), 1);
                for text in
                    words.into_iter().chain(["2026", "3.000 kg", "-0.454 kg", "2.546 kg", "43.50 USD", "25.20 USD"])
                {
                    assert!(pages[0].contains(text), "{text} in {}", pages[0]);
                }
            }
        }
    }

    #[test]
    fn a_long_year_and_an_empty_one_stay_inside() {
        let long = year(vec![entry(i64::MAX / 1000, long_name()); 200]);
        let empty = GivenSheet { value: None, basis: None, deduction: None, months: vec![], ..year(vec![]) };
        for voice in voices() {
            for sheet in [&long, &empty] {
                inside(&sheet.pages(Paper::A4, &voice));
                assert!(!page_texts(&sheet.pdf(Paper::A4, &voice), Paper::A4).is_empty());
            }
        }
    }
}
