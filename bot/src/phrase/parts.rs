//! Two wishes in one text: "no oyster Thursday, 4 lb shiitake", "3 lb for the 11th and 5 lb for the 18th", "the usual but no
//! oyster". Each part has to be read by itself, in one way only; a part without a day is of the day named before it.

use super::chunks::Chunk;
use super::meaning::whole;
use super::vocabulary::Verb;
use super::{Context, Edit, How, Of, Phrase, Question, When};

/// Parts beyond which a text is a story.
const PARTS_MOST: usize = 6;

/// Whether a text that raises this question may be two.
pub(super) fn may_help(question: &Question) -> bool {
    matches!(
        question,
        Question::SeveralWishes
            | Question::CropTwice { .. }
            | Question::CropMissing
            | Question::WeightMissing { .. }
            | Question::NotUnderstood { .. }
    )
}

/// The one phrase that the parts make together.
pub(super) fn read(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Phrase> {
    let parts = parted(chunks);
    if !(2..=PARTS_MOST).contains(&parts.len()) {
        return None;
    }
    // The fewest wishes that the parts can be: neighbours belong together where they can.
    for wishes in 2..=parts.len() {
        let mut found: Option<Phrase> = None;
        for cut in cuts(parts.len(), wishes) {
            let said: Option<Vec<Said>> =
                cut.windows(2).map(|ends| said(&parts[ends[0]..ends[1]], context, keys)).collect();
            let Some(phrase) = said.and_then(together) else { continue };
            match &found {
                Some(other) if *other != phrase => return None,
                _ => found = Some(phrase),
            }
        }
        if found.is_some() {
            return found;
        }
    }
    None
}

/// The chunks between joints.
fn parted(chunks: &[Chunk]) -> Vec<Vec<Chunk>> {
    let is_joint =
        |chunk: &Chunk| matches!(chunk, Chunk::Joint | Chunk::Stop | Chunk::Plus | Chunk::But(_) | Chunk::Except(_));
    let mut parts: Vec<Vec<Chunk>> = vec![Vec::new()];
    for chunk in chunks {
        let part = parts.last().expect("begun with one");
        if is_joint(chunk) || turns(part, chunk) {
            parts.push(Vec::new());
        }
        // What joins is kept: "plus" and "but" say how the part goes with the one before.
        parts.last_mut().expect("begun with one").push(chunk.clone());
    }
    let says = |part: &Vec<Chunk>| part.iter().any(|chunk| !is_joint(chunk) && *chunk != Chunk::Courtesy);
    parts.retain(says);
    parts
}

/// Whether a part is over where a verb follows without a joint: "the usual without oyster", "4 lb shiitake no oyster".
fn turns(part: &[Chunk], chunk: &Chunk) -> bool {
    let is_turn =
        matches!(chunk, Chunk::Verb(Verb::Without | Verb::No | Verb::Skip | Verb::More | Verb::Less | Verb::Cancel));
    let is_whole = part.iter().any(|before| matches!(before, Chunk::Crop(_) | Chunk::Verb(Verb::Same)));
    is_turn && is_whole
}

/// Every way to make so many wishes of so many parts, as ends.
fn cuts(parts: usize, wishes: usize) -> Vec<Vec<usize>> {
    if wishes == 1 {
        return vec![vec![0, parts]];
    }
    (wishes - 1..parts)
        .flat_map(|last| {
            cuts(last, wishes - 1).into_iter().map(move |mut ends| {
                ends.push(parts);
                ends
            })
        })
        .collect()
}

/// One part, read.
enum Said {
    Usual(Option<When>),
    Edits(Vec<Edit>, Opening),
}

/// What a part begins with.
#[derive(Clone, Copy, PartialEq)]
enum Opening {
    Plus,
    But,
    Except,
    Other,
}

fn said(parts: &[Vec<Chunk>], context: &Context, keys: &[String]) -> Option<Said> {
    let mut chunks: Vec<Chunk> = parts.concat();
    let opening = match chunks.iter().find(|chunk| !matches!(chunk, Chunk::Joint | Chunk::Stop | Chunk::Courtesy)) {
        Some(Chunk::Plus) => Opening::Plus,
        Some(Chunk::But(_)) => Opening::But,
        Some(Chunk::Except(_)) => Opening::Except,
        _ => Opening::Other,
    };
    chunks.retain(|chunk| !matches!(chunk, Chunk::But(_) | Chunk::Except(_) | Chunk::Plus | Chunk::Instead(_)));
    // A bare yes or no beside another wish may be of something else.
    let has_crop = chunks.iter().any(|chunk| matches!(chunk, Chunk::Crop(_)));
    if chunks.contains(&Chunk::Verb(Verb::Yes)) || (chunks.contains(&Chunk::Verb(Verb::No)) && !has_crop) {
        return None;
    }
    if opening == Opening::Except {
        return except(&chunks, context, keys);
    }
    match plain(&chunks, context, keys)? {
        Said::Edits(edits, _) => Some(Said::Edits(edits, opening)),
        usual => Some(usual),
    }
}

/// "the usual except the oyster", "lo de siempre menos 2 kg de ostra".
fn except(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Said> {
    let has_weight = chunks.iter().any(|chunk| matches!(chunk, Chunk::Weight(_)));
    let how = if has_weight { Verb::Less } else { Verb::Without };
    let taken: Vec<Chunk> = std::iter::once(Chunk::Verb(how)).chain(chunks.iter().cloned()).collect();
    match plain(&taken, context, keys)? {
        Said::Edits(edits, _) => Some(Said::Edits(edits, Opening::Except)),
        Said::Usual(_) => None,
    }
}

fn plain(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Said> {
    let set = |lines: Vec<super::Line>, when| {
        let edits = lines.into_iter().map(|line| Edit { crop: line.crop, how: How::Set(line.weight), when });
        Said::Edits(edits.collect(), Opening::Other)
    };
    Some(match whole(chunks, context, keys).ok()? {
        Phrase::Order { lines, when } | Phrase::Change { lines, when } => set(lines, when),
        Phrase::Edits { edits, of: Of::Day } => Said::Edits(edits, Opening::Other),
        Phrase::NoCrop { crop, when }
        | Phrase::Skip { crop: Some(crop), when }
        | Phrase::Cancel { crop: Some(crop), when } => {
            Said::Edits(vec![Edit { crop, how: How::Nothing, when }], Opening::Other)
        }
        Phrase::SameAsLast { when } => Said::Usual(when),
        _ => return None,
    })
}

/// The parts as one phrase; `None` where they contradict each other.
fn together(said: Vec<Said>) -> Option<Phrase> {
    let mut usual = None;
    let mut edits: Vec<Edit> = Vec::new();
    for (at, one) in said.into_iter().enumerate() {
        match one {
            Said::Usual(when) if at == 0 => usual = Some(when),
            Said::Usual(_) => return None,
            Said::Edits(more, opening) if usual.is_some() => {
                for edit in more {
                    let how = match (edit.how, opening) {
                        (How::Set(weight), Opening::Plus) => How::More(weight),
                        // "the usual, 5 lb shiitake": in its place, or beside it?
                        (How::Set(_), Opening::Other) => return None,
                        (how, _) => how,
                    };
                    edits.push(Edit { how, ..edit });
                }
            }
            // Except from what?
            Said::Edits(_, Opening::Except) => return None,
            Said::Edits(more, _) => edits.extend(more),
        }
    }
    let first = edits.iter().find_map(|edit| edit.when).or(usual.flatten());
    let mut before = usual.flatten().or(edits.first()?.when).or(first);
    for edit in &mut edits {
        edit.when = edit.when.or(before);
        before = edit.when;
    }
    let is_twice = edits
        .iter()
        .enumerate()
        .any(|(at, edit)| edits[..at].iter().any(|other| other.crop == edit.crop && other.when == edit.when));
    if is_twice {
        return None;
    }
    match usual {
        None => Some(Phrase::Edits { edits, of: Of::Day }),
        Some(_) => {
            let when = edits[0].when;
            edits.iter().all(|edit| edit.when == when).then_some(Phrase::UsualWith { edits, when })
        }
    }
}
