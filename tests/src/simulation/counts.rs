//! What is counted, so that a simulation in which nothing happens is seen to be one.

use std::collections::BTreeMap;
use std::fmt;

/// Every kind of mishap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mishap {
    /// The program stops while a transaction waits for its lock or a statement.
    StoppedAtStatement,
    /// The program stops just before or just after a commit.
    StoppedAtCommit,
    /// The program stops before the service has acted, or before its answer has come.
    StoppedAtCall,
    DiskFull,
    /// A write or a sync fails.
    DiskFailed,
    /// A commit is done and reported as failed.
    CommitDoneAndFailed,
    /// A commit is reported as done and is not.
    CommitPretended,
    DatabaseBusy,
    /// 429 with `retry_after`.
    TooManyRequests,
    /// 5xx.
    ServerError,
    /// The service has acted, and nobody learns of it.
    AnswerLost,
    SlowAnswer,
    UpdateRepeated,
    UpdatesReordered,
    /// Somebody sets the clock, back or forward.
    ClockSet,
    /// Nothing runs for a while.
    Asleep,
    /// A message goes to somebody who has blocked the bot.
    Blocked,
    /// A message goes to a group that has become a supergroup.
    GroupMoved,
    /// A message that somebody has deleted is to be changed.
    MessageDeleted,
    /// The database does not answer for up to a minute or two.
    DatabaseOut,
    /// The machine's clock stands a month ahead for a while.
    ClockMonthAhead,
    /// A machine whose clock was a month ahead has planned the timetable before.
    PlannedAhead,
    /// A row that makes one job fail.
    PoisonedRow,
    /// Many strangers write at once.
    Strangers,
    /// The service does not answer for hours.
    Outage,
    /// 429 with `retry_after` for every chat.
    Flood,
    /// The service has acted and says so in an answer that cannot be read.
    UnreadableAnswer,
    /// Somebody starts the program a second time, while a message is on its way.
    SecondStart,
}

impl Mishap {
    pub const ALL: [Mishap; 28] = [
        Mishap::StoppedAtStatement,
        Mishap::StoppedAtCommit,
        Mishap::StoppedAtCall,
        Mishap::DiskFull,
        Mishap::DiskFailed,
        Mishap::CommitDoneAndFailed,
        Mishap::CommitPretended,
        Mishap::DatabaseBusy,
        Mishap::TooManyRequests,
        Mishap::ServerError,
        Mishap::AnswerLost,
        Mishap::SlowAnswer,
        Mishap::UpdateRepeated,
        Mishap::UpdatesReordered,
        Mishap::ClockSet,
        Mishap::Asleep,
        Mishap::Blocked,
        Mishap::GroupMoved,
        Mishap::MessageDeleted,
        Mishap::DatabaseOut,
        Mishap::ClockMonthAhead,
        Mishap::PlannedAhead,
        Mishap::PoisonedRow,
        Mishap::Strangers,
        Mishap::Outage,
        Mishap::Flood,
        Mishap::UnreadableAnswer,
        Mishap::SecondStart,
    ];
}

/// How often each happened.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Mishaps(BTreeMap<Mishap, u64>);

impl Mishaps {
    pub fn note(&mut self, mishap: Mishap) {
        *self.0.entry(mishap).or_default() += 1;
    }

    pub fn of(&self, mishap: Mishap) -> u64 {
        self.0.get(&mishap).copied().unwrap_or_default()
    }

    pub fn add(&mut self, other: &Mishaps) {
        for (mishap, count) in &other.0 {
            *self.0.entry(*mishap).or_default() += count;
        }
    }
}

impl fmt::Debug for Mishaps {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// What happened on farms.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub weeks: u64,
    pub updates: u64,
    /// Calls of the service.
    pub messages: u64,
    /// Statements, beginnings and ends of transactions.
    pub store_calls: u64,
    pub mishaps: Mishaps,
    pub orders: u64,
    pub closed_days: u64,
    pub short_lines: u64,
    pub deliveries: u64,
    pub claims: u64,
    pub drops: u64,
    pub cards_compared: u64,
    /// Promises that a weighing lowered.
    pub cuts: u64,
    /// Rows of quick presses that were counted.
    pub quick_presses: u64,
    /// Things somebody of the family was to press and forgot.
    pub forgotten: u64,
    /// Lines that count as delivered because nobody said anything.
    pub assumed: u64,
    /// Steps after which all promises of a weighed day were set beside the cold room.
    pub weighings: u64,
}

impl Counts {
    /// Adds another farm's.
    pub fn add(&mut self, other: &Counts) {
        self.weeks += other.weeks;
        self.updates += other.updates;
        self.messages += other.messages;
        self.store_calls += other.store_calls;
        self.mishaps.add(&other.mishaps);
        self.orders += other.orders;
        self.closed_days += other.closed_days;
        self.short_lines += other.short_lines;
        self.deliveries += other.deliveries;
        self.claims += other.claims;
        self.drops += other.drops;
        self.cards_compared += other.cards_compared;
        self.cuts += other.cuts;
        self.quick_presses += other.quick_presses;
        self.weighings += other.weighings;
        self.forgotten += other.forgotten;
        self.assumed += other.assumed;
    }
}
