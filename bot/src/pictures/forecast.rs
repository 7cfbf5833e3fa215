//! The forecast picture: for each crop, what the coming delivery days will probably bring, beside what is asked and what
//! is promised.
//!
//! Band: eighty of a hundred cases (P10 to P90), hatched; tick: the median; triangle: asked; diamond: promised; an
//! exclamation mark beside the day: more is asked than the median, so more likely short than not.

use super::Picture;
use super::board::{self, HEADER, WIDTH};
use super::caption::{caption, clipped};
use super::scale::{Scale, about};
use crate::wording::{Args, DateForm, Voice, key};
use drawing::canvas::{Canvas, Line, Side, TooLong};
use drawing::lettering::Face;
use drawing::palette::Theme;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

/// Crops that get a panel; more are told in a line below.
const CROPS_MAX: usize = 8;
/// Delivery days of one crop that are drawn.
const DAYS_MAX: usize = 4;

const INNER: f32 = 50.0;
const INNER_WIDTH: f32 = WIDTH as f32 - 2.0 * INNER;
const PANEL_HEAD: f32 = 92.0;
const ROW: f32 = 100.0;
const AXIS: f32 = 44.0;
const GAP: f32 = 16.0;
const LEGEND: f32 = 150.0;

/// What the picture shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ForecastPicture {
    pub farm: String,
    pub crops: Vec<CropRow>,
}

/// One crop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CropRow {
    /// In the reader's language.
    pub name: String,
    /// The coming delivery days, soonest first; the first four are drawn.
    pub days: Vec<DayBand>,
}

/// One crop on one delivery day. Weights below nothing count as nothing, and quantiles in the wrong order are put in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayBand {
    pub day: LocalDate,
    pub p10: Grams,
    pub p50: Grams,
    pub p90: Grams,
    pub asked: Grams,
    pub promised: Grams,
}

impl ForecastPicture {
    /// The picture and the same in words, for one reader.
    pub fn draw(&self, voice: &Voice, theme: Theme) -> Picture {
        let (canvas, height) = self.canvas(voice, theme);
        Picture { png: canvas.png(height), caption: self.caption(voice) }
    }

    fn canvas(&self, voice: &Voice, theme: Theme) -> (Canvas, u32) {
        let none = Args::new();
        let title = voice.plain("picture-forecast-title", &none);
        let mut canvas = board::begun(theme, INNER, (&self.farm, &title));
        let palette = canvas.palette;
        let mut top = HEADER;
        for crop in self.crops.iter().take(CROPS_MAX) {
            top += draw_crop(&mut canvas, crop, top, voice) + GAP;
        }
        let left_out = self.crops.len().saturating_sub(CROPS_MAX);
        let remark = match (self.crops.is_empty(), left_out) {
            (true, _) => Some(voice.plain("picture-forecast-nothing", &none)),
            (_, 0) => None,
            (_, more) => Some(voice.plain("picture-forecast-more-crops", &Args::new().count("number", signed(more)))),
        };
        if let Some(remark) = remark {
            canvas.text(&remark, Line { size: 29.0, ..wide(top + 34.0, palette.ink) });
            top += 56.0;
        }
        draw_legend(&mut canvas, top, voice);
        (canvas, (top + LEGEND) as u32)
    }

    fn caption(&self, voice: &Voice) -> String {
        let head = voice.say("picture-forecast-caption", &Args::new().text("farm", clipped(&self.farm)));
        if self.crops.is_empty() {
            return format!("{head}\n{}", voice.say("picture-forecast-nothing", &Args::new()));
        }
        let end = voice.say("picture-forecast-caption-more", &Args::new());
        caption(head, self.crops.iter().map(|crop| crop.words(voice)), &end)
    }
}

impl CropRow {
    fn words(&self, voice: &Voice) -> String {
        let name = voice.say("picture-forecast-caption-crop", &Args::new().text("crop", clipped(&self.name)));
        let days = self.days.iter().take(DAYS_MAX).map(|day| {
            let day = day.in_order();
            let args = Args::new()
                .date_as("day", day.day, DateForm::Short)
                .text("range", day.range(voice))
                .weight("asked", day.asked)
                .weight("promised", day.promised);
            let line = if day.is_probably_short() {
                key("picture-forecast-caption-short")
            } else {
                key("picture-forecast-caption-day")
            };
            voice.say(line, &args)
        });
        let lines: Vec<String> = std::iter::once(name).chain(days).collect();
        lines.join("\n")
    }
}

impl DayBand {
    fn in_order(self) -> DayBand {
        let positive = |weight: Grams| weight.less(Grams::ZERO);
        let mut quantiles = [self.p10, self.p50, self.p90].map(positive);
        quantiles.sort_unstable();
        let [p10, p50, p90] = quantiles;
        DayBand { day: self.day, p10, p50, p90, asked: positive(self.asked), promised: positive(self.promised) }
    }

    /// From P10 to P90, no more exact than a forecast is.
    fn range(self, voice: &Voice) -> String {
        let units = voice.reader().units;
        let (low, high) = (voice.weight(about(self.p10, units)), voice.weight(about(self.p90, units)));
        match low == high {
            true => low,
            false => voice.plain("picture-forecast-range", &Args::new().text("low", low).text("high", high)),
        }
    }

    fn is_probably_short(self) -> bool {
        self.asked > self.p50
    }
}

/// Draws one crop's panel; gives its height.
fn draw_crop(canvas: &mut Canvas, crop: &CropRow, top: f32, voice: &Voice) -> f32 {
    let days: Vec<DayBand> = crop.days.iter().take(DAYS_MAX).map(|day| day.in_order()).collect();
    let rows = days.len().max(1) as f32 * ROW;
    let height = PANEL_HEAD + rows + if days.is_empty() { 0.0 } else { AXIS };
    let palette = canvas.palette;
    board::panel(canvas, top, height);
    canvas.text(&crop.name, Line { size: 35.0, face: Face::Bold, ..wide(top + 46.0, palette.ink) });
    let first = top + PANEL_HEAD;
    if days.is_empty() {
        let nothing = voice.plain("picture-forecast-nothing", &Args::new());
        canvas.text(&nothing, Line { size: 27.0, ..wide(first + 34.0, palette.faint) });
        return height;
    }
    for (column, word) in [
        (ASKED, voice.plain("picture-forecast-asked", &Args::new())),
        (PROMISED, voice.plain("picture-forecast-promised", &Args::new())),
        (LIKELY, voice.plain("picture-forecast-likely", &Args::new())),
    ] {
        canvas.text(&word, Line { size: 24.0, ..column.line(top + 84.0, palette.faint) });
    }
    let largest = days.iter().flat_map(|day| [day.p90, day.asked, day.promised]).max().unwrap_or_default();
    let scale = Scale::reaching(largest, voice.reader().units);
    draw_grid(canvas, &scale, (first, first + rows), voice);
    for (index, day) in days.iter().enumerate() {
        draw_day(canvas, *day, (first + index as f32 * ROW, &scale), voice);
    }
    height
}

/// In each row upright lines at the round weights; each weight below the last.
fn draw_grid(canvas: &mut Canvas, scale: &Scale, (top, bottom): (f32, f32), voice: &Voice) {
    let palette = canvas.palette;
    let room = INNER_WIDTH / scale.ticks.len() as f32;
    for (index, tick) in scale.ticks.iter().enumerate() {
        let x = across(scale, *tick);
        let rows = ((bottom - top) / ROW).round() as usize;
        for row in (0..rows).map(|row| top + row as f32 * ROW) {
            canvas.stroke((x, row + 46.0), (x, row + ROW - 8.0), (2.0, palette.rule));
        }
        let (left, side) = match index {
            0 => (x, Side::Left),
            last if last + 1 == scale.ticks.len() => (x - room, Side::Right),
            _ => (x - room / 2.0, Side::Middle),
        };
        let line = Line { left, room, side, size: 23.0, ..wide(bottom + 30.0, palette.faint) };
        canvas.text(&voice.weight(*tick), line);
    }
}

fn draw_day(canvas: &mut Canvas, day: DayBand, (top, scale): (f32, &Scale), voice: &Voice) {
    let palette = canvas.palette;
    let words = top + 30.0;
    let date = Line { size: 27.0, face: Face::Bold, too_long: TooLong::Smaller, ..wide(words, palette.ink) };
    let end = canvas.text(&voice.date(day.day, DateForm::Short), Line { room: 190.0, ..date });
    if day.is_probably_short() {
        draw_warning(canvas, (end + 24.0, words - 10.0));
    }
    let likely = day.range(voice);
    draw_triangle(canvas, (ASKED.mark, words - 9.0));
    draw_diamond(canvas, (PROMISED.mark, words - 9.0));
    draw_band(canvas, (LIKELY.mark - 13.0, LIKELY.mark + 13.0), words - 18.0);
    for (column, text) in [(ASKED, voice.weight(day.asked)), (PROMISED, voice.weight(day.promised)), (LIKELY, likely)] {
        canvas.text(&text, column.line(words, palette.ink));
    }
    let band = top + 57.0;
    let line = band + BAND_HEIGHT / 2.0;
    canvas.stroke((INNER, line), (INNER + INNER_WIDTH, line), (2.0, palette.rule));
    draw_band(canvas, (across(scale, day.p10), across(scale, day.p90)), band);
    draw_median(canvas, across(scale, day.p50), band);
    // Nothing is said in words; a mark at the edge would only stand in the way.
    if day.asked.is_positive() {
        draw_triangle(canvas, (across(scale, day.asked), band - 6.0));
    }
    if day.promised.is_positive() {
        draw_diamond(canvas, (across(scale, day.promised), band + BAND_HEIGHT + 8.0));
    }
}

const BAND_HEIGHT: f32 = 20.0;

/// A column of weights: the middle of its mark, then its text.
#[derive(Clone, Copy)]
struct Column {
    mark: f32,
    left: f32,
    room: f32,
}

const ASKED: Column = Column { mark: 302.0, left: 322.0, room: 158.0 };
const PROMISED: Column = Column { mark: 500.0, left: 520.0, room: 158.0 };
const LIKELY: Column = Column { mark: 702.0, left: 726.0, room: 224.0 };

impl Column {
    fn line(self, baseline: f32, colour: &'static str) -> Line {
        let Column { left, room, .. } = self;
        Line { left, room, size: 26.0, too_long: TooLong::Smaller, ..wide(baseline, colour) }
    }
}

fn wide(baseline: f32, colour: &'static str) -> Line {
    board::wide(INNER, baseline, colour)
}

fn across(scale: &Scale, weight: Grams) -> f32 {
    INNER + scale.place(weight) * INNER_WIDTH
}

/// The hatched band between two places; at least as wide as its outline.
fn draw_band(canvas: &mut Canvas, (left, right): (f32, f32), top: f32) {
    let (width, colour) = ((right - left).max(3.0), canvas.palette.band);
    canvas.shape(&format!(
        r#"<rect x="{left:.1}" y="{top:.1}" width="{width:.1}" height="{BAND_HEIGHT}" fill="url(#hatch)" stroke="{colour}" stroke-width="3"/>"#
    ));
}

fn draw_median(canvas: &mut Canvas, x: f32, band: f32) {
    let (ink, panel) = (canvas.palette.ink, canvas.palette.panel);
    canvas.stroke((x, band - 4.0), (x, band + BAND_HEIGHT + 4.0), (11.0, panel));
    canvas.stroke((x, band - 4.0), (x, band + BAND_HEIGHT + 4.0), (6.0, ink));
}

/// Points down to what it marks; drawn about its middle.
fn draw_triangle(canvas: &mut Canvas, (x, y): (f32, f32)) {
    let (colour, panel) = (canvas.palette.asked, canvas.palette.panel);
    canvas.shape(&format!(
        r#"<path d="M{:.1} {:.1} h24 l-12 19 z" fill="{colour}" stroke="{panel}" stroke-width="2"/>"#,
        x - 12.0,
        y - 9.5
    ));
}

fn draw_diamond(canvas: &mut Canvas, (x, y): (f32, f32)) {
    let (colour, panel) = (canvas.palette.promised, canvas.palette.panel);
    canvas.shape(&format!(
        r#"<path d="M{:.1} {:.1} l12 12 -12 12 -12 -12 z" fill="{colour}" stroke="{panel}" stroke-width="2"/>"#,
        x,
        y - 12.0
    ));
}

/// An exclamation mark in a ring.
fn draw_warning(canvas: &mut Canvas, (x, y): (f32, f32)) {
    let colour = canvas.palette.warning;
    canvas.shape(&format!(
        r#"<g transform="translate({x:.1} {y:.1})"><circle r="14" fill="none" stroke="{colour}" stroke-width="3"/><path d="M0 -8 v9 M0 5 v3.5" stroke="{colour}" stroke-width="4"/></g>"#
    ));
}

/// What each mark means, in words, two in a row.
fn draw_legend(canvas: &mut Canvas, top: f32, voice: &Voice) {
    let palette = canvas.palette;
    board::panel(canvas, top, LEGEND - GAP - 8.0);
    let half = INNER_WIDTH / 2.0;
    let place = |index: usize| (INNER + (index % 2) as f32 * half, top + 36.0 + (index / 2) as f32 * 38.0);
    let none = Args::new();
    for (index, words) in [
        voice.plain("picture-forecast-legend-asked", &none),
        voice.plain("picture-forecast-legend-band", &none),
        voice.plain("picture-forecast-legend-promised", &none),
        voice.plain("picture-forecast-legend-median", &none),
        voice.plain("picture-forecast-legend-short", &none),
    ]
    .iter()
    .enumerate()
    {
        let (left, baseline) = place(index);
        let middle = (left + 14.0, baseline - 9.0);
        match index {
            0 => draw_triangle(canvas, middle),
            1 => draw_band(canvas, (left, left + 28.0), baseline - 19.0),
            2 => draw_diamond(canvas, middle),
            3 => draw_median(canvas, middle.0, baseline - 19.0),
            _ => draw_warning(canvas, middle),
        }
        let room = if index == 4 { INNER_WIDTH - 44.0 } else { half - 54.0 };
        let line =
            Line { left: left + 44.0, room, too_long: TooLong::Smaller, size: 25.0, ..wide(baseline, palette.ink) };
        canvas.text(words, line);
    }
}

fn signed(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::super::caption::CAPTION_MAX;
    use super::super::samples::{day, grams, keep, long_name, voices};
    use super::*;
    use drawing::canvas::checks::{sound, text_boxes};
    use proptest::prelude::*;

    fn band(on: &str, quantiles: [f64; 3], asked: f64, promised: f64) -> DayBand {
        let [p10, p50, p90] = quantiles.map(grams);
        DayBand { day: day(on), p10, p50, p90, asked: grams(asked), promised: grams(promised) }
    }

    fn coming() -> ForecastPicture {
        let shiitake = vec![
            band("2026-03-05", [9.2, 11.4, 13.9], 10.0, 10.0),
            band("2026-03-12", [7.1, 9.8, 13.0], 11.34, 9.07),
            band("2026-03-19", [6.5, 10.9, 15.2], 10.0, 0.0),
            band("2026-03-26", [4.0, 9.0, 16.4], 7.5, 0.0),
        ];
        let oyster = vec![
            band("2026-03-05", [4.4, 5.2, 6.1], 5.9, 5.0),
            band("2026-03-12", [0.9, 1.9, 3.2], 1.134, 1.134),
            band("2026-03-19", [3.2, 5.5, 8.4], 4.0, 0.0),
            band("2026-03-26", [2.0, 5.0, 9.4], 4.0, 0.0),
        ];
        ForecastPicture {
            farm: "Larkrise Mushrooms".to_owned(),
            crops: vec![
                CropRow { name: "shiitake".to_owned(), days: shiitake },
                CropRow { name: "oyster".to_owned(), days: oyster },
            ],
        }
    }

    #[test]
    fn the_coming_deliveries_are_drawn_in_every_language_and_theme() {
        for voice in voices() {
            for theme in [Theme::Card, Theme::Light, Theme::Dark] {
                let (canvas, height) = coming().canvas(&voice, theme);
                sound(&canvas, height);
                assert!((1200..=1400).contains(&height), "{height}");
                let picture = coming().draw(&voice, theme);
                assert!(picture.png.len() < 300_000, "{} bytes", picture.png.len());
                assert_eq!(picture, coming().draw(&voice, theme));
                keep(&format!("forecast-{}-{theme:?}.png", voice.reader().language), &picture.png);
            }
        }
    }

    #[test]
    fn weights_and_dates_are_written_whole() {
        let [english, _, polish] = voices();
        let read = |voice: &Voice| {
            let (canvas, height) = coming().canvas(voice, Theme::Card);
            text_boxes(&canvas.svg(height)).into_iter().map(|(text, _)| text).collect::<Vec<_>>()
        };
        for text in ["Thu, Mar 5", "22 lb 1 oz", "25 lb", "20 lb – 31 lb", "Larkrise Mushrooms", "2 lb 8 oz"] {
            assert!(read(&english).iter().any(|read| read == text), "{text} in {:?}", read(&english));
        }
        for text in ["czw., 5 mar", "10 kg", "11,34 kg", "9,2 kg – 14 kg", "1,134 kg"] {
            assert!(read(&polish).iter().any(|read| read == text), "{text} in {:?}", read(&polish));
        }
        assert!(!read(&english).iter().any(|text| text.contains('…')));
    }

    #[test]
    fn the_caption_says_the_same_in_words() {
        let [english, spanish, polish] = voices();
        let caption = coming().caption(&english);
        let lines: Vec<&str> = caption.lines().collect();
        assert_eq!(lines[0], "<b>Larkrise Mushrooms</b>: harvest and orders");
        assert_eq!(lines[1], "<b>shiitake</b>");
        assert_eq!(lines[2], "Thu, Mar 5: likely 20 lb – 31 lb, asked 22 lb 1 oz, promised 22 lb 1 oz");
        assert_eq!(lines[3], "Thu, Mar 12: probably short. Likely 16 lb – 29 lb, asked 25 lb, promised 20 lb");
        assert_eq!(lines.len(), 11);
        assert!(coming().caption(&spanish).contains("quizá falte"));
        assert!(coming().caption(&polish).contains("pewnie zabraknie"));
    }

    #[test]
    fn nothing_and_too_much_are_drawn_too() {
        let many = CropRow { name: long_name(), days: coming().crops[0].days.repeat(3) };
        let huge = DayBand {
            p10: Grams::new(i64::MIN),
            p50: Grams::new(i64::MAX),
            p90: Grams::ZERO,
            ..band("2026-12-31", [0.0; 3], 9e9, -4.0)
        };
        for (name, crops) in [
            ("none", vec![]),
            ("no-days", vec![CropRow { name: "shiitake".to_owned(), days: vec![] }]),
            (
                "nothing",
                vec![CropRow { name: "shiitake".to_owned(), days: vec![band("2026-03-05", [0.0; 3], 0.0, 0.0)] }],
            ),
            ("huge", vec![CropRow { name: String::new(), days: vec![huge] }]),
            ("many", vec![many; 11]),
        ] {
            let picture = ForecastPicture { farm: long_name(), crops };
            for voice in voices() {
                let (canvas, height) = picture.canvas(&voice, Theme::Dark);
                sound(&canvas, height);
                assert!(WIDTH + height <= 10_000, "the chat takes no larger photo (Bot API, sendPhoto)");
                let drawn = picture.draw(&voice, Theme::Dark);
                assert!(drawn.caption.encode_utf16().count() <= CAPTION_MAX, "{}", drawn.caption);
                keep(&format!("forecast-{name}-{}.png", voice.reader().language), &drawn.png);
            }
        }
    }

    proptest! {
        #[test]
        fn bands_are_never_inverted(p10: i64, p50: i64, p90: i64, asked: i64, promised: i64) {
            let [p10, p50, p90, asked, promised] = [p10, p50, p90, asked, promised].map(Grams::new);
            let band = DayBand { day: day("2026-03-05"), p10, p50, p90, asked, promised }.in_order();
            prop_assert!(Grams::ZERO <= band.p10 && band.p10 <= band.p50 && band.p50 <= band.p90);
            prop_assert!(band.asked >= Grams::ZERO && band.promised >= Grams::ZERO);
        }
    }
}
