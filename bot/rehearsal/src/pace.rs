//! The API's pace, kept by the time that passes on the server's clock: who sends faster is told how long to wait.
//!
//! Rule (Bot FAQ, "My bot is hitting limits"): about one message a second in a chat with short bursts let through,
//! 20 a minute in a group, about 30 a second overall. The FAQ gives no size for a burst; three is common practice, no
//! source.

use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

/// How many messages go through in a span of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Allowance {
    pub messages: usize,
    pub span: Duration,
}

/// The three limits that hold side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PaceLimits {
    pub overall: Allowance,
    pub chat: Allowance,
    pub group: Allowance,
}

impl PaceLimits {
    /// The published limits.
    pub const PUBLISHED: PaceLimits = PaceLimits {
        overall: Allowance { messages: 30, span: Duration::from_secs(1) },
        chat: Allowance { messages: 3, span: Duration::from_secs(3) },
        group: Allowance { messages: 20, span: Duration::from_secs(60) },
    };
}

/// Counts messages and says when one is too many.
#[derive(Debug)]
pub struct PaceKeeper {
    limits: PaceLimits,
    overall: VecDeque<Duration>,
    chats: BTreeMap<i64, VecDeque<Duration>>,
}

impl PaceKeeper {
    pub fn new(limits: PaceLimits) -> PaceKeeper {
        PaceKeeper { limits, overall: VecDeque::new(), chats: BTreeMap::new() }
    }

    /// Counts one message to `chat_id` at `now` (time passed since any fixed moment).
    ///
    /// # Errors
    /// The whole seconds to wait; the message is not counted then.
    pub fn send(&mut self, chat_id: i64, now: Duration) -> Result<(), u64> {
        let chat = self.chats.entry(chat_id).or_default();
        // Groups have negative ids.
        let longest =
            if chat_id < 0 { self.limits.group.span.max(self.limits.chat.span) } else { self.limits.chat.span };
        forget(chat, now, longest);
        forget(&mut self.overall, now, self.limits.overall.span);
        let mut wait = wait(&self.overall, self.limits.overall, now).max(wait(chat, self.limits.chat, now));
        if chat_id < 0 {
            wait = wait.max(self::wait(chat, self.limits.group, now));
        }
        if !wait.is_zero() {
            return Err(wait.as_millis().div_ceil(1000).max(1) as u64);
        }
        chat.push_back(now);
        self.overall.push_back(now);
        Ok(())
    }
}

fn forget(sent: &mut VecDeque<Duration>, now: Duration, span: Duration) {
    while sent.front().is_some_and(|at| *at + span <= now) {
        sent.pop_front();
    }
}

/// How long until one more fits.
fn wait(sent: &VecDeque<Duration>, allowance: Allowance, now: Duration) -> Duration {
    let nth_last = sent.len().checked_sub(allowance.messages).and_then(|index| sent.get(index));
    nth_last.map_or(Duration::ZERO, |at| (*at + allowance.span).saturating_sub(now))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(times_ms: impl IntoIterator<Item = u64>, chat: impl Fn(u64) -> i64) -> (usize, Option<u64>) {
        let mut keeper = PaceKeeper::new(PaceLimits::PUBLISHED);
        for (count, at) in times_ms.into_iter().enumerate() {
            if let Err(wait_s) = keeper.send(chat(count as u64), Duration::from_millis(at)) {
                return (count, Some(wait_s));
            }
        }
        (usize::MAX, None)
    }

    /// About 30 a second overall, 1 a second in a chat, 20 a minute in a group: Bot FAQ, "My bot is hitting limits".
    #[test]
    fn the_published_pace_is_kept() {
        assert_eq!(sent((0..1000).map(|n| n * 34), |n| n as i64 + 1), (usize::MAX, None), "29 a second to all");
        assert_eq!(sent(vec![0; 31], |n| n as i64 + 1), (30, Some(1)), "a burst to all");
        assert_eq!(sent((0..100).map(|n| n * 1000), |_| 5), (usize::MAX, None), "one a second to one");
        assert_eq!(sent(vec![0; 9], |_| 5), (3, Some(3)), "a burst to one");
        assert_eq!(sent((0..100).map(|n| n * 3000), |_| -5), (usize::MAX, None), "20 a minute to a group");
        assert_eq!(sent((0..100).map(|n| n * 1000), |_| -5), (20, Some(40)), "one a second to a group");
    }
}
