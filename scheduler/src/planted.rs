//! Faults planted on purpose, to prove that the simulation finds them. In a build without the feature `planted` none can
//! be turned on and [`is_on`] is a constant.

/// A planted fault, named for what it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bug {
    /// An update is acted on without being marked as seen.
    ForgetInboxMark,
    /// Messages go out before their transaction is committed.
    SendBeforeCommit,
    /// Messages are marked as sent when they are claimed.
    MarkSentBeforeSending,
    /// The service's wish to wait is passed over.
    IgnoreRetryAfter,
    /// A chat's later message does not wait for its earlier one.
    OvertakeInChat,
    /// Orders are promised one pack more than there is.
    OverAward,
    /// A promise is lowered at weighing although stock exists.
    LowerPromise,
    /// The timetable's expressions are read in UTC.
    TimetableInUtc,
    /// A restaurant's message goes to the contacts of another.
    WrongBuyer,
    /// An occurrence is marked after its transaction, in one of its own.
    MarkOccurrenceApart,
    /// Stock handed to a food bank leaves the cold room without an entry in the ledger.
    ForgetLedger,
    /// An order is answered and not kept.
    ForgetOrder,
    /// A drop-off is proposed an hour before the food bank opens.
    DropBeforeOpening,
    /// What the cold room loses on a delivery morning does not reach the promises.
    ShareOnce,
    /// A connection whose transaction the database has taken back by itself is used again, and no commit is checked.
    ReuseFailedConnection,
    /// A commit is believed without reading it back.
    TrustCommit,
    /// An update that meets a database which does not answer is given up on.
    GiveUpInOutage,
    /// The timetable stays planned until an instant that a wrong clock named.
    KeepPlannedUntil,
    /// A job that fails is tried again and again before any other.
    FailingJobBlocks,
    /// Strangers are taken and answered before those who have joined.
    StrangersFirst,
    /// A message that could not be sent for hours is given up although it is useful.
    GiveUpAfterTries,
    /// Messages are taken long before their turn: a wait longer than their lease lets them be taken once more.
    TakeBeforeTurn,
    /// What the service says to be done, in an answer that cannot be read, is sent again.
    ForgetUnreadableOk,
    /// A second program may serve from the same database, and gives back what the first has in hand.
    ServeTwice,
    /// A press on a card whose next version is still on its way counts for nothing.
    DropLatePress,
}

impl Bug {
    pub const ALL: [Bug; 25] = [
        Bug::ForgetInboxMark,
        Bug::SendBeforeCommit,
        Bug::MarkSentBeforeSending,
        Bug::IgnoreRetryAfter,
        Bug::OvertakeInChat,
        Bug::OverAward,
        Bug::LowerPromise,
        Bug::TimetableInUtc,
        Bug::WrongBuyer,
        Bug::MarkOccurrenceApart,
        Bug::ForgetLedger,
        Bug::ForgetOrder,
        Bug::DropBeforeOpening,
        Bug::ShareOnce,
        Bug::ReuseFailedConnection,
        Bug::TrustCommit,
        Bug::GiveUpInOutage,
        Bug::KeepPlannedUntil,
        Bug::FailingJobBlocks,
        Bug::StrangersFirst,
        Bug::GiveUpAfterTries,
        Bug::TakeBeforeTurn,
        Bug::ForgetUnreadableOk,
        Bug::ServeTwice,
        Bug::DropLatePress,
    ];
}

#[cfg(not(feature = "planted"))]
pub const fn is_on(_: Bug) -> bool {
    false
}

#[cfg(feature = "planted")]
pub use switch::{is_on, on_early_send, send_early, turn_on};

#[cfg(feature = "planted")]
mod switch {
    use super::Bug;
    use std::cell::{Cell, RefCell};

    type EarlySend = Box<dyn Fn(i64, &str)>;

    thread_local! {
        static ON: Cell<Option<Bug>> = const { Cell::new(None) };
        static EARLY_SEND: RefCell<Option<EarlySend>> = const { RefCell::new(None) };
    }

    /// Whether this fault is turned on in this thread.
    pub fn is_on(bug: Bug) -> bool {
        ON.get() == Some(bug)
    }

    /// Turns one fault on in this thread, and every other off.
    pub fn turn_on(bug: Option<Bug>) {
        ON.set(bug);
    }

    /// Who takes the messages of [`Bug::SendBeforeCommit`]: chat and body.
    pub fn on_early_send(take: impl Fn(i64, &str) + 'static) {
        EARLY_SEND.set(Some(Box::new(take)));
    }

    /// Sends at once.
    pub fn send_early(chat_id: i64, body: &str) {
        EARLY_SEND.with_borrow(|take| {
            if let Some(take) = take {
                take(chat_id, body);
            }
        });
    }
}
