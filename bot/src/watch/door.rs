//! The door for whoever watches: `/health` and `/metrics`, to read only, and nothing of any person in either.

use super::health;
use crate::engine::Engine;
use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::get;
use scheduler::store::outbox::Depth;
use scheduler::store::{self, outbox};
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// OpenMetrics 1.0, "Overall Structure": the media type of the text format.
const OPEN_METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Answers on `listener` until `stop` says so.
pub async fn serve(listener: TcpListener, engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    let app = Router::new().route("/health", get(health)).route("/metrics", get(metrics)).with_state(engine);
    let stopped = async move {
        let _ = stop.wait_for(|stopping| *stopping).await;
    };
    if let Err(error) = axum::serve(listener, app).with_graceful_shutdown(stopped).await {
        tracing::error!(%error, "nobody can look at the bot any more");
    }
}

async fn health(State(engine): State<Arc<Engine>>) -> (StatusCode, String) {
    let faults = health::faults(&engine).await;
    match faults.is_empty() {
        true => (StatusCode::OK, "good\n".into()),
        false => (StatusCode::SERVICE_UNAVAILABLE, faults.join("\n") + "\n"),
    }
}

async fn metrics(State(engine): State<Arc<Engine>>) -> impl IntoResponse {
    // Where the database does not answer the counters are wanted most; what waits is then as it was read last.
    if let Ok(depth) = depth(&engine).await {
        engine.watch.outbox_holds(depth, engine.clock.now());
    }
    ([(header::CONTENT_TYPE, OPEN_METRICS)], engine.watch.text(engine.store.failures()))
}

async fn depth(engine: &Engine) -> store::Result<Depth> {
    outbox::depth(&mut engine.store.begin_reading().await?).await
}
