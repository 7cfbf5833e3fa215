//! What the page tells a browser: everything at first, then only what has changed.

use super::opening::Cast;
use super::picture;
use super::play::Play;
use crate::stage::Stage;
use bot_api_local::Call;
use scheduler::people::Role;
use scheduler::store::{outbox, people};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::atomic::Ordering;
use std::time::Duration;

/// How long a browser's question for changes is held open when there are none.
const HELD: Duration = Duration::from_secs(20);
/// Changes that come close together are told together.
const GATHERED: Duration = Duration::from_millis(30);
/// Messages of a chat that are shown at first.
const FIRST_MESSAGES: usize = 60;
/// Calls of the bot from which the dispatch book is written, and its last lines whose outcome may still change.
const CALLS_LOOKED_AT: u64 = 400;
const LINES_WATCHED: usize = 8;
/// How much a browser has.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
pub(super) struct Have {
    /// 0: nothing.
    #[serde(default)]
    pub since: u64,
    /// The number of the last call it knows for good.
    #[serde(default)]
    pub calls: u64,
    #[serde(default)]
    pub toasts: usize,
}

impl Play {
    /// What has changed since the browser last asked; waits for a change when nothing has.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn changes(&self, have: Have) -> anyhow::Result<Value> {
        let mut changed = self.stage.read().await.server.changed();
        let mut moved = self.moved.subscribe();
        let mut closing = self.closing();
        let until = tokio::time::Instant::now() + HELD;
        loop {
            changed.mark_unchanged();
            moved.mark_unchanged();
            let (picture, revision) = self.picture(have).await?;
            if revision > have.since || *closing.borrow() {
                return Ok(picture);
            }
            let is_over = tokio::select! {
                _ = changed.changed() => false,
                _ = moved.changed() => false,
                () = tokio::time::sleep_until(until) => true,
                _ = closing.wait_for(|closing| *closing) => true,
            };
            if is_over {
                return Ok(picture);
            }
            tokio::time::sleep(GATHERED).await;
        }
    }

    /// The revision of the page as it is now: a browser that has it has seen everything done so far.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn revision(&self) -> anyhow::Result<u64> {
        Ok(self.picture(Have { since: u64::MAX, calls: u64::MAX, toasts: usize::MAX }).await?.1)
    }

    async fn picture(&self, have: Have) -> anyhow::Result<(Value, u64)> {
        let stage = self.stage.read().await;
        let cast = self.cast().clone();
        let toasts = stage.server.toasts();
        let mut sheet = self.sheet(&stage, &cast).await?;
        let calls = stage.server.calls_after(stage.server.call_count().saturating_sub(CALLS_LOOKED_AT));
        let dispatch = |call: &Call| Some((call.number, picture::dispatch(call)?));
        let dispatched: Vec<(u64, Value)> = calls.iter().filter_map(dispatch).collect();
        let last_lines = &dispatched[dispatched.len().saturating_sub(LINES_WATCHED)..];
        let shown = cast.people.iter().map(|member| member.id).chain(cast.groups.iter().map(|(id, _)| *id));
        let mut album = self.album();
        // Taken with the album in hand: an older picture looked at after a newer one would pass for the newest, and a
        // browser that is told so would never ask for what it lacks.
        let chats: Vec<_> = shown.map(|id| (id, stage.server.chat(id))).collect();
        album.look(&chats, &format!("{sheet}{}{}", toasts.len(), json!(last_lines)));
        let mut messages = serde_json::Map::new();
        for (chat_id, all) in &chats {
            let first = if have.since == 0 { all.len().saturating_sub(FIRST_MESSAGES) } else { 0 };
            let newer = all.iter().enumerate().skip(first);
            let newer = newer.filter(|(index, _)| album.is_newer((*chat_id, *index), have.since));
            let newer: Vec<Value> = newer.map(|(_, message)| picture::message(*chat_id, message)).collect();
            if !newer.is_empty() {
                messages.insert(chat_id.to_string(), json!(newer));
            }
        }
        let told = if have.since == 0 { toasts.len() } else { have.toasts.min(toasts.len()) };
        let new_toasts = toasts[told..].iter().filter(|toast| !toast.text.is_empty());
        let new_toasts = new_toasts.map(|toast| json!({ "chat": toast.chat_id, "text": toast.text }));
        sheet["toasts"] = new_toasts.collect();
        sheet["toast_count"] = json!(toasts.len());
        let log = dispatched.into_iter().filter(|(number, _)| *number > have.calls).map(|(_, line)| line);
        sheet["log"] = log.collect();
        sheet["messages"] = Value::Object(messages);
        sheet["revision"] = json!(album.revision());
        Ok((sheet, album.revision()))
    }

    /// Everything but messages.
    async fn sheet(&self, stage: &Stage, cast: &Cast) -> anyhow::Result<Value> {
        let mut tx = stage.engine.store.begin_reading().await?;
        let everybody = people::everybody(&mut tx).await?;
        let buyers = people::buyers(&mut tx).await?;
        let waiting = outbox::next_due(&mut tx).await?;
        drop(tx);
        let mut panes = Vec::new();
        for member in &cast.people {
            let person = everybody.iter().find(|one| one.chat_id == member.id);
            let buyer = person.and_then(|person| buyers.iter().find(|buyer| Some(buyer.id) == person.buyer_id));
            panes.push(json!({
                "chat": member.id,
                "name": member.name,
                "language": person.map_or(&member.language, |person| &person.language),
                "role": person.map(|person| picture::role(person.role)),
                "place": buyer.map(|buyer| &buyer.name),
                "menu": stage.server.menu(member.id, member.id),
            }));
        }
        for (chat_id, title) in &cast.groups {
            panes.push(json!({ "chat": chat_id, "name": title, "group": true }));
        }
        let now = stage.now();
        let house = &stage.engine.house;
        let is_kept = everybody.iter().any(|one| one.role == Role::Keeper);
        let next_delivery = house.calendar.next_delivery(now).map(|delivery| delivery.departs_at);
        Ok(json!({
            "farm": house.config.farm.name,
            "zone": house.zone().name(),
            "now": now,
            "next_event": stage.next_event().await?,
            "next_delivery": next_delivery,
            "waiting_until": waiting,
            "running": self.is_running.load(Ordering::SeqCst),
            "busy": self.is_busy.load(Ordering::SeqCst),
            "claim_code": self.claim_code.as_ref().filter(|_| !is_kept),
            "panes": panes,
        }))
    }
}
