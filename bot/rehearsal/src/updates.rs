//! The queue of updates and how getUpdates takes from it.
//!
//! Rule (Bot API reference, "getUpdates"): an update is forgotten when a later call's offset is above its id, or after
//! 24 hours; a negative offset keeps that many from the end and forgets the rest.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::ApiError;
use crate::parameters::Parameters;

/// Undelivered updates are kept no longer than this.
const KEPT_S: i64 = 24 * 3600;
/// Kinds that must be asked for by name (Bot API reference, "getUpdates", allowed_updates).
const ON_REQUEST: [&str; 3] = ["chat_member", "message_reaction", "message_reaction_count"];

#[derive(Debug)]
pub(crate) struct UpdateQueue {
    next_id: i64,
    waiting: VecDeque<(UtcSeconds, Value)>,
    /// Updates to hand out once more although they were confirmed.
    repeats: VecDeque<Value>,
    /// Repeats handed out and not yet followed by another call.
    repeats_out: usize,
    past: BTreeMap<i64, Value>,
    wanted: BTreeSet<String>,
    /// Rises with each getUpdates: an older one that still waits must give way.
    poll: u64,
}

impl Default for UpdateQueue {
    fn default() -> UpdateQueue {
        UpdateQueue {
            next_id: 510_000_001,
            waiting: VecDeque::new(),
            repeats: VecDeque::new(),
            repeats_out: 0,
            past: BTreeMap::new(),
            wanted: BTreeSet::new(),
            poll: 0,
        }
    }
}

fn id_of(update: &Value) -> i64 {
    update["update_id"].as_i64().unwrap_or_default()
}

impl UpdateQueue {
    /// Queues an update; `None` where the bot did not ask for this kind.
    pub fn push(&mut self, kind: &str, object: Value, now: UtcSeconds) -> Option<i64> {
        let wanted = match self.wanted.is_empty() {
            true => !ON_REQUEST.contains(&kind),
            false => self.wanted.contains(kind),
        };
        if !wanted {
            return None;
        }
        let id = self.next_id;
        self.next_id += 1;
        let update = json!({ "update_id": id, kind: object });
        self.past.insert(id, update.clone());
        self.waiting.push_back((now, update));
        Some(id)
    }

    /// Queues an update as it is.
    pub fn push_raw(&mut self, update: Value, now: UtcSeconds) {
        self.next_id = self.next_id.max(id_of(&update).saturating_add(1));
        self.waiting.push_back((now, update));
    }

    pub fn next_id(&self) -> i64 {
        self.next_id
    }

    /// Hands a past update out once more; false where there was none of that id.
    pub fn repeat(&mut self, id: i64) -> bool {
        let update = self.past.get(&id).cloned();
        self.repeats.extend(update.clone());
        update.is_some()
    }

    /// Takes over `allowed_updates`; absent leaves it as it is.
    pub fn want(&mut self, params: &Parameters) -> Result<(), ApiError> {
        if let Some(kinds) = params.object("allowed_updates")? {
            self.wanted = kinds;
        }
        Ok(())
    }

    pub fn wanted(&self) -> &BTreeSet<String> {
        &self.wanted
    }

    /// Begins a getUpdates call: older ones give way, `offset` confirms. Returns the call's turn.
    pub fn begin_poll(&mut self, offset: i64, now: UtcSeconds) -> u64 {
        self.poll += 1;
        self.repeats_out = 0;
        self.forget_old(now);
        if offset > 0 {
            self.waiting.retain(|(_, update)| id_of(update) >= offset);
        } else if offset < 0 {
            let kept = usize::try_from(offset.unsigned_abs()).unwrap_or(usize::MAX);
            self.waiting.drain(..self.waiting.len().saturating_sub(kept));
        }
        self.poll
    }

    pub fn is_turn(&self, turn: u64) -> bool {
        self.poll == turn
    }

    /// What a getUpdates call is given; repeats come first and leave the queue.
    pub fn batch(&mut self, limit: usize) -> Vec<Value> {
        let repeats = self.repeats.len().min(limit);
        let mut batch: Vec<Value> = self.repeats.drain(..repeats).collect();
        self.repeats_out += repeats;
        batch.extend(self.waiting.iter().take(limit - repeats).map(|(_, update)| update.clone()));
        batch
    }

    /// The next update for a webhook.
    pub fn front(&self) -> Option<Value> {
        self.repeats.front().or(self.waiting.front().map(|(_, update)| update)).cloned()
    }

    /// The webhook took `update`.
    pub fn delivered(&mut self, update: &Value) {
        if self.repeats.front() == Some(update) {
            self.repeats.pop_front();
        } else if self.waiting.front().is_some_and(|(_, first)| first == update) {
            self.waiting.pop_front();
        }
    }

    pub fn forget_all(&mut self) {
        self.waiting.clear();
        self.repeats.clear();
    }

    pub fn forget_old(&mut self, now: UtcSeconds) {
        self.waiting.retain(|(at, _)| now.since(*at) <= KEPT_S);
    }

    pub fn pending(&self) -> usize {
        self.waiting.len() + self.repeats.len()
    }

    /// Nothing waits and nothing handed out is unconfirmed.
    pub fn is_confirmed(&self) -> bool {
        self.pending() == 0 && self.repeats_out == 0
    }
}

/// The `limit` of a getUpdates call.
pub(crate) fn limit(params: &Parameters) -> Result<usize, ApiError> {
    let asked = params.number("limit")?.unwrap_or(100);
    // The API takes a limit out of 1-100 for 100.
    Ok(usize::try_from(asked).ok().filter(|limit| (1..=100).contains(limit)).unwrap_or(100))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    const NOW: UtcSeconds = UtcSeconds::new(1_800_000_000);

    fn with(count: i64) -> (UpdateQueue, i64) {
        let mut queue = UpdateQueue::default();
        let ids: Vec<_> = (0..count).filter_map(|n| queue.push("message", json!(n), NOW)).collect();
        (queue, ids[0])
    }

    fn ids(queue: &mut UpdateQueue, first: i64) -> Vec<i64> {
        queue.batch(100).iter().map(|update| id_of(update) - first).collect()
    }

    /// Bot API reference, "getUpdates": offset, negative offset, limit.
    #[test]
    fn an_offset_confirms_what_is_below_it() {
        for (offset, left) in [(0, vec![0, 1, 2, 3]), (2, vec![2, 3]), (4, vec![]), (9, vec![])] {
            let (mut queue, first) = with(4);
            queue.begin_poll(if offset == 0 { 0 } else { first + offset }, NOW);
            assert_eq!(ids(&mut queue, first), left, "offset {offset}");
            assert_eq!(ids(&mut queue, first), left, "asked again without confirming");
        }
        for (offset, left) in [(-1, vec![3]), (-3, vec![1, 2, 3]), (-9, vec![0, 1, 2, 3])] {
            let (mut queue, first) = with(4);
            queue.begin_poll(offset, NOW);
            assert_eq!(ids(&mut queue, first), left, "offset {offset}");
        }
    }

    #[test]
    fn updates_are_forgotten_after_a_day() {
        let (mut queue, first) = with(1);
        queue.begin_poll(0, NOW.plus_seconds(KEPT_S));
        assert_eq!(ids(&mut queue, first), [0]);
        queue.begin_poll(0, NOW.plus_seconds(KEPT_S + 1));
        assert!(queue.is_confirmed());
    }

    #[test]
    fn a_repeat_comes_once_before_the_new_ones() {
        let (mut queue, first) = with(2);
        queue.begin_poll(first + 1, NOW);
        assert!(queue.repeat(first) && !queue.repeat(first + 7));
        assert_eq!(ids(&mut queue, first), [0, 1]);
        assert!(!queue.is_confirmed());
        queue.begin_poll(first + 2, NOW);
        assert!(queue.is_confirmed());
    }

    #[test]
    fn only_wanted_kinds_are_queued() {
        let mut queue = UpdateQueue::default();
        assert_eq!(queue.push("chat_member", json!(1), NOW), None);
        queue.want(&Parameters::of(json!({ "allowed_updates": ["callback_query"] }))).unwrap();
        assert_eq!(queue.push("message", json!(1), NOW), None);
        assert!(queue.push("callback_query", json!(1), NOW).is_some());
        queue.want(&Parameters::of(json!({}))).unwrap();
        assert_eq!(queue.push("message", json!(1), NOW), None);
        queue.want(&Parameters::of(json!({ "allowed_updates": "[]" }))).unwrap();
        assert!(queue.push("message", json!(1), NOW).is_some());
    }
}
