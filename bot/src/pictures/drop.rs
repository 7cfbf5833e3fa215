//! The drop sheet that travels with a gift to a food bank: where and when, what is brought, and lines to fill in at the door.

use super::printed;
use crate::wording::{Args, DateForm, Voice};
use chrono::NaiveTime;
use drawing::lettering::Face;
use drawing::paper::{MARGIN, Pages, Paper, Place};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

const SIZE: f32 = 13.0;

/// One drop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DropSheet {
    pub farm: String,
    pub partner: String,
    pub address: String,
    pub day: LocalDate,
    /// When the partner takes it, wall time in the farm's zone.
    pub window: (NaiveTime, NaiveTime),
    /// Crops in the reader's language, and weights.
    pub goods: Vec<(String, Grams)>,
}

impl DropSheet {
    /// The sheet as PDF, for one reader.
    pub fn pdf(&self, paper: Paper, voice: &Voice) -> Vec<u8> {
        printed(self.pages(paper, voice), voice)
    }

    fn pages(&self, paper: Paper, voice: &Voice) -> Pages {
        let none = Args::new();
        let title = voice.plain("sheet-drop-title", &Args::new().text("partner", self.partner.clone()));
        let caution = [
            voice.plain("sheet-cold", &none),
            voice.plain("sheet-cultivated", &none),
            voice.plain("sheet-advice", &none),
        ]
        .join(" ");
        let mut pages = Pages::new(paper, &title, &caution);
        pages.paragraph(&self.farm, pages.whole(14.0, Face::Regular), 2);
        pages.paragraph(&title, pages.whole(20.0, Face::Bold), 3);
        pages.skip(10.0);
        let (from, until) = self.window;
        let times = Args::new().wall_time("from", from).wall_time("until", until);
        for (label, text) in [
            (voice.plain("sheet-drop-partner", &none), self.partner.clone()),
            (voice.plain("sheet-drop-address", &none), self.address.clone()),
            (voice.plain("sheet-drop-day", &none), voice.date(self.day, DateForm::WithYear)),
            (voice.plain("sheet-drop-window", &none), voice.plain("sheet-drop-window-times", &times)),
        ] {
            field(&mut pages, &label, &text);
        }
        self.set_goods(&mut pages, voice);
        pages.skip(14.0);
        for label in [
            voice.plain("sheet-drop-weight", &none),
            voice.plain("sheet-drop-temperature", &none),
            voice.plain("sheet-drop-receiver", &none),
            voice.plain("sheet-drop-signature", &none),
            voice.plain("sheet-drop-time", &none),
        ] {
            pages.need(40.0);
            pages.skip(18.0);
            let place = Place { room: 200.0, ..pages.whole(SIZE, Face::Regular) };
            pages.row(&[(label, place)]);
            pages.writing_line(MARGIN + 210.0);
        }
        pages
    }

    fn set_goods(&self, pages: &mut Pages, voice: &Voice) {
        pages.skip(16.0);
        pages.need(60.0);
        pages.paragraph(&voice.plain("sheet-drop-goods", &Args::new()), pages.whole(14.0, Face::Bold), 1);
        pages.rule();
        let total: Grams = self.goods.iter().map(|(_, weight)| *weight).sum();
        let total = (voice.plain("sheet-total", &Args::new()), total);
        for (index, (name, weight)) in self.goods.iter().chain([&total]).enumerate() {
            let face = if index == self.goods.len() { Face::Bold } else { Face::Regular };
            let left = MARGIN + 130.0;
            pages.row(&[
                (voice.weight(*weight), Place { room: 120.0, ..pages.whole(SIZE, Face::Bold) }),
                (name.clone(), Place { left, room: pages.width() - 130.0, size: SIZE, face }),
            ]);
        }
    }
}

/// A label and, beside it or below it when it is long, what it stands for.
fn field(pages: &mut Pages, label: &str, text: &str) {
    pages.skip(4.0);
    pages.row(&[(label.to_owned(), Place { room: pages.width(), ..pages.whole(10.0, Face::Regular) })]);
    pages.paragraph(text, pages.whole(SIZE, Face::Bold), 4);
}

#[cfg(test)]
mod tests {
    use super::super::samples::{day, keep, long_name, voices};
    use super::*;
    use drawing::paper::checks::{inside, page_texts};

    fn friday() -> DropSheet {
        let time = |hour, minute| NaiveTime::from_hms_opt(hour, minute, 0).expect("a time");
        DropSheet {
            farm: "Larkrise Mushrooms".to_owned(),
            partner: "Merrow Community Pantry".to_owned(),
            address: "12 Quay Street, Port Merrow (side door)".to_owned(),
            day: day("2026-03-06"),
            window: (time(14, 0), time(16, 30)),
            goods: vec![("shiitake".to_owned(), Grams::new(2268)), ("oyster".to_owned(), Grams::new(2041))],
        }
    }

    #[test]
    fn the_sheet_can_be_read_back_on_both_papers_in_every_language() {
        let words = [["Signature", "4:30 PM"], ["Firma", "4:30 p.m."], ["Podpis", "16:30"]];
        for (voice, words) in voices().iter().zip(words) {
            for paper in [Paper::Letter, Paper::A4] {
                inside(&friday().pages(paper, voice));
                let pdf = friday().pdf(paper, voice);
                keep(&format!("drop-{}-{paper:?}.pdf", voice.reader().language), &pdf);
                let pages = page_texts(&pdf, paper);
                assert_eq!(pages.len(), 1);
                for text in words.into_iter().chain(["12 Quay Street, Port Merrow", "5 °C (41 °F)", "shiitake"]) {
                    assert!(pages[0].contains(text), "{text} in {}", pages[0]);
                }
            }
        }
    }

    #[test]
    fn long_names_and_nothing_at_all_stay_inside() {
        let long = DropSheet {
            farm: long_name(),
            partner: long_name(),
            address: long_name(),
            goods: vec![(long_name(), Grams::new(i64::MAX)); 60],
            ..friday()
        };
        let empty = DropSheet {
            farm: String::new(),
            partner: String::new(),
            address: String::new(),
            goods: vec![],
            ..friday()
        };
        for voice in voices() {
            for sheet in [&long, &empty] {
                inside(&sheet.pages(Paper::A4, &voice));
                assert!(!page_texts(&sheet.pdf(Paper::A4, &voice), Paper::A4).is_empty());
            }
        }
    }
}
