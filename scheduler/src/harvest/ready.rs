//! A request made ready for drawing: every flush's conditioned curves, equal ones kept once, and the numbers it shares
//! with others.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::{Fault, FlushFacts, Start};
use crate::harvest::curve::{self, Curve, NODES};
use crate::harvest::draw::{self, Group};
use crate::harvest::evidence::{self, LEVELS, Pins, Profiles, Shared, Waiting};
use crate::harvest::forecast::{CompactCurve, Request};
use crate::harvest::learn::{FlushBelief, Learned};
use crate::harvest::room::spell_of;
use crate::harvest::warmth::pace;
use crate::id::Id;
use chrono::Duration;
use std::collections::{BTreeMap, HashMap};

/// Everything the draws need.
pub struct Ready {
    pub crops: Vec<CropKey>,
    pub set_aside: Vec<(Id, Fault)>,
    /// A flush that follows another comes after it.
    pub flushes: Vec<ReadyFlush>,
    pub curves: Vec<CompactCurve>,
    pub profiles: Vec<Profiles>,
    pub groups: Vec<Group>,
    /// How many flushes have followers that need their last pick.
    pub parents: usize,
}

/// One of [`Ready`]'s curves, profiles or groups.
pub type Place = usize;

/// A normal score's parts: places in [`Ready::groups`] for belief, room and spell, and the weights.
#[derive(Clone, Copy, Debug)]
pub struct Score {
    pub groups: [Place; 3],
    pub shared: Shared,
}

pub struct ReadyFlush {
    pub id: Id,
    pub crop: Place,
    /// Chance that nothing (more) comes.
    pub failure: f32,
    pub yields: Yields,
    pub yield_score: Score,
    pub first: First,
    pub profiles: Place,
    /// Where followers find this flush's last pick.
    pub parent_slot: Option<Place>,
}

pub enum Yields {
    /// Grams for one gram of dry substrate, and the substrate.
    Whole { efficiency: Place, dry_g: f32 },
    /// Grams left, and the level of the pick curve at each node.
    Partly { left_g: Place, levels: Box<[u8; NODES]> },
}

/// When the next harvest day is, in days from today.
pub enum First {
    /// Already picking.
    Known(i32),
    /// `start` + a draw from a curve of days.
    Days { start: Begins, days: Place, score: Score },
}

pub enum Begins {
    /// So many days from today (negative: ago).
    At(f32),
    /// A rest drawn from a curve after the day given, in days from today; not before today.
    Rested { since: f32, rest: Place },
    /// A rest after the last pick of the flush in this slot.
    After { slot: Place, rest: Place },
}

impl Ready {
    pub fn from_request(request: &Request<'_>) -> Ready {
        let mut crops: Vec<CropKey> = request.flushes.iter().map(|flush| flush.crop).collect();
        crops.retain(|&crop| request.learned.prior(crop).is_some());
        crops.sort_unstable();
        crops.dedup();
        let mut maker = Maker {
            learned: request.learned,
            today: request.today,
            ready: Ready {
                crops,
                set_aside: Vec::new(),
                flushes: Vec::new(),
                curves: Vec::new(),
                profiles: Vec::new(),
                groups: Vec::new(),
                parents: 0,
            },
            kept_curves: HashMap::new(),
            kept_groups: BTreeMap::new(),
            kept_profiles: BTreeMap::new(),
            places: HashMap::new(),
        };
        let mut open: Vec<&FlushFacts> = request.flushes.iter().filter(|flush| !flush.closed).collect();
        // A follower has a higher number than what it follows.
        open.sort_by_key(|flush| (flush.number, flush.id));
        for flush in open {
            if let Err(fault) = maker.take(flush) {
                maker.ready.set_aside.push((flush.id, fault));
            }
        }
        maker.ready
    }
}

/// What makes two curves equal.
#[derive(PartialEq, Eq, Hash, Clone, Copy)]
enum CurveKey {
    Efficiency(CropKey, u8, Id),
    Days(CropKey, u8, Id, u64),
    Waiting(CropKey, u8, Id, u64, Waiting),
    Rest(CropKey, u8, i64),
}

struct Maker<'a> {
    learned: &'a Learned,
    today: LocalDate,
    ready: Ready,
    /// Place, likelihood of the evidence, and share of the log-variance kept.
    kept_curves: HashMap<CurveKey, (Place, f64, f64)>,
    kept_groups: BTreeMap<Group, Place>,
    kept_profiles: BTreeMap<(CropKey, u8), (Place, [f64; LEVELS])>,
    /// Flush id to its place in `ready.flushes`.
    places: HashMap<Id, Place>,
}

impl Maker<'_> {
    fn take(&mut self, flush: &FlushFacts) -> Result<(), Fault> {
        if let Some(fault) = flush.fault(self.learned.priors(), self.today) {
            return Err(fault);
        }
        let crop = self.ready.crops.binary_search(&flush.crop).map_err(|_| Fault::UnknownCrop(flush.crop))?;
        let belief = *self.learned.belief(flush.crop, flush.number).ok_or(Fault::UnknownCrop(flush.crop))?;
        let ready = match evidence::harvest_days_done(flush, self.today) {
            Some(done) => self.picking(flush, &belief, (crop, done)),
            None => self.coming(flush, &belief, crop)?,
        };
        self.places.insert(flush.id, self.ready.flushes.len());
        self.ready.flushes.push(ready);
        Ok(())
    }

    fn picking(&mut self, flush: &FlushFacts, belief: &FlushBelief, (crop, done): (Place, usize)) -> ReadyFlush {
        let (mut ln_yield, shared) = evidence::in_room(belief.efficiency, &self.learned.yield_rooms, flush.room);
        ln_yield.centre += (flush.dry_grams().get().max(1) as f64).ln();
        let durations = self.durations(flush, belief).1;
        let picked_g = flush.picked_grams().get() as f64;
        let partly = evidence::partly_picked(ln_yield, &durations, picked_g, done);
        let before = 2.0 * ln_yield.scale;
        let kept = curve::middle_spread(&partly.left_g.map(|left| (left + picked_g).ln())) / before;
        let first_day = flush.pick_days().map_or(self.today, |(first, _)| first);
        let next = (first_day + Duration::days(done as i64) - self.today).num_days();
        self.ready.profiles.push(partly.profiles);
        ReadyFlush {
            id: flush.id,
            crop,
            failure: 0.0,
            yields: Yields::Partly {
                left_g: self.keep(curve::compact(&partly.left_g, |left| left)),
                levels: Box::new(partly.levels),
            },
            yield_score: self.score(flush, self.spell(flush), shared.after_evidence(kept * kept), false),
            first: First::Known(next.clamp(0, 10_000) as i32),
            profiles: self.ready.profiles.len() - 1,
            parent_slot: None,
        }
    }

    fn coming(&mut self, flush: &FlushFacts, belief: &FlushBelief, crop: Place) -> Result<ReadyFlush, Fault> {
        let chances = self.learned.chances(flush.crop).ok_or(Fault::UnknownCrop(flush.crop))?;
        let mut failure = chances.failure.mean();
        let mut units_left = 1.0;
        let first = match flush.start {
            Start::Begun(begun_on) => {
                let waiting = Waiting {
                    days_since_start: (self.today - begun_on).num_days(),
                    pins_after_days: flush.pins_seen_on.map(|pins| (pins - begun_on).num_days()),
                };
                let (days, likelihood, kept) = self.waiting(flush, belief, waiting, chances.pins_reported.mean());
                failure = evidence::failure_while_waiting(failure, waiting, likelihood);
                self.first(flush, belief, (Begins::At(-(waiting.days_since_start as f32)), days, kept))
            }
            Start::Planned(day) => {
                let ahead = (day - self.today).num_days().clamp(0, 100_000) as f32;
                units_left = self.units_left(flush);
                let days = self.days(flush, belief);
                self.first(flush, belief, (Begins::At(ahead), days, 1.0))
            }
            Start::RestingSince(since) => {
                let ago = (self.today - since).num_days().clamp(0, 100_000);
                let (rest, likelihood) = self.rest(flush, ago)?;
                // The longer a batch has rested, the likelier it was thrown out than is still to be started.
                let resting = Waiting { days_since_start: ago, pins_after_days: None };
                let thrown_out = self.thrown_out(flush);
                let thrown_out = evidence::failure_while_waiting(thrown_out, resting, likelihood.clamp(1e-6, 1.0));
                failure = thrown_out + (1.0 - thrown_out) * failure;
                let days = self.days(flush, belief);
                self.first(flush, belief, (Begins::Rested { since: -(ago as f32), rest }, days, 1.0))
            }
            Start::After(before) => {
                let (rest, _) = self.rest(flush, 0)?;
                let thrown_out = self.thrown_out(flush);
                failure = thrown_out + (1.0 - thrown_out) * failure;
                let slot = self.parent_slot(before).ok_or(Fault::NotStarted)?;
                let days = self.days(flush, belief);
                self.first(flush, belief, (Begins::After { slot, rest }, days, 1.0))
            }
            Start::Unknown => return Err(Fault::NotStarted),
        };
        let (efficiency, shared) = self.efficiency(flush, belief);
        let dry_g = (flush.dry_grams().get() as f64 * units_left) as f32;
        Ok(ReadyFlush {
            id: flush.id,
            crop,
            failure: failure as f32,
            yields: Yields::Whole { efficiency, dry_g },
            yield_score: self.score(flush, self.spell(flush), shared, false),
            first,
            profiles: self.durations(flush, belief).0,
            parent_slot: None,
        })
    }

    /// The chance that the units were, or will be, thrown out before this flush.
    fn thrown_out(&self, flush: &FlushFacts) -> f64 {
        self.learned.thrown_out(flush.crop, flush.number.saturating_sub(1))
    }

    /// Before the first flush some units will be lost: their mean share is taken off (its spread is small beside the
    /// yield's).
    fn units_left(&self, flush: &FlushFacts) -> f64 {
        match self.learned.prior(flush.crop) {
            Some(prior) if flush.number == 1 && flush.lost_units == 0 => 1.0 - prior.unit_loss_chance,
            _ => 1.0,
        }
    }

    fn first(&mut self, flush: &FlushFacts, belief: &FlushBelief, (start, days, kept): (Begins, Place, f64)) -> First {
        let (_, shared) = evidence::in_room(belief.days, &self.learned.days_rooms, flush.room);
        let score = self.score(flush, self.spell(flush), shared.after_evidence(kept), true);
        First::Days { start, days, score }
    }

    fn pace(&self, flush: &FlushFacts) -> f64 {
        self.learned.prior(flush.crop).map_or(1.0, |prior| pace(prior, flush.room_temperature_c))
    }

    fn spell(&self, flush: &FlushFacts) -> i32 {
        spell_of(match flush.start {
            Start::Begun(day) | Start::Planned(day) => day,
            _ => self.today + Duration::days(14),
        })
    }

    fn waiting(&mut self, flush: &FlushFacts, belief: &FlushBelief, waiting: Waiting, share: f64) -> (Place, f64, f64) {
        let pace = self.pace(flush);
        let key = CurveKey::Waiting(flush.crop, flush.number, flush.room, pace.to_bits(), waiting);
        if let Some(&kept) = self.kept_curves.get(&key) {
            return kept;
        }
        let (predictive, _) = evidence::in_room(belief.days, &self.learned.days_rooms, flush.room);
        let pins = Pins { pins_to_pick: belief.pins_to_pick.predictive(), reported_share: share, pace };
        let (days, likelihood) = evidence::days_while_waiting(&curve::student(predictive), waiting, pins);
        let spread = curve::middle_spread(&days.map(|day| day.max(0.25).ln())) / (2.0 * predictive.scale);
        let made = (self.keep(curve::compact(&days, |day| day)), likelihood, spread * spread);
        self.kept_curves.insert(key, made);
        made
    }

    fn kept_curve(&mut self, key: CurveKey, make: impl FnOnce() -> CompactCurve) -> Place {
        if let Some(&(place, _, _)) = self.kept_curves.get(&key) {
            return place;
        }
        let place = self.keep(make());
        self.kept_curves.insert(key, (place, 1.0, 1.0));
        place
    }

    fn days(&mut self, flush: &FlushFacts, belief: &FlushBelief) -> Place {
        let (predictive, _) = evidence::in_room(belief.days, &self.learned.days_rooms, flush.room);
        let pace = self.pace(flush);
        self.kept_curve(CurveKey::Days(flush.crop, flush.number, flush.room, pace.to_bits()), || {
            curve::compact(&curve::student(predictive), |ln| ln.clamp(-3.0, 6.0).exp() / pace)
        })
    }

    fn efficiency(&mut self, flush: &FlushFacts, belief: &FlushBelief) -> (Place, Shared) {
        let (predictive, shared) = evidence::in_room(belief.efficiency, &self.learned.yield_rooms, flush.room);
        let place = self.kept_curve(CurveKey::Efficiency(flush.crop, flush.number, flush.room), || {
            curve::compact(&curve::student(predictive), |ln| ln.clamp(-20.0, 2.0).exp())
        });
        (place, shared)
    }

    /// Rest before `flush`, known to have lasted `rested` days, and how likely so long a rest was beforehand.
    fn rest(&mut self, flush: &FlushFacts, rested: i64) -> Result<(Place, f64), Fault> {
        let before = flush.number.saturating_sub(1);
        let belief = self.learned.belief(flush.crop, before).and_then(|belief| belief.rest).ok_or(Fault::NotStarted)?;
        let key = CurveKey::Rest(flush.crop, before, rested);
        if let Some(&(place, likelihood, _)) = self.kept_curves.get(&key) {
            return Ok((place, likelihood));
        }
        let whole: Curve = curve::student(belief.predictive()).map(|ln| ln.clamp(-2.0, 6.0).exp());
        let least = rested as f64 - 0.5;
        let longer = curve::given(&whole, |rest| if rest >= least { 1.0 } else { 0.0 });
        let (rest, likelihood) = longer.unwrap_or(([rested as f64; NODES], 1e-6));
        let place = self.keep(curve::compact(&rest, |rest| rest.max(rested as f64)));
        self.kept_curves.insert(key, (place, likelihood, 1.0));
        Ok((place, likelihood))
    }

    fn durations(&mut self, flush: &FlushFacts, belief: &FlushBelief) -> (Place, [f64; LEVELS]) {
        let profiles = &mut self.ready.profiles;
        *self.kept_profiles.entry((flush.crop, flush.number)).or_insert_with(|| {
            let durations = evidence::durations(&curve::student(belief.duration.predictive()));
            profiles.push(evidence::whole_profiles(&durations));
            (profiles.len() - 1, durations)
        })
    }

    fn parent_slot(&mut self, id: Id) -> Option<Place> {
        let flush = &mut self.ready.flushes[*self.places.get(&id)?];
        let next = self.ready.parents;
        let slot = *flush.parent_slot.get_or_insert(next);
        self.ready.parents = self.ready.parents.max(slot + 1);
        Some(slot)
    }

    fn keep(&mut self, curve: CompactCurve) -> Place {
        self.ready.curves.push(curve);
        self.ready.curves.len() - 1
    }

    fn score(&mut self, flush: &FlushFacts, spell: i32, shared: Shared, is_days: bool) -> Score {
        let groups = draw::groups_of(flush, spell, is_days).map(|group| {
            let next = self.ready.groups.len();
            let groups = &mut self.ready.groups;
            *self.kept_groups.entry(group).or_insert_with(|| {
                groups.push(group);
                next
            })
        });
        Score { groups, shared }
    }
}
