//! One HTTP client with time-outs, and the bot on it.

use std::time::Duration;
use teloxide::Bot;

/// Seconds the service may hold a poll open when there is nothing.
pub const POLL_SECONDS: u32 = 20;

/// Why the service cannot be reached at all.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("--api-url {0:?} is not an address such as https://example.org")]
    ApiUrl(String),
    #[error("the HTTP client cannot be made: {0}")]
    Client(#[from] reqwest::Error),
}

/// A bot with this token; `api_url` replaces the public service's address.
///
/// # Errors
/// [`Error`] when the address is not one.
pub fn bot(token: &str, api_url: Option<&str>) -> Result<Bot, Error> {
    let mut client = reqwest::Client::builder()
        .connect_timeout(Duration::from_secs(5))
        .timeout(Duration::from_secs(u64::from(POLL_SECONDS) + 15))
        .tcp_nodelay(true);
    // A server on this machine is not asked for through anybody else's.
    if api_url.is_some_and(|url| ["http://127.0.0.1:", "http://localhost:"].iter().any(|near| url.starts_with(near))) {
        client = client.no_proxy();
    }
    let bot = Bot::with_client(token, client.build()?);
    match api_url {
        None => Ok(bot),
        Some(url) => match reqwest::Url::parse(url) {
            Ok(parsed) if matches!(parsed.scheme(), "http" | "https") => Ok(bot.set_api_url(parsed)),
            _ => Err(Error::ApiUrl(url.to_owned())),
        },
    }
}
