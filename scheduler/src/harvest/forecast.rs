//! The coming harvest as joint draws: grams of each crop becoming pickable on each of the coming days.
//!
//! A draw is reproducible from its seed, and a flush's own chances depend only on the seed and its id (common random
//! numbers), so one more flush changes no other. Flushes share what they have in common: what the farm has not yet
//! learnt of a (crop, flush number), the room's factor, the room's spell. They do so through correlated normal scores (a
//! Gaussian copula), each flush keeping exactly its own conditioned distribution. Known simplifications: yield and days
//! are independent, successive flushes of one batch too but for what they share above, and an unfinished flush tells
//! nothing about its neighbours.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::{Fault, FlushFacts, Start};
use crate::harvest::curve::NODES;
use crate::harvest::draw::{self, BLOCK};
use crate::harvest::learn::Learned;
use crate::harvest::outlook::{self, Outlook};
use crate::harvest::ready::Ready;
use crate::id::Id;
use chrono::Duration;
use std::collections::BTreeSet;

/// Most days a forecast reaches.
pub const DAYS_MAX: usize = 400;
/// Most draws.
pub const DRAWS_MAX: usize = 1_000_000;

/// What a forecast is made from.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// Flushes that may still give something; closed ones are passed over. See [`with_following_flushes`].
    pub flushes: &'a [FlushFacts],
    pub learned: &'a Learned,
    /// The first day of the forecast; picks of days before it are taken as recorded.
    pub today: LocalDate,
    /// Days to look ahead, today included; 1 to [`DAYS_MAX`].
    pub days: usize,
    /// 1 to [`DRAWS_MAX`].
    pub draws: usize,
    pub seed: u64,
}

/// Joint draws of the coming harvest.
#[derive(Clone, Debug, PartialEq)]
pub struct HarvestForecast {
    pub first_day: LocalDate,
    pub days: usize,
    pub draws: usize,
    pub seed: u64,
    /// The crops, in order of their keys.
    pub crops: Vec<CropKey>,
    /// Flushes that could not be forecast, and why.
    pub set_aside: Vec<(Id, Fault)>,
    /// Grams in the order block of draws, crop, draw within the block, day; blocks are whole, the last one has spare draws.
    grams: Vec<f32>,
}

impl HarvestForecast {
    /// Grams of the crop at `crop` in [`HarvestForecast::crops`] becoming pickable on each day, in one draw.
    ///
    /// # Panics
    /// When `crop` or `draw` is out of range.
    pub fn daily(&self, crop: usize, draw: usize) -> &[f32] {
        assert!(crop < self.crops.len() && draw < self.draws, "no such crop or draw");
        let block = draw / BLOCK * self.crops.len() + crop;
        let start = (block * BLOCK + draw % BLOCK) * self.days;
        &self.grams[start..start + self.days]
    }

    /// Where a crop stands in [`HarvestForecast::crops`].
    pub fn crop_index(&self, crop: CropKey) -> Option<usize> {
        self.crops.binary_search(&crop).ok()
    }

    /// Grams of a crop from `from` to `to`, both included, in every draw; zeros for a crop without flushes.
    pub fn sums(&self, crop: CropKey, from: LocalDate, to: LocalDate) -> Vec<f32> {
        let Some(crop) = self.crop_index(crop) else { return vec![0.0; self.draws] };
        let place = |day: LocalDate| (day - self.first_day).num_days().clamp(0, self.days as i64) as usize;
        let (from, to) = (place(from), place(to + Duration::days(1)));
        (0..self.draws).map(|draw| self.daily(crop, draw).get(from..to).unwrap_or(&[]).iter().sum()).collect()
    }
}

/// Forecasts; never fails: a flush that makes no sense is set aside with its fault.
pub fn forecast(request: &Request<'_>) -> HarvestForecast {
    let days = request.days.clamp(1, DAYS_MAX);
    let draws = request.draws.clamp(1, DRAWS_MAX);
    let ready = Ready::from_request(request);
    let crops = ready.crops.clone();
    let set_aside = ready.set_aside.clone();
    let grams = draw::grams(&ready, draw::Size { days, draws, seed: request.seed });
    HarvestForecast { first_day: request.today, days, draws, seed: request.seed, crops, set_aside, grams }
}

/// What each flush of the request may still give and when, one by one, without draws.
pub fn outlooks(request: &Request<'_>) -> Vec<Outlook> {
    outlook::outlooks(&Ready::from_request(request))
}

/// The flushes given, and those that will follow them after a rest, as far as the crop has flushes and nobody has
/// recorded or planned them yet. A following flush has as many units as are left, and an id made from its batch and
/// number.
pub fn with_following_flushes(flushes: &[FlushFacts], learned: &Learned) -> Vec<FlushFacts> {
    let known: BTreeSet<(Id, u8)> = flushes.iter().map(|flush| (flush.batch, flush.number)).collect();
    let mut all: Vec<FlushFacts> = flushes.to_vec();
    for flush in flushes {
        let Some(prior) = learned.prior(flush.crop) else { continue };
        let mut parent = flush.clone();
        while usize::from(parent.number) < prior.flushes.len() && !known.contains(&(flush.batch, parent.number + 1)) {
            let number = parent.number + 1;
            let start = match (parent.closed, parent.pick_days()) {
                (true, Some((_, last))) => Start::RestingSince(last),
                // Given up without a pick: nobody can say when it starts again.
                (true, None) => break,
                (false, _) => Start::After(parent.id),
            };
            let child = FlushFacts {
                id: draw::following_id(flush.batch, number),
                number,
                start,
                pins_seen_on: None,
                picked: Vec::new(),
                closed: false,
                ..parent
            };
            all.push(child.clone());
            parent = child;
        }
    }
    all
}

/// A compact curve, for look-ups by the million.
pub(super) type CompactCurve = [f32; NODES];
