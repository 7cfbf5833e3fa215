//! The colours of a picture. A chat does not say whether it is light or dark, so the usual picture is a card of its own
//! ground that reads on both.

/// What a picture is to be read on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// A mid-toned card for any chat.
    #[default]
    Card,
    Light,
    Dark,
}

/// Colours as SVG writes them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// Around the panels.
    pub ground: &'static str,
    /// Under everything that is read.
    pub panel: &'static str,
    /// Words and the median.
    pub ink: &'static str,
    /// Lesser words.
    pub faint: &'static str,
    /// Grid and rules, decoration only.
    pub rule: &'static str,
    /// Outline and hatching of the band.
    pub band: &'static str,
    pub asked: &'static str,
    pub promised: &'static str,
    pub warning: &'static str,
}

impl Theme {
    /// This theme's colours.
    pub const fn palette(self) -> Palette {
        match self {
            Theme::Card => Palette {
                ground: "#c9c3b4",
                panel: "#e4dfd2",
                ink: "#1d1a14",
                faint: "#4d473b",
                rule: "#bdb6a5",
                band: "#35654a",
                asked: "#8a3b12",
                promised: "#1f4e8c",
                warning: "#9c1c1c",
            },
            Theme::Light => Palette {
                ground: "#f1efe9",
                panel: "#ffffff",
                ink: "#1a1a18",
                faint: "#565248",
                rule: "#dedad0",
                band: "#2f6b49",
                asked: "#9a4311",
                promised: "#1d53a0",
                warning: "#ad1d1d",
            },
            Theme::Dark => Palette {
                ground: "#14171a",
                panel: "#1f2429",
                ink: "#f2efe8",
                faint: "#b9b4a8",
                rule: "#3a4047",
                band: "#7cc79c",
                asked: "#f0a26b",
                promised: "#8fb8f2",
                warning: "#ff9a8f",
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance (WCAG 2.2, definition).
    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).expect("two hex digits")) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// WCAG 2.2: text 4.5 to 1 (1.4.3), shapes that carry meaning 3 to 1 (1.4.11).
    #[test]
    fn everything_stands_out_from_its_ground() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        for theme in [Theme::Card, Theme::Light, Theme::Dark] {
            let palette = theme.palette();
            for text in [palette.ink, palette.faint, palette.warning] {
                assert!(contrast(text, palette.panel) >= 4.5, "{theme:?} {text}");
                assert!(contrast(text, palette.ground) >= 4.5, "{theme:?} {text} on the ground");
            }
            for mark in [palette.band, palette.asked, palette.promised] {
                assert!(contrast(mark, palette.panel) >= 3.0, "{theme:?} {mark}");
            }
        }
    }
}
