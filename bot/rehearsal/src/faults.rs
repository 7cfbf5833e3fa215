//! Faults to throw: what goes wrong between a bot and the API, on the next calls of a method.

use std::time::Duration;

/// What goes wrong with a call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// 429 with `parameters.retry_after`, in seconds; nothing is done.
    TooManyRequests { retry_after_s: u64 },
    /// This 5xx; nothing is done.
    ServerError(u16),
    /// The connection closes without an answer; nothing is done.
    CutBefore,
    /// The call is carried out, then the connection closes: the answer is lost.
    CutAfter,
    /// The call is carried out and answered with an ok in a shape that no client knows; a new message keeps its number.
    Unreadable,
    /// The call is carried out and answered with an ok that no client can read and that repeats all that was sent.
    Echo,
    /// The call is refused (400) in words that quote all that was sent; nothing is done.
    EchoRefused,
    /// The call is carried out, then waits this long in real time before it is answered.
    Slow(Duration),
}

/// In place of a method: whatever puts a message before people, new or edited.
pub const ANY_MESSAGE: &str = "any message";

#[derive(Debug, Default)]
pub(crate) struct Faults(Vec<Planned>);

#[derive(Debug)]
struct Planned {
    fault: Fault,
    method: Option<String>,
    chat: Option<i64>,
    calls: u32,
}

impl Faults {
    /// Plans `fault` for the next `calls` calls of `method` (any, if `None`).
    pub fn plan(&mut self, fault: Fault, method: Option<&str>, calls: u32) {
        self.0.push(Planned { fault, method: method.map(str::to_ascii_lowercase), chat: None, calls });
    }

    /// Plans `fault` for the next `calls` messages to this chat, new or edited.
    pub fn plan_in(&mut self, chat: i64, fault: Fault, calls: u32) {
        self.0.push(Planned { fault, method: Some(ANY_MESSAGE.to_owned()), chat: Some(chat), calls });
    }

    /// The fault of a call of `method` (lower case) about `chat`: the first planned that fits, now used once.
    pub fn take(&mut self, method: &str, chat: Option<i64>) -> Option<Fault> {
        self.0.retain(|planned| planned.calls > 0);
        let is_message =
            method.starts_with("editmessage") || matches!(method, "sendmessage" | "sendphoto" | "senddocument");
        let fits = |planned: &&mut Planned| {
            let is_method = match planned.method.as_deref() {
                Some(ANY_MESSAGE) => is_message,
                wanted => wanted.is_none_or(|wanted| wanted == method),
            };
            is_method && planned.chat.is_none_or(|wanted| Some(wanted) == chat)
        };
        let planned = self.0.iter_mut().find(fits)?;
        planned.calls -= 1;
        Some(planned.fault)
    }

    pub fn clear(&mut self) {
        self.0.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_meet_the_calls_they_are_planned_for() {
        let mut faults = Faults::default();
        faults.plan(Fault::CutAfter, Some("sendMessage"), 2);
        faults.plan(Fault::ServerError(502), None, 1);
        let met: Vec<_> =
            ["getupdates", "sendmessage", "sendmessage", "sendmessage"].map(|m| faults.take(m, None)).into();
        assert_eq!(met, [Some(Fault::ServerError(502)), Some(Fault::CutAfter), Some(Fault::CutAfter), None]);
        faults.plan(Fault::CutBefore, Some(ANY_MESSAGE), 2);
        let met: Vec<_> = ["getupdates", "senddocument", "answercallbackquery", "editmessagetext", "sendmessage"]
            .map(|m| faults.take(m, Some(7)).is_some())
            .into();
        assert_eq!(met, [false, true, false, true, false]);
        faults.plan_in(7, Fault::Unreadable, 1);
        let met: Vec<_> = [Some(8), None, Some(7), Some(7)].map(|chat| faults.take("sendmessage", chat)).into();
        assert_eq!(met, [None, None, Some(Fault::Unreadable), None]);
    }
}
