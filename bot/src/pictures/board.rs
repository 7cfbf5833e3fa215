//! The frame that the pictures share: their width, the farm's name and a title above, panels below.

use drawing::canvas::{Canvas, Frame, Line, Side, TooLong};
use drawing::lettering::Face;
use drawing::palette::Theme;

/// Lengths in pixels, here and below.
pub const WIDTH: u32 = 1000;
/// Where the panels begin under the heading.
pub const HEADER: f32 = 128.0;
/// What is left free beside the panels.
const EDGE: f32 = 24.0;

/// A canvas with its heading; texts keep `margin` from both sides.
pub fn begun(theme: Theme, margin: f32, (farm, title): (&str, &str)) -> Canvas {
    let mut canvas = Canvas::new(WIDTH, theme.palette());
    let palette = canvas.palette;
    canvas.text(farm, Line { size: 42.0, face: Face::Bold, ..wide(margin, 62.0, palette.ink) });
    canvas.text(title, Line { size: 29.0, too_long: TooLong::Smaller, ..wide(margin, 104.0, palette.faint) });
    canvas
}

/// A panel of this height over the whole width.
pub fn panel(canvas: &mut Canvas, top: f32, height: f32) {
    let colour = canvas.palette.panel;
    canvas.panel(Frame { left: EDGE, top, width: WIDTH as f32 - 2.0 * EDGE, height }, colour);
}

/// A line over the whole width less `margin` at both sides; the rest is set by who writes it.
pub fn wide(margin: f32, baseline: f32, colour: &'static str) -> Line {
    Line {
        left: margin,
        baseline,
        room: WIDTH as f32 - 2.0 * margin,
        size: 26.0,
        face: Face::Regular,
        side: Side::Left,
        too_long: TooLong::Cut,
        colour,
    }
}
