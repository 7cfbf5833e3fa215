//! The last packs: exact shares made whole packs, and what is left over handed out pack by pack.
//!
//! Rule kept: everyone gets the whole packs within the share. Then one more pack each, the largest part-pack first (told
//! apart to a millionth of a pack), equals in turn, as far as stock can be moved to serve it. What even then would lie idle
//! goes to those cut deepest who can still use a pack, or who were left out and can have their smallest useful amount after all.
//!
//! An award is then within one pack of its share when all packs are of one size and no swaps are taken; with swaps, where a pack must be
//! of one crop, within two (measured by the outside check: about one claim in a hundred is more than one pack off).

use crate::allotment::levels::{Want, level_key};
use crate::allotment::network::Routing;
use crate::allotment::rotation::in_turn;
use crate::allotment::rules::Exact;

/// Parts of a pack are told apart to this.
const PARTS_OF_A_PACK: i128 = 1_000_000;

/// The whole packs within an exact share, in grams.
pub(crate) fn whole_packs(share: Exact, step: i64) -> i64 {
    let step = i128::from(step);
    let grams = share.numer() / (share.denom() * step) * step;
    i64::try_from(grams).expect("a share is at most its ask")
}

fn part_pack(share: Exact, step: i64) -> i128 {
    let pack = share.denom() * i128::from(step);
    share.numer() % pack * PARTS_OF_A_PACK / pack
}

/// Awards being rounded up, and the places each claim can draw from, the best liked first.
pub(crate) struct Topping<'a> {
    pub wants: &'a [Want],
    pub shares: &'a [Exact],
    pub rotation: u64,
    pub routing: &'a mut Routing,
}

impl Topping<'_> {
    /// Hands out packs among `line` (in order of buyer and claim). `draws_from(want)` lists places by liking;
    /// `given(want, place, grams)` is told of each pack. `awards` is kept up to date.
    pub fn hand_out(
        &mut self,
        mut line: Vec<usize>,
        awards: &mut [i64],
        draws_from: &dyn Fn(usize) -> Vec<usize>,
        given: &mut dyn FnMut(usize, usize, i64),
    ) {
        let wants = self.wants;
        line.retain(|&want| awards[want] < wants[want].ask);
        let shares = self.shares;
        in_turn(&mut line, |&want| -part_pack_below(shares[want], awards[want], &wants[want]), self.rotation);
        // The smallest amount each place was refused: what is left only shrinks, so it will be refused again.
        let mut refused: Vec<i64> = Vec::new();
        let mut first_pass = true;
        while !line.is_empty() && self.routing.has_free() {
            line.retain(|&want| {
                let piece = wants[want].piece(awards[want]);
                for place in draws_from(want) {
                    if refused.len() <= place {
                        refused.resize(place + 1, i64::MAX);
                    }
                    if piece >= refused[place] {
                        continue;
                    }
                    if self.routing.raise_by_piece(place, piece.into()) {
                        awards[want] += piece;
                        given(want, place, piece);
                        return awards[want] < wants[want].ask;
                    }
                    refused[place] = piece;
                }
                false
            });
            if first_pass {
                first_pass = false;
                line.sort_unstable();
            }
            in_turn(&mut line, |&want| level_key(awards[want], wants[want].weight), self.rotation);
        }
    }
}

impl Want {
    /// The next piece that is of use: a pack, or the smallest useful amount when nothing is given yet.
    fn piece(&self, award: i64) -> i64 {
        if award == 0 { self.step.max(self.minimum) } else { self.step }
    }
}

/// How much of a pack the share is above the award: a whole pack or more when an earlier step fell short of the share.
fn part_pack_below(share: Exact, award: i64, want: &Want) -> i128 {
    if *share.numer() > (i128::from(award) + i128::from(want.step)) * share.denom() {
        PARTS_OF_A_PACK
    } else {
        part_pack(share, want.step)
    }
}
