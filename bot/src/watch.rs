//! What whoever keeps the bot running may look at: counters, and whether everything still moves. Counted where it happens,
//! read over HTTP where the configuration asks for it ([`door`]).

pub mod door;
pub mod health;
pub mod manager;

use prometheus_client::encoding::text;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::{Registry, Unit};
use scheduler::clock::UtcSeconds;
use scheduler::store::outbox::Depth;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Upper ends of the histogram's buckets, seconds.
const BUCKETS: [f64; 12] = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 5.0, 30.0];
/// Every way a counted thing may end, so that each is there from the start with 0.
const UPDATE_ENDS: [&str; 5] = ["done", "repeated", "meaningless", "unreadable", "set_aside"];
const MESSAGE_ENDS: [&str; 6] = ["sent", "put_back", "left_out", "moved", "unreachable", "refused"];
const OCCURRENCE_ENDS: [&str; 4] = ["in_time", "late", "missed", "failed"];

/// Counters by how the counted thing ended.
type ByEnd = Family<[(&'static str, &'static str); 1], Counter>;

/// What is counted, and when the taker and the sender last gave a sign.
#[derive(Debug)]
pub struct Watch {
    registry: Registry,
    updates: ByEnd,
    update_time: Histogram,
    messages: ByEnd,
    occurrences: ByEnd,
    database_errors: Counter,
    waiting: Gauge,
    oldest: Gauge,
    set_aside: Gauge,
    began: Instant,
    taker: Sign,
    sender: Sign,
    is_posted_to: AtomicBool,
    webhook_taken: Counter,
    state: Mutex<State>,
}

/// What is wrong at present, as far as whoever met it knows.
#[derive(Debug, Default)]
struct State {
    /// Since when updates wait for the database, since the watch began.
    database_silent: Option<Duration>,
    /// By how many seconds the machine's clock is ahead of the service's, and whether the keepers know.
    clock_off: Option<(i64, bool)>,
    /// What is wrong with the webhook.
    webhook: Option<String>,
}

impl Default for Watch {
    fn default() -> Watch {
        Watch::new()
    }
}

impl Watch {
    pub fn new() -> Watch {
        let mut registry = Registry::with_prefix("pinset");
        let counted = |registry: &mut Registry, name: &str, help: &str, ends: &[&'static str]| {
            let family = ByEnd::default();
            for end in ends {
                drop(family.get_or_create(&[("end", *end)]));
            }
            registry.register(name, help, family.clone());
            family
        };
        let updates = counted(&mut registry, "updates", "Updates acted on", &UPDATE_ENDS);
        let messages = counted(&mut registry, "messages", "Tries to send a message", &MESSAGE_ENDS);
        let occurrences = counted(&mut registry, "occurrences", "What the timetable did", &OCCURRENCE_ENDS);
        let update_time = Histogram::new(BUCKETS);
        let help = "From an update's arrival to its commit, those before it in the same poll included";
        registry.register_with_unit("update_commit", help, Unit::Seconds, update_time.clone());
        let database_errors = Counter::default();
        registry.register("database_errors", "Calls of the database that failed", database_errors.clone());
        let (waiting, oldest, set_aside) = (Gauge::default(), Gauge::default(), Gauge::default());
        registry.register("outbox_waiting", "Messages that wait to be sent", waiting.clone());
        let help = "Age of the oldest message that waits";
        registry.register_with_unit("outbox_oldest", help, Unit::Seconds, oldest.clone());
        registry.register("outbox_set_aside", "Messages that will never be sent", set_aside.clone());
        let webhook_taken = Counter::default();
        registry.register("webhook_taken", "Times that somebody else took the webhook away", webhook_taken.clone());
        let began = Instant::now();
        Watch {
            registry,
            updates,
            update_time,
            messages,
            occurrences,
            database_errors,
            waiting,
            oldest,
            set_aside,
            began,
            taker: Sign::default(),
            sender: Sign::default(),
            is_posted_to: AtomicBool::new(false),
            webhook_taken,
            state: Mutex::default(),
        }
    }

    pub(crate) fn update_ended(&self, end: &'static str) {
        self.updates.get_or_create(&[("end", end)]).inc();
    }

    pub(crate) fn update_committed(&self, after: Duration) {
        self.update_time.observe(after.as_secs_f64());
    }

    pub(crate) fn message_ended(&self, end: &'static str) {
        self.messages.get_or_create(&[("end", end)]).inc();
    }

    pub(crate) fn occurrence_ended(&self, end: &'static str) {
        self.occurrences.get_or_create(&[("end", end)]).inc();
    }

    /// The service has answered a question for updates, and all of them are committed.
    pub(crate) fn taker_lives(&self) {
        self.taker.give(self.began);
    }

    /// Updates are posted by the service: silence means nothing then.
    pub(crate) fn taker_is_posted_to(&self) {
        self.is_posted_to.store(true, Ordering::Relaxed);
    }

    pub(crate) fn sender_lives(&self) {
        self.sender.give(self.began);
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        self.state.lock().expect("nothing panics while it holds this")
    }

    /// Whether the database has taken what came in.
    pub(crate) fn database_answers(&self, is_well: bool) {
        let mut state = self.state();
        match is_well {
            true => state.database_silent = None,
            false => state.database_silent = state.database_silent.or(Some(self.began.elapsed())),
        }
    }

    /// By how many seconds the machine's clock is ahead of the service's, where that is too much.
    pub(crate) fn clock_is_off(&self, seconds: Option<i64>) {
        let mut state = self.state();
        let is_told = state.clock_off.is_some_and(|(_, is_told)| is_told);
        state.clock_off = seconds.map(|seconds| (seconds, is_told));
    }

    /// The same, where the keepers have not been told.
    pub(crate) fn clock_off_untold(&self) -> Option<i64> {
        self.state().clock_off.filter(|(_, is_told)| !is_told).map(|(seconds, _)| seconds)
    }

    pub(crate) fn clock_off_is_told(&self) {
        if let Some((_, is_told)) = &mut self.state().clock_off {
            *is_told = true;
        }
    }

    /// Somebody else has taken the webhook away.
    pub(crate) fn webhook_was_taken(&self) {
        self.webhook_taken.inc();
    }

    /// What is wrong with the webhook, if anything is.
    pub(crate) fn webhook_is(&self, fault: Option<String>) {
        self.state().webhook = fault;
    }

    fn outbox_holds(&self, depth: Depth, now: UtcSeconds) {
        self.waiting.set(depth.waiting);
        self.oldest.set(depth.oldest_at.map_or(0, |at| now.since(at).max(0)));
        self.set_aside.set(depth.set_aside);
    }

    /// Everything as OpenMetrics text.
    fn text(&self, database_errors: u64) -> String {
        self.database_errors.inner().store(database_errors, Ordering::Relaxed);
        let mut text = String::new();
        text::encode(&mut text, &self.registry).expect("a text takes everything that is written to it");
        text
    }
}

/// When something last showed that it lives; milliseconds since the watch began.
#[derive(Debug, Default)]
struct Sign(AtomicU64);

impl Sign {
    fn give(&self, began: Instant) {
        let elapsed = u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.0.store(elapsed, Ordering::Relaxed);
    }

    /// For how long there was none at `elapsed` since the watch began; the start counts as one.
    fn silence(&self, elapsed: Duration) -> Duration {
        elapsed.saturating_sub(Duration::from_millis(self.0.load(Ordering::Relaxed)))
    }
}
