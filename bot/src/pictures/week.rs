//! The family's week: day by day and crop by crop, what to soak or open, pick, deliver, take to market and drop off.
//!
//! Every task is a sign with its words beside it, so that there is nothing to look up.

use super::Picture;
use super::board::{self, HEADER, WIDTH};
use super::caption::{caption, clipped};
use super::scale::about;
use crate::wording::{Args, DateForm, Voice};
use chrono::Duration;
use drawing::canvas::{Canvas, Line, TooLong};
use drawing::lettering::Face;
use drawing::palette::Theme;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;

/// Days drawn, at most.
const DAYS_MAX: u8 = 14;
/// Crops side by side; more go into a further grid below.
const COLUMNS_MAX: usize = 3;
/// Crops drawn, at most.
const CROPS_MAX: usize = 9;
/// Tasks of one crop on one day, at most: one of each kind.
const TASKS_MAX: usize = 6;

const INNER: f32 = 46.0;
const INNER_WIDTH: f32 = WIDTH as f32 - 2.0 * INNER;
const DAY_ROOM: f32 = 186.0;
const HEAD: f32 = 62.0;
const TASK: f32 = 42.0;
const SPACE: f32 = 20.0;
const GAP: f32 = 20.0;
const SIGN: f32 = 44.0;

/// What the picture shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeekPicture {
    pub farm: String,
    pub first: LocalDate,
    /// Days from `first` on: 7 to 14 are usual, at least one and at most 14 are drawn.
    pub days: u8,
    /// In the farm's order; the first nine are drawn.
    pub crops: Vec<CropTasks>,
}

/// One crop's tasks, in any order; those outside the days shown are left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CropTasks {
    /// In the reader's language.
    pub name: String,
    pub tasks: Vec<(LocalDate, Task)>,
}

/// Something to do with one crop on one day, in the order of a day's work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Task {
    /// Sawdust blocks into cold water.
    Soak {
        blocks: i64,
    },
    /// Bags to cut open.
    Open {
        bags: i64,
    },
    /// Likely to be ready.
    Pick(Grams),
    Deliver(Grams),
    Market(Grams),
    /// To a food bank.
    Drop(Grams),
}

impl WeekPicture {
    /// The picture and the same in words, for one reader.
    pub fn draw(&self, voice: &Voice, theme: Theme) -> Picture {
        let (canvas, height) = self.canvas(voice, theme);
        Picture { png: canvas.png(height), caption: self.caption(voice) }
    }

    fn days(&self) -> impl Iterator<Item = LocalDate> {
        let first = self.first;
        (0..self.days.clamp(1, DAYS_MAX)).filter_map(move |day| first.checked_add_signed(Duration::days(day.into())))
    }

    fn canvas(&self, voice: &Voice, theme: Theme) -> (Canvas, u32) {
        let title = voice.plain("picture-week-title", &Args::new().date("first", self.first));
        let mut canvas = board::begun(theme, INNER, (&self.farm, &title));
        let palette = canvas.palette;
        let mut top = HEADER;
        for crops in self.crops[..self.crops.len().min(CROPS_MAX)].chunks(COLUMNS_MAX) {
            top += self.draw_grid(&mut canvas, (crops, top), voice) + GAP;
        }
        if self.crops.is_empty() {
            canvas.text(&voice.plain("picture-week-nothing", &Args::new()), wide(top + 30.0, palette.ink));
            top += 60.0;
        }
        (canvas, (top + 4.0) as u32)
    }

    /// Draws these crops side by side; gives the height.
    fn draw_grid(&self, canvas: &mut Canvas, (crops, top): (&[CropTasks], f32), voice: &Voice) -> f32 {
        let palette = canvas.palette;
        let rows: Vec<(LocalDate, f32)> = self.days().map(|day| (day, row_height(crops, day))).collect();
        let height = HEAD + rows.iter().map(|(_, height)| height).sum::<f32>() + 8.0;
        board::panel(canvas, top, height);
        let column = (INNER_WIDTH - DAY_ROOM) / crops.len() as f32;
        let place = |index: usize| INNER + DAY_ROOM + index as f32 * column;
        for (index, crop) in crops.iter().enumerate() {
            let name = Line { size: 32.0, face: Face::Bold, ..wide(top + 44.0, palette.ink) };
            canvas.text(&crop.name, Line { left: place(index), room: column - 16.0, ..name });
        }
        let mut row_top = top + HEAD;
        for (day, row) in rows {
            canvas.stroke((INNER, row_top), (INNER + INNER_WIDTH, row_top), (2.0, palette.rule));
            let date = Line { face: Face::Bold, too_long: TooLong::Smaller, ..wide(row_top + 36.0, palette.ink) };
            canvas.text(&voice.date(day, DateForm::Short), Line { room: DAY_ROOM - 14.0, ..date });
            for (index, crop) in crops.iter().enumerate() {
                for (number, task) in crop.on(day).into_iter().enumerate() {
                    let baseline = row_top + 36.0 + number as f32 * TASK;
                    task.draw_sign(canvas, (place(index) + 16.0, baseline - 9.0));
                    let words =
                        Line { left: place(index) + SIGN, room: column - SIGN - 12.0, ..wide(baseline, palette.ink) };
                    canvas.text(&task.words(voice), Line { too_long: TooLong::Smaller, ..words });
                }
            }
            row_top += row;
        }
        height
    }

    fn caption(&self, voice: &Voice) -> String {
        let head = voice.say("picture-week-caption", &Args::new().text("farm", clipped(&self.farm)));
        let days: Vec<String> = self.days().filter_map(|day| self.day_in_words(day, voice)).collect();
        if days.is_empty() {
            return format!("{head}\n{}", voice.say("picture-week-nothing", &Args::new()));
        }
        caption(head, days, &voice.say("picture-forecast-caption-more", &Args::new()))
    }

    fn day_in_words(&self, day: LocalDate, voice: &Voice) -> Option<String> {
        let mut lines = vec![voice.say("picture-week-caption-day", &Args::new().date("day", day))];
        for crop in &self.crops {
            for task in crop.on(day) {
                let args = Args::new().text("crop", clipped(&crop.name)).text("task", task.words(voice));
                lines.push(voice.say("picture-week-caption-task", &args));
            }
        }
        (lines.len() > 1).then(|| lines.join("\n"))
    }
}

impl CropTasks {
    fn on(&self, day: LocalDate) -> Vec<Task> {
        let mut tasks: Vec<Task> = self.tasks.iter().filter(|(on, _)| *on == day).map(|(_, task)| *task).collect();
        tasks.sort_unstable();
        tasks.truncate(TASKS_MAX);
        tasks
    }
}

fn row_height(crops: &[CropTasks], day: LocalDate) -> f32 {
    let most = crops.iter().map(|crop| crop.on(day).len()).max().unwrap_or_default();
    most.max(1) as f32 * TASK + SPACE - 8.0
}

impl Task {
    /// Both as one, where they are of one kind.
    pub fn with(self, more: Task) -> Option<Task> {
        Some(match (self, more) {
            (Task::Soak { blocks: one }, Task::Soak { blocks: other }) => Task::Soak { blocks: one + other },
            (Task::Open { bags: one }, Task::Open { bags: other }) => Task::Open { bags: one + other },
            (Task::Pick(one), Task::Pick(other)) => Task::Pick(one + other),
            (Task::Deliver(one), Task::Deliver(other)) => Task::Deliver(one + other),
            (Task::Market(one), Task::Market(other)) => Task::Market(one + other),
            (Task::Drop(one), Task::Drop(other)) => Task::Drop(one + other),
            _ => return None,
        })
    }

    fn words(self, voice: &Voice) -> String {
        let weight = |weight| Args::new().weight("weight", weight);
        match self {
            Task::Soak { blocks } => voice.plain("picture-week-soak", &Args::new().count("number", blocks)),
            Task::Open { bags } => voice.plain("picture-week-open", &Args::new().count("number", bags)),
            // Not more exact than a forecast is.
            Task::Pick(likely) => voice.plain("picture-week-pick", &weight(about(likely, voice.reader().units))),
            Task::Deliver(carried) => voice.plain("picture-week-deliver", &weight(carried)),
            Task::Market(taken) => voice.plain("picture-week-market", &weight(taken)),
            Task::Drop(given) => voice.plain("picture-week-drop", &weight(given)),
        }
    }

    /// A sign of about 32 by 32 pixels about its middle.
    fn draw_sign(self, canvas: &mut Canvas, (x, y): (f32, f32)) {
        let palette = canvas.palette;
        let (colour, path) = match self {
            // A drop of water.
            Task::Soak { .. } => (palette.promised, "M0 -15 C5 -6 11 0 11 6 A11 10 0 0 1 -11 6 C-11 0 -5 -6 0 -15 Z"),
            // A tied bag with a slit.
            Task::Open { .. } => {
                (palette.asked, "M-4 -15 H4 L3 -9 C13 -5 13 14 8 15 H-8 C-13 14 -13 -5 -3 -9 Z M-2 -4 V9 H2 V-4 Z")
            }
            // A mushroom.
            Task::Pick(_) => (palette.band, "M-15 0 A15 14 0 0 1 15 0 Z M-5 2 H5 L6 15 H-6 Z"),
            // A van.
            Task::Deliver(_) => (
                palette.ink,
                "M-16 -9 H5 V8 H-16 Z M7 -4 H12 L16 2 V8 H7 Z M-13 9 a4 4 0 1 0 8 0 Z M5 9 a4 4 0 1 0 8 0 Z",
            ),
            // A stall with its roof.
            Task::Market(_) => (
                palette.asked,
                "M-12 -14 H12 L16 -4 H-16 Z M-13 -2 H-10 V15 H-13 Z M10 -2 H13 V15 H10 Z M-10 4 H10 V8 H-10 Z",
            ),
            // A heart.
            Task::Drop(_) => {
                (palette.warning, "M0 14 C-20 0 -16 -13 -8 -13 C-3 -13 0 -9 0 -7 C0 -9 3 -13 8 -13 C16 -13 20 0 0 14 Z")
            }
        };
        canvas.shape(&format!(
            r#"<path transform="translate({x:.1} {y:.1})" d="{path}" fill="{colour}" fill-rule="evenodd"/>"#
        ));
    }
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

    fn week(days: u8) -> WeekPicture {
        let shiitake = vec![
            (day("2026-03-02"), Task::Soak { blocks: 48 }),
            (day("2026-03-03"), Task::Pick(grams(6.0))),
            (day("2026-03-04"), Task::Pick(grams(8.25))),
            (day("2026-03-05"), Task::Deliver(grams(11.0))),
            (day("2026-03-05"), Task::Soak { blocks: 1 }),
            (day("2026-03-07"), Task::Market(grams(2.5))),
            (day("2026-03-09"), Task::Soak { blocks: 48 }),
        ];
        let oyster = vec![
            (day("2026-03-02"), Task::Open { bags: 22 }),
            (day("2026-03-04"), Task::Pick(grams(5.0))),
            (day("2026-03-05"), Task::Deliver(grams(4.309))),
            (day("2026-03-06"), Task::Drop(grams(2.041))),
            (day("2026-03-07"), Task::Market(grams(1.5))),
            (day("2026-04-07"), Task::Market(grams(99.0))),
        ];
        WeekPicture {
            farm: "Larkrise Mushrooms".to_owned(),
            first: day("2026-03-02"),
            days,
            crops: vec![
                CropTasks { name: "shiitake".to_owned(), tasks: shiitake },
                CropTasks { name: "oyster".to_owned(), tasks: oyster },
            ],
        }
    }

    #[test]
    fn the_week_is_drawn_in_every_language_and_theme() {
        for voice in voices() {
            for theme in [Theme::Card, Theme::Light, Theme::Dark] {
                for days in [7, 14] {
                    let (canvas, height) = week(days).canvas(&voice, theme);
                    sound(&canvas, height);
                    let picture = week(days).draw(&voice, theme);
                    assert!(picture.png.len() < 300_000);
                    keep(&format!("week-{days}-{}-{theme:?}.png", voice.reader().language), &picture.png);
                }
            }
        }
    }

    #[test]
    fn tasks_stand_under_their_crop_in_the_order_of_the_day() {
        let [english, _, polish] = voices();
        let (canvas, height) = week(7).canvas(&english, Theme::Card);
        let boxes = text_boxes(&canvas.svg(height));
        let place = |text: &str| boxes.iter().find(|(read, _)| read == text).unwrap_or_else(|| panic!("{text}")).1;
        assert!(place("soak 1 block").top() < place("deliver 24 lb 4 oz").top());
        assert_eq!(place("soak 1 block").left().round(), place("deliver 24 lb 4 oz").left().round());
        assert!(place("deliver 9 lb 8 oz").left() > place("oyster").left());
        assert!(!boxes.iter().any(|(text, _)| text.contains("218 lb") || text.contains('…')));
        let caption = week(7).caption(&polish);
        assert!(
            caption.contains("shiitake: namocz 48 bloków") && caption.contains("oyster: zbierz około 5 kg"),
            "{caption}"
        );
    }

    #[test]
    fn nothing_and_too_much_are_drawn_too() {
        let all = [Task::Open { bags: i64::MAX }, Task::Soak { blocks: -1 }, Task::Pick(Grams::new(i64::MAX))];
        let full = CropTasks { name: long_name(), tasks: all.map(|task| (day("2026-03-03"), task)).repeat(8) };
        for (name, crops, days) in [("none", vec![], 0), ("full", vec![full; 12], 200)] {
            let picture = WeekPicture { farm: long_name(), crops, days, first: day("2026-03-02") };
            for voice in voices() {
                let (canvas, height) = picture.canvas(&voice, Theme::Light);
                sound(&canvas, height);
                assert!(WIDTH + height <= 10_000, "the chat takes no larger photo (Bot API, sendPhoto)");
                let drawn = picture.draw(&voice, Theme::Light);
                assert!(drawn.caption.encode_utf16().count() <= CAPTION_MAX);
                keep(&format!("week-{name}-{}.png", voice.reader().language), &drawn.png);
            }
        }
    }
}
