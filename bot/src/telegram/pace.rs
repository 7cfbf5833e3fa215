//! When a message may go out. Rule (Bot FAQ, "My bot is hitting limits"): about 30 messages a second overall, about one a
//! second in a chat with short bursts let through, 20 a minute in a group.
//!
//! A place is free again only once its span has passed since the service *answered*: whenever the message arrived there,
//! that was earlier, so that no delay on the way makes two spans overlap. What somebody waits for may use a chat's short
//! burst (three in three seconds: common practice, no source); notices keep to one a second. Answers to presses and menus
//! are no messages and are not counted.
//!
//! A wish of the service to wait holds the chat it was said about. Said about several chats within a second, or about none,
//! it holds all of them.

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
/// Chats that are told to wait within a second when the whole bot is meant. The service does not say which it means: common
/// practice, no source.
const CHATS_OF_A_FLOOD: usize = 3;

/// What went out when; times are since any fixed moment.
#[derive(Debug)]
pub struct Pace {
    is_off: bool,
    at_once: usize,
    /// Chats with a message on its way.
    in_flight: BTreeSet<i64>,
    answered: VecDeque<Duration>,
    chats: BTreeMap<i64, VecDeque<Duration>>,
    /// Until when each chat is to be left alone.
    waits: BTreeMap<i64, Duration>,
    /// Wishes of the last second: when, about which chat, and until when.
    wishes: VecDeque<(Duration, i64, Duration)>,
    paused_until: Duration,
}

impl Pace {
    /// The published pace.
    pub fn published() -> Pace {
        Pace {
            is_off: false,
            at_once: AT_ONCE,
            in_flight: BTreeSet::new(),
            answered: VecDeque::new(),
            chats: BTreeMap::new(),
            waits: BTreeMap::new(),
            wishes: VecDeque::new(),
            paused_until: Duration::ZERO,
        }
    }

    /// As fast as the service takes messages, one after the other and so the same in every run.
    pub fn off() -> Pace {
        Pace { is_off: true, ..Pace::published().one_by_one() }
    }

    /// One message on its way at a time, so that every run with the same clock is the same.
    pub fn one_by_one(self) -> Pace {
        Pace { at_once: 1, ..self }
    }

    /// Whether messages go as fast as the service takes them.
    pub fn is_off(&self) -> bool {
        self.is_off
    }

    /// How many messages may be on their way at a time.
    pub fn at_once(&self) -> usize {
        self.at_once
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
        let freed = self.answered.front().filter(|_| self.answered.len() + self.in_flight.len() >= OVERALL.0);
        self.paused_until.max(freed.map_or(Duration::ZERO, |at| *at + OVERALL.1))
    }

    /// Until when nothing at all is to be sent, whatever it is.
    pub fn paused_until(&self) -> Duration {
        if self.is_off { Duration::ZERO } else { self.paused_until }
    }

    /// When a message to this chat may start: never while another is on its way there.
    pub fn chat_ready_at(&self, chat_id: i64, is_answer: bool) -> Duration {
        if self.in_flight.contains(&chat_id) {
            return Duration::MAX;
        }
        if self.is_off {
            return Duration::ZERO;
        }
        let wish = self.waits.get(&chat_id).copied().unwrap_or_default();
        let Some(sent) = self.chats.get(&chat_id) else { return wish };
        let ready_at = |(most, span): (usize, Duration)| {
            sent.len().checked_sub(most).and_then(|nth_last| sent.get(nth_last)).map_or(Duration::ZERO, |at| *at + span)
        };
        // A notice keeps to the burst, too: it may come right after the answers that used it up.
        let own = if is_answer { ready_at(ANSWERS) } else { ready_at(ANSWERS).max(ready_at(NOTICES)) }.max(wish);
        // Groups have negative numbers.
        if chat_id < 0 { own.max(ready_at(GROUP)) } else { own }
    }

    /// A message to this chat has started.
    pub fn start(&mut self, chat_id: i64) {
        self.in_flight.insert(chat_id);
    }

    /// It did not start after all.
    pub fn call_off(&mut self, chat_id: i64) {
        self.in_flight.remove(&chat_id);
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

    /// The service asks to wait with this chat, or with everything where it names none.
    pub fn wish(&mut self, chat_id: Option<i64>, (now, until): (Duration, Duration)) {
        let Some(chat_id) = chat_id else {
            self.paused_until = self.paused_until.max(until);
            return;
        };
        let wait = self.waits.entry(chat_id).or_default();
        *wait = until.max(*wait);
        self.waits.retain(|_, until| *until > now);
        self.wishes.push_back((now, chat_id, until));
        while self.wishes.front().is_some_and(|(at, ..)| *at + SECOND < now) {
            self.wishes.pop_front();
        }
        let chats: BTreeSet<i64> = self.wishes.iter().map(|(_, chat_id, _)| *chat_id).collect();
        if chats.len() >= CHATS_OF_A_FLOOD {
            let until = self.wishes.iter().map(|(.., until)| *until).max().unwrap_or_default();
            self.paused_until = self.paused_until.max(until);
        }
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
    fn a_notice_right_after_a_burst_of_answers_waits_for_its_end() {
        let mut pace = Pace::published();
        for second in 0..3 {
            pace.start(5);
            pace.end(5, Duration::from_secs(second) / 2);
        }
        assert_eq!(pace.chat_ready_at(5, false), Duration::from_secs(3));
        assert_eq!(pace.chat_ready_at(5, true), Duration::from_secs(3));
    }

    #[test]
    fn a_wish_holds_its_chat_and_one_about_several_chats_or_none_holds_all() {
        let seconds = Duration::from_secs;
        let mut pace = Pace::published();
        pace.wish(Some(1), (seconds(0), seconds(35)));
        assert_eq!((pace.chat_ready_at(1, true), pace.chat_ready_at(2, true)), (seconds(35), seconds(0)));
        assert_eq!(pace.room(seconds(1)), 30, "everybody else goes on");
        // Two chats by chance, and the first once more.
        pace.wish(Some(2), (seconds(60), seconds(70)));
        pace.wish(Some(1), (seconds(60), seconds(65)));
        assert_eq!((pace.room(seconds(60)), pace.chat_ready_at(3, true)), (30, seconds(0)));
        // A third within the second: the bot is meant, until the last of the three wishes.
        pace.wish(Some(3), (seconds(61), seconds(64)));
        assert_eq!((pace.room(seconds(69)), pace.next_room()), (0, seconds(70)));
        assert_eq!(pace.room(seconds(70)), 30);
        pace.wish(None, (seconds(80), seconds(87)));
        assert_eq!((pace.room(seconds(86)), pace.next_room()), (0, seconds(87)));
    }
}
