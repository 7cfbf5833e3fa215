//! Long polling: getUpdates waits until there is something, and gives way to a newer getUpdates.

use std::time::Duration;

use serde_json::json;

use crate::answer::{Answer, ApiError};
use crate::parameters::Parameters;
use crate::server::Shared;
use crate::updates;

/// Longest wait of one call, in real time: common practice, no source.
const TIMEOUT_S_MAX: i64 = 50;

pub(crate) async fn get_updates(shared: &Shared, params: &Parameters) -> Answer {
    let limit = updates::limit(params)?;
    let offset = params.number("offset")?.unwrap_or(0);
    let timeout_s = params.number("timeout")?.unwrap_or(0).clamp(0, TIMEOUT_S_MAX);
    let until = tokio::time::Instant::now() + Duration::from_secs(timeout_s.unsigned_abs());
    let mut arrivals = shared.arrivals.subscribe();
    let mut closing = shared.closing.subscribe();
    let turn = {
        let mut state = shared.state();
        refuse_beside_webhook(&state)?;
        state.updates.want(params)?;
        state.updates.begin_poll(offset, shared.now())
    };
    shared.arrive();
    loop {
        arrivals.mark_unchanged();
        {
            let mut state = shared.state();
            refuse_beside_webhook(&state)?;
            if !state.updates.is_turn(turn) {
                let why = "terminated by other getUpdates request; make sure that only one bot instance is running";
                return Err(ApiError::conflict(why));
            }
            let batch = state.updates.batch(limit);
            if !batch.is_empty() || timeout_s == 0 {
                return Ok(json!(batch));
            }
        }
        tokio::select! {
            _ = arrivals.changed() => {}
            () = tokio::time::sleep_until(until) => return Ok(json!([])),
            _ = closing.wait_for(|closing| *closing) => return Ok(json!([])),
        }
    }
}

fn refuse_beside_webhook(state: &crate::state::State) -> Result<(), ApiError> {
    let why = "can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first";
    match state.webhook {
        Some(_) => Err(ApiError::conflict(why)),
        None => Ok(()),
    }
}
