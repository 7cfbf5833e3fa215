//! When a message may go out. Rule (Bot FAQ, "My bot is hitting limits"): about 30 messages a second overall, about one a
//! second in a chat with short bursts let through, 20 a minute in a group.
//!
//! A place is free again only once its span has passed since the service *answered*: whenever the message arrived there,
//! that was earlier, so that no delay on the way makes two spans overlap. What somebody waits for may use a chat's short
//! burst (three in three seconds: common practice, no source); notices keep to one a second.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::time::Duration;

const SECOND: Duration = Duration::from_secs(1);
/// Messages on their way at a time.
const AT_ONCE: usize = 16;
/// Messages and the span in which no more may arrive.
const OVERALL: (usize, Duration) = (30, SECOND);
const NOTICES: (usize, Duration) = (1, SECOND);
const ANSWERS: (usize, Duration) = (3, Duration::from_secs(3));
const GROUP: (usize, Duration) = (20, Duration::from_secs(60));

/// What went out when; times are since any fixed moment.
#[derive(Debug, Default)]
pub struct Pace {
    is_off: bool,
    /// Chats with a message on its way.
    in_flight: BTreeSet<i64>,
    answered: VecDeque<Duration>,
    chats: BTreeMap<i64, VecDeque<Duration>>,
    paused_until: Duration,
}

impl Pace {
    /// The published pace.
    pub fn published() -> Pace {
        Pace::default()
    }

    /// As fast as the service takes messages, one after the other and so the same in every run: for a local server with a
    /// clock of its own.
    pub fn off() -> Pace {
        Pace { is_off: true, ..Pace::default() }
    }

    /// How many messages may be on their way at a time.
    pub fn at_once(&self) -> usize {
        if self.is_off { 1 } else { AT_ONCE }
    }

    /// How many messages may start now, whatever their chats.
    pub fn room(&mut self, now: Duration) -> usize {
        if self.is_off {
            return usize::MAX;
        }
        forget(&mut self.answered, now, OVERALL.1);
        if now < self.paused_until { 0 } else { OVERALL.0.saturating_sub(self.in_flight.len() + self.answered.len()) }
    }

    /// When the next message may start, if none may now and none is answered before.
    pub fn next_room(&self) -> Duration {
        let freed = self.answered.front().map_or(Duration::ZERO, |at| *at + OVERALL.1);
        self.paused_until.max(freed)
    }

    /// When a message to this chat may start: never while another is on its way there.
    pub fn chat_ready_at(&self, chat_id: i64, is_answer: bool) -> Duration {
        if self.in_flight.contains(&chat_id) {
            return Duration::MAX;
        }
        let Some(sent) = self.chats.get(&chat_id).filter(|_| !self.is_off) else { return Duration::ZERO };
        let ready_at = |(most, span): (usize, Duration)| {
            sent.len().checked_sub(most).and_then(|nth_last| sent.get(nth_last)).map_or(Duration::ZERO, |at| *at + span)
        };
        let own = ready_at(if is_answer { ANSWERS } else { NOTICES });
        // Groups have negative numbers.
        if chat_id < 0 { own.max(ready_at(GROUP)) } else { own }
    }

    /// A message to this chat has started.
    pub fn start(&mut self, chat_id: i64) {
        self.in_flight.insert(chat_id);
    }

    /// It was answered, or failed; either way it may have arrived.
    pub fn end(&mut self, chat_id: i64, now: Duration) {
        self.in_flight.remove(&chat_id);
        if self.is_off {
            return;
        }
        self.answered.push_back(now);
        let sent = self.chats.entry(chat_id).or_default();
        sent.push_back(now);
        forget(sent, now, GROUP.1);
        if self.chats.len() > 10_000 {
            self.chats.retain(|_, sent| sent.back().is_some_and(|last| *last + GROUP.1 > now));
        }
    }

    /// The service asks to wait: it does not say whether one chat or the whole bot is meant, so everything waits.
    pub fn pause(&mut self, until: Duration) {
        self.paused_until = self.paused_until.max(until);
    }
}

fn forget(sent: &mut VecDeque<Duration>, now: Duration, span: Duration) {
    while sent.front().is_some_and(|at| *at + span <= now) {
        sent.pop_front();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sends to `chats` in turn, each answered after `trip_ms`, one after the other; when each arrived, at the earliest.
    fn arrivals(count: u64, chat: impl Fn(u64) -> i64, is_answer: bool) -> Vec<Duration> {
        let mut pace = Pace::published();
        let mut now = Duration::ZERO;
        let mut arrived = Vec::new();
        for number in 0..count {
            let chat_id = chat(number);
            now = now.max(pace.chat_ready_at(chat_id, is_answer));
            while pace.room(now) == 0 {
                now = pace.next_room();
            }
            pace.start(chat_id);
            arrived.push(now);
            now += Duration::from_millis(number % 7);
            pace.end(chat_id, now);
        }
        arrived
    }

    fn most_within(arrived: &[Duration], span: Duration) -> usize {
        let within = |first: &Duration| arrived.iter().filter(|at| *at >= first && **at < *first + span).count();
        arrived.iter().map(within).max().unwrap_or_default()
    }

    /// Bot FAQ, "My bot is hitting limits": 30 a second overall, 1 a second in a chat, 20 a minute in a group.
    #[test]
    fn no_published_limit_is_passed_and_none_is_left_unused() {
        let all = arrivals(1000, |number| i64::try_from(number).unwrap_or_default() + 1, false);
        assert_eq!(most_within(&all, SECOND), 30);
        let published = Duration::from_millis(1000 * 1000 / 30);
        assert!(*all.last().expect("sent") < published * 105 / 100, "{:?}", all.last());
        assert_eq!(most_within(&arrivals(20, |_| 5, false), SECOND), 1, "notices to one chat");
        assert_eq!(most_within(&arrivals(20, |_| 5, true), Duration::from_secs(3)), 3, "answers to one chat");
        assert_eq!(most_within(&arrivals(100, |_| -5, false), Duration::from_secs(60)), 20, "a group");
    }

    #[test]
    fn a_wish_to_wait_holds_everything() {
        let mut pace = Pace::published();
        pace.pause(Duration::from_secs(7));
        assert_eq!((pace.room(Duration::from_secs(6)), pace.next_room()), (0, Duration::from_secs(7)));
        assert_eq!(pace.room(Duration::from_secs(7)), 30);
    }
}
