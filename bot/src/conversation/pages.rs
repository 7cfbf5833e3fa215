//! Long lists in pages: what stands on one, where in the list that is, and the buttons that turn over.

use super::Button;
use crate::intent::Intent;
use crate::wording::{Args, Voice};

/// One page of a list.
pub struct Page<'a, T> {
    pub items: &'a [T],
    /// "Page 2 of 5"; `None` where there is one page only.
    pub line: Option<String>,
    /// To the pages before and after; empty where there is none.
    pub row: Vec<Button>,
}

/// The page with this number, from 0, of at most `most` items; the last one where the list has become shorter.
pub fn page<'a, T>(
    voice: &Voice,
    all: &'a [T],
    (number, most): (usize, usize),
    turn: impl Fn(usize) -> Intent,
) -> Page<'a, T> {
    let pages = all.len().div_ceil(most).max(1);
    let number = number.min(pages - 1);
    let items = &all[number * most..all.len().min((number + 1) * most)];
    if pages == 1 {
        return Page { items, line: None, row: Vec::new() };
    }
    let args = Args::new().text("page", (number + 1).to_string()).text("pages", pages.to_string());
    let earlier = number
        .checked_sub(1)
        .map(|earlier| Button::new(voice.plain("button-earlier-page", &Args::new()), turn(earlier)));
    let later =
        (number + 1 < pages).then(|| Button::new(voice.plain("button-later-page", &Args::new()), turn(number + 1)));
    Page { items, line: Some(voice.say("shelves-page", &args)), row: earlier.into_iter().chain(later).collect() }
}
