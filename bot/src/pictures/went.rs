//! Where the harvest went, week by week: a bar a week, cut into what was sold, offered, taken to market, dried, given and
//! lost, with the figures below it.
//!
//! Every part has a pattern of its own and stands beside its word and weight, so that no colour has to be told apart.

use super::Picture;
use super::board::{self, HEADER, WIDTH};
use super::caption::{caption, clipped};
use crate::wording::{Args, DateForm, Voice};
use drawing::canvas::{Canvas, Frame, Line, Side, TooLong};
use drawing::lettering::Face;
use drawing::palette::{Palette, Theme};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

/// Weeks drawn, at most.
const WEEKS_MAX: usize = 8;

const INNER: f32 = 46.0;
const INNER_WIDTH: f32 = WIDTH as f32 - 2.0 * INNER;
const HEAD: f32 = 56.0;
const BAR: f32 = 46.0;
const FIGURE: f32 = 42.0;
const FIGURES_A_ROW: usize = 3;
const SIGN: f32 = 30.0;
const GAP: f32 = 16.0;

/// Where a weight went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Went {
    Sold,
    /// Taken by a buyer from an offer.
    Offered,
    Market,
    Dried,
    Given,
    Lost,
}

/// One week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WentWeek {
    pub monday: LocalDate,
    /// Each way once, weights above nothing; others are left out.
    pub parts: Vec<(Went, Grams)>,
}

/// What the picture shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WentPicture {
    pub farm: String,
    /// The newest first; the first eight are drawn.
    pub weeks: Vec<WentWeek>,
}

impl Went {
    /// All, in the order they are drawn.
    pub const ALL: [Went; 6] = [Went::Sold, Went::Offered, Went::Market, Went::Dried, Went::Given, Went::Lost];

    fn words(self, voice: &Voice, weight: Grams) -> String {
        let args = Args::new().weight("weight", weight);
        match self {
            Went::Sold => voice.plain("picture-went-sold", &args),
            Went::Offered => voice.plain("picture-went-offered", &args),
            Went::Market => voice.plain("picture-went-market", &args),
            Went::Dried => voice.plain("picture-went-dried", &args),
            Went::Given => voice.plain("picture-went-given", &args),
            Went::Lost => voice.plain("picture-went-lost", &args),
        }
    }

    fn name(self) -> &'static str {
        match self {
            Went::Sold => "went-sold",
            Went::Offered => "went-offered",
            Went::Market => "went-market",
            Went::Dried => "went-dried",
            Went::Given => "went-given",
            Went::Lost => "went-lost",
        }
    }

    fn colour(self, palette: Palette) -> &'static str {
        match self {
            Went::Sold | Went::Offered => palette.promised,
            Went::Market => palette.asked,
            Went::Dried => palette.ink,
            Went::Given => palette.band,
            Went::Lost => palette.warning,
        }
    }

    /// The pattern: a tile of 16 by 16 pixels.
    fn pattern(self, palette: Palette) -> String {
        let marks = match self {
            // Solid.
            Went::Sold => r#"<path d="M0 0 H16 V16 H0 Z" fill="COLOUR"/>"#,
            // Slanting lines.
            Went::Offered => r#"<path d="M-4 4 L4 -4 M0 16 L16 0 M12 20 L20 12" stroke="COLOUR" stroke-width="4"/>"#,
            // Upright lines.
            Went::Market => r#"<path d="M3 0 V16 M11 0 V16" stroke="COLOUR" stroke-width="4"/>"#,
            // Dots.
            Went::Dried => {
                r#"<circle cx="4" cy="4" r="3" fill="COLOUR"/><circle cx="12" cy="12" r="3" fill="COLOUR"/>"#
            }
            // Level lines.
            Went::Given => r#"<path d="M0 3 H16 M0 11 H16" stroke="COLOUR" stroke-width="4"/>"#,
            // A lattice.
            Went::Lost => r#"<path d="M0 0 L16 16 M16 0 L0 16" stroke="COLOUR" stroke-width="3"/>"#,
        };
        format!(
            r#"<pattern id="{}" width="16" height="16" patternUnits="userSpaceOnUse"><rect width="16" height="16" fill="{}"/>{}</pattern>"#,
            self.name(),
            palette.panel,
            marks.replace("COLOUR", self.colour(palette))
        )
    }

    fn draw(self, canvas: &mut Canvas, Frame { left, top, width, height }: Frame) {
        let (name, outline) = (self.name(), self.colour(canvas.palette));
        canvas.shape(&format!(
            r##"<rect x="{left:.1}" y="{top:.1}" width="{width:.1}" height="{height:.1}" fill="url(#{name})" stroke="{outline}" stroke-width="2"/>"##
        ));
    }
}

impl WentWeek {
    fn parts(&self) -> Vec<(Went, Grams)> {
        let of = |went: Went| -> Grams {
            self.parts.iter().filter(|(way, _)| *way == went).map(|(_, weight)| weight.less(Grams::ZERO)).sum()
        };
        Went::ALL.into_iter().map(|went| (went, of(went))).filter(|(_, weight)| weight.is_positive()).collect()
    }

    fn total(&self) -> Grams {
        self.parts().into_iter().map(|(_, weight)| weight).sum()
    }
}

impl WentPicture {
    /// The picture and the same in words, for one reader.
    pub fn draw(&self, voice: &Voice, theme: Theme) -> Picture {
        let (canvas, height) = self.canvas(voice, theme);
        Picture { png: canvas.png(height), caption: self.caption(voice) }
    }

    fn weeks(&self) -> &[WentWeek] {
        &self.weeks[..self.weeks.len().min(WEEKS_MAX)]
    }

    fn canvas(&self, voice: &Voice, theme: Theme) -> (Canvas, u32) {
        let title = voice.plain("picture-went-title", &Args::new());
        let mut canvas = board::begun(theme, INNER, (&self.farm, &title));
        let palette = canvas.palette;
        let patterns: String = Went::ALL.iter().map(|went| went.pattern(palette)).collect();
        canvas.shape(&format!("<defs>{patterns}</defs>"));
        let most = self.weeks().iter().map(WentWeek::total).max().unwrap_or_default();
        let mut top = HEADER;
        for week in self.weeks() {
            top += draw_week(&mut canvas, (week, top), most, voice) + GAP;
        }
        if self.weeks.is_empty() {
            canvas.text(&voice.plain("picture-went-nothing", &Args::new()), wide(top + 30.0, palette.ink));
            top += 60.0;
        }
        (canvas, (top + 8.0) as u32)
    }

    fn caption(&self, voice: &Voice) -> String {
        let head = voice.say("picture-went-caption", &Args::new().text("farm", clipped(&self.farm)));
        if self.weeks.is_empty() {
            return format!("{head}\n{}", voice.say("picture-went-nothing", &Args::new()));
        }
        let weeks = self.weeks().iter().map(|week| {
            let parts = week.parts().into_iter().map(|(went, weight)| went.words(voice, weight)).collect();
            let args = Args::new().date_as("monday", week.monday, DateForm::Short).list("parts", parts);
            voice.say("picture-went-caption-week", &args)
        });
        caption(head, weeks, &voice.say("picture-forecast-caption-more", &Args::new()))
    }
}

/// Draws a week; gives its height.
fn draw_week(canvas: &mut Canvas, (week, top): (&WentWeek, f32), most: Grams, voice: &Voice) -> f32 {
    let palette = canvas.palette;
    let parts = week.parts();
    let rows = parts.len().div_ceil(FIGURES_A_ROW).max(1);
    let height = HEAD + BAR + rows as f32 * FIGURE + 24.0;
    board::panel(canvas, top, height);
    let label = voice.plain("picture-went-week", &Args::new().date_as("monday", week.monday, DateForm::Short));
    let line = Line { size: 28.0, face: Face::Bold, too_long: TooLong::Smaller, ..wide(top + 40.0, palette.ink) };
    canvas.text(&label, Line { room: INNER_WIDTH * 0.62, ..line });
    let right = Line { left: INNER + INNER_WIDTH * 0.65, room: INNER_WIDTH * 0.35, side: Side::Right, ..line };
    canvas.text(&voice.weight(week.total()), right);
    let mut left = INNER;
    for (went, weight) in &parts {
        let width = (weight.get() as f64 / most.get().max(1) as f64) as f32 * INNER_WIDTH;
        went.draw(canvas, Frame { left, top: top + HEAD, width, height: BAR });
        left += width;
    }
    let column = INNER_WIDTH / FIGURES_A_ROW as f32;
    for (number, (went, weight)) in parts.iter().enumerate() {
        let at = INNER + (number % FIGURES_A_ROW) as f32 * column;
        let baseline = top + HEAD + BAR + 40.0 + (number / FIGURES_A_ROW) as f32 * FIGURE;
        went.draw(canvas, Frame { left: at, top: baseline - SIGN + 7.0, width: SIGN, height: SIGN });
        let words = Line { left: at + SIGN + 12.0, room: column - SIGN - 24.0, ..wide(baseline, palette.ink) };
        canvas.text(&went.words(voice, *weight), Line { too_long: TooLong::Smaller, ..words });
    }
    height
}

fn wide(baseline: f32, colour: &'static str) -> Line {
    board::wide(INNER, baseline, colour)
}

#[cfg(test)]
mod tests {
    use super::super::caption::CAPTION_MAX;
    use super::super::samples::{day, grams, keep, long_name, voices};
    use super::*;
    use drawing::canvas::checks::{sound, text_boxes};

    fn picture() -> WentPicture {
        let week = |monday: &str, parts: &[(Went, f64)]| WentWeek {
            monday: day(monday),
            parts: parts.iter().map(|(went, kilograms)| (*went, grams(*kilograms))).collect(),
        };
        WentPicture {
            farm: "Larkrise Mushrooms".to_owned(),
            weeks: vec![
                week(
                    "2026-06-15",
                    &[
                        (Went::Sold, 21.4),
                        (Went::Offered, 3.2),
                        (Went::Market, 6.0),
                        (Went::Dried, 1.5),
                        (Went::Given, 4.75),
                        (Went::Lost, 0.6),
                    ],
                ),
                week("2026-06-08", &[(Went::Sold, 18.0), (Went::Given, 2.0), (Went::Market, 5.5)]),
                week("2026-06-01", &[(Went::Lost, 0.25), (Went::Sold, 12.5), (Went::Dried, -1.0)]),
            ],
        }
    }

    #[test]
    fn the_weeks_are_drawn_in_every_language_and_theme() {
        for voice in voices() {
            for theme in [Theme::Card, Theme::Light, Theme::Dark] {
                let (canvas, height) = picture().canvas(&voice, theme);
                sound(&canvas, height);
                let drawn = picture().draw(&voice, theme);
                assert!(drawn.png.len() < 300_000);
                keep(&format!("went-{}-{theme:?}.png", voice.reader().language), &drawn.png);
            }
        }
    }

    /// What is told apart by its pattern stands beside its word: as many words as patterns, and no two patterns alike.
    #[test]
    fn nothing_is_told_by_colour_alone() {
        let [english, _, polish] = voices();
        let (canvas, height) = picture().canvas(&english, Theme::Card);
        let boxes = text_boxes(&canvas.svg(height));
        for words in ["sold 47 lb 3 oz", "given 10 lb 8 oz", "lost 1 lb 5 oz", "dried 3 lb 5 oz"] {
            assert!(boxes.iter().any(|(text, _)| text == words), "{words} in {boxes:?}");
        }
        let palette = Theme::Card.palette();
        let one_colour =
            Palette { asked: palette.ink, promised: palette.ink, band: palette.ink, warning: palette.ink, ..palette };
        let mut patterns: Vec<String> =
            Went::ALL.iter().map(|went| went.pattern(one_colour).replacen(went.name(), "", 1)).collect();
        patterns.sort_unstable();
        patterns.dedup();
        assert_eq!(patterns.len(), Went::ALL.len());
        let caption = picture().caption(&polish);
        assert!(caption.contains("sprzedano 21,4 kg") && caption.contains("oddano 4,75 kg"), "{caption}");
    }

    #[test]
    fn nothing_and_too_much_are_drawn_too() {
        let full = WentWeek {
            monday: day("2026-06-01"),
            parts: Went::ALL.map(|went| (went, Grams::new(i64::MAX / 8))).to_vec(),
        };
        for (name, weeks) in [("none", vec![]), ("full", vec![full; 30])] {
            let picture = WentPicture { farm: long_name(), weeks };
            for voice in voices() {
                let (canvas, height) = picture.canvas(&voice, Theme::Light);
                sound(&canvas, height);
                assert!(WIDTH + height <= 10_000, "the chat takes no larger photo (Bot API, sendPhoto)");
                let drawn = picture.draw(&voice, Theme::Light);
                assert!(drawn.caption.encode_utf16().count() <= CAPTION_MAX);
                keep(&format!("went-{name}-{}.png", voice.reader().language), &drawn.png);
            }
        }
    }
}
