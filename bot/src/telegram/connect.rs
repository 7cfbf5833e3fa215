//! One HTTP client with time-outs, the bot on it, and calls past the library where its types would not forgive an answer.

use scheduler::clock::UtcSeconds;
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

/// What the service has answered to a call that is made past the library.
#[derive(Debug)]
pub struct Reply {
    pub body: String,
    /// The service's own time, from its "Date" header.
    pub date: Option<UtcSeconds>,
}

/// Calls a method with these parameters.
///
/// # Errors
/// Why no answer came, in words that name neither the token nor anything that was said.
pub async fn call(bot: &Bot, method: &str, parameters: &serde_json::Value) -> Result<Reply, String> {
    let mut url = bot.api_url();
    url.path_segments_mut()
        .map_err(|()| "the service's address has no path")?
        .push(&format!("bot{}", bot.token()))
        .push(method);
    let answer = bot.client().post(url).json(parameters).send().await.map_err(|error| broke(&error))?;
    let date = answer.headers().get(reqwest::header::DATE).and_then(|value| read_date(value.to_str().ok()?));
    let body = answer.bytes().await.map_err(|error| broke(&error))?;
    Ok(Reply { body: String::from_utf8_lossy(&body).into_owned(), date })
}

/// An HTTP date such as "Tue, 02 Jun 2026 23:00:00 GMT" (RFC 9110, section 5.6.7).
fn read_date(text: &str) -> Option<UtcSeconds> {
    chrono::DateTime::parse_from_rfc2822(text).ok().map(UtcSeconds::from)
}

fn broke(error: &reqwest::Error) -> String {
    let what = if error.is_timeout() {
        "the messaging service does not answer in time"
    } else if error.is_connect() {
        "the messaging service cannot be reached"
    } else {
        "the connection to the messaging service broke"
    };
    what.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_services_date_is_read() {
        // RFC 9110, section 5.6.7: the example in the preferred form.
        assert_eq!(read_date("Sun, 06 Nov 1994 08:49:37 GMT"), Some(UtcSeconds::new(784_111_777)));
        assert_eq!(read_date("yesterday"), None);
    }
}
