//! The local server by plain HTTP: polling, offsets, forms of parameters, webhook, faults, hooks and pace.

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use bot_api_local::{Fault, PaceLimits, Phase, RehearsalConfig, RehearsalServer};
use reqwest::Client;
use scheduler::clock::{HandClock, UtcSeconds};
use serde_json::{Value, json};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

const MARA: i64 = 501;

async fn started(config: RehearsalConfig) -> RehearsalServer {
    let server = RehearsalServer::start(config).await.unwrap();
    server.add_user(MARA, "Mara", None);
    server
}

fn client() -> Client {
    Client::builder().no_proxy().build().unwrap()
}

fn url(server: &RehearsalServer, method: &str) -> String {
    format!("{}bot{}/{method}", server.api_url(), server.token())
}

async fn call(server: &RehearsalServer, method: &str, params: Value) -> Value {
    tried(server, method, params).await.unwrap()
}

async fn tried(server: &RehearsalServer, method: &str, params: Value) -> reqwest::Result<Value> {
    client().post(url(server, method)).json(&params).send().await?.json().await
}

#[tokio::test]
async fn a_waiting_poll_wakes_at_once() {
    let server = Arc::new(started(RehearsalConfig::default()).await);
    let began = Instant::now();
    let polling = tokio::spawn({
        let server = Arc::clone(&server);
        async move { call(&server, "getUpdates", json!({ "timeout": 50 })).await }
    });
    server.wait_until(|server| server.call_count() == 1).await;
    let update_id = server.say(MARA, MARA, "hello").unwrap();
    let answer = polling.await.unwrap();
    assert_eq!(answer["result"][0]["update_id"], json!(update_id));
    // Far below the 50 seconds it would have waited, far above what a busy machine needs.
    assert!(began.elapsed() < Duration::from_secs(20));
    assert!(!server.is_confirmed());
    call(&server, "getUpdates", json!({ "offset": update_id + 1 })).await;
    server.wait_confirmed().await;
}

#[tokio::test]
async fn an_older_poll_gives_way_to_a_newer() {
    let server = Arc::new(started(RehearsalConfig::default()).await);
    let polling = tokio::spawn({
        let server = Arc::clone(&server);
        async move { call(&server, "getUpdates", json!({ "timeout": 50 })).await }
    });
    server.wait_until(|server| server.call_count() == 1).await;
    // One thread runs server and test: a call in the log has begun its turn.
    call(&server, "getUpdates", json!({})).await;
    let older = polling.await.unwrap();
    assert_eq!(older["error_code"], json!(409));
    assert!(older["description"].as_str().unwrap().starts_with("Conflict: terminated by other getUpdates request"));
}

/// Four ways of making requests: Bot API reference, "Making requests".
#[tokio::test]
async fn parameters_come_in_four_forms() {
    let server = started(RehearsalConfig::default()).await;
    server.say(MARA, MARA, "hello").unwrap();
    let client = client();
    let markup = json!({ "inline_keyboard": [[{ "text": "Yes", "callback_data": "y" }]] });
    let fields = [("chat_id", MARA.to_string()), ("text", "hi & bye".to_owned()), ("reply_markup", markup.to_string())];
    let form =
        fields.clone().into_iter().fold(reqwest::multipart::Form::new(), |form, (name, value)| form.text(name, value));
    let requests = [
        client.get(url(&server, "SENDmessage")).query(&fields),
        client.post(url(&server, "sendMessage")).form(&fields),
        client
            .post(url(&server, "sendMessage"))
            .json(&json!({ "chat_id": MARA, "text": "hi & bye", "reply_markup": markup })),
        client.post(url(&server, "sendMessage")).multipart(form),
    ];
    for request in requests {
        let answer: Value = request.send().await.unwrap().json().await.unwrap();
        assert_eq!(answer["result"]["text"], json!("hi & bye"), "{answer}");
        assert_eq!(answer["result"]["reply_markup"], markup);
    }
    assert_eq!(server.chat(MARA).len(), 5);
    for call in server.calls() {
        assert_eq!(call.params["reply_markup"], markup, "the log shows objects whatever their form");
    }
}

/// A body in chunks, its last chunk late: the connection must serve the next call as well.
#[tokio::test]
async fn a_connection_serves_on_after_a_chunked_upload() {
    let server = started(RehearsalConfig::default()).await;
    server.say(MARA, MARA, "hello").unwrap();
    let address = server.api_url().socket_addrs(|| None).unwrap()[0];
    let mut stream = BufReader::new(TcpStream::connect(address).await.unwrap());
    let part = |field: &str, value: &str| {
        format!("--cut\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n")
    };
    let body = format!("{}{}--cut--\r\n", part("chat_id", "501"), part("document\"; filename=\"a.txt", "abc"));
    for _ in 0..2 {
        let path = format!("/bot{}/sendDocument", server.token());
        let head = "Transfer-Encoding: chunked\r\nContent-Type: multipart/form-data; boundary=cut";
        let start = format!("POST {path} HTTP/1.1\r\nHost: {address}\r\n{head}\r\n\r\n{:x}\r\n{body}\r\n", body.len());
        stream.write_all(start.as_bytes()).await.unwrap();
        stream.flush().await.unwrap();
        stream.write_all(b"0\r\n\r\n").await.unwrap();
        assert!(answer_of(&mut stream).await.contains("\"file_name\":\"a.txt\""));
    }
    assert_eq!(server.chat(MARA).len(), 3);
}

/// Reads one response; gives its body.
async fn answer_of(stream: &mut BufReader<TcpStream>) -> String {
    let mut length = 0;
    loop {
        let mut line = String::new();
        assert_ne!(stream.read_line(&mut line).await.unwrap(), 0, "closed");
        if let Some(value) = line.to_ascii_lowercase().strip_prefix("content-length:") {
            length = value.trim().parse().unwrap();
        }
        if line == "\r\n" {
            break;
        }
    }
    let mut body = vec![0; length];
    stream.read_exact(&mut body).await.unwrap();
    String::from_utf8(body).unwrap()
}

#[tokio::test]
async fn errors_have_the_shape_and_status_of_the_api() {
    let server = started(RehearsalConfig::default()).await;
    for (path, code, description) in [
        (format!("bot{}/getMe", "7000000001:wrong"), 401, "Unauthorized"),
        (format!("bot{}/getNothing", server.token()), 404, "Not Found: method not found"),
        (format!("bot{}/getChat?chat_id=5", server.token()), 400, "Bad Request: chat not found"),
        (format!("file/bot{}/documents/document-1", server.token()), 404, "Not Found"),
        ("elsewhere".to_owned(), 404, "Not Found"),
    ] {
        let response = client().get(format!("{}{path}", server.api_url())).send().await.unwrap();
        assert_eq!(response.status(), code, "{path}");
        let body: Value = response.json().await.unwrap();
        assert_eq!(body, json!({ "ok": false, "error_code": code, "description": description }));
    }
    let foreign = client().get(url(&server, "getMe")).header("Host", "farm.example").send().await.unwrap();
    assert_eq!(foreign.status(), 403);
}

#[tokio::test]
async fn faults_hit_the_calls_they_are_planned_for() {
    let server = started(RehearsalConfig::default()).await;
    server.say(MARA, MARA, "hello").unwrap();
    let hi = json!({ "chat_id": MARA, "text": "hi" });

    server.fault(Fault::TooManyRequests { retry_after_s: 5 }, Some("sendMessage"), 1);
    let answer = call(&server, "sendMessage", hi.clone()).await;
    // Shape: Bot API reference, "ResponseParameters".
    let expected = json!({
        "ok": false,
        "error_code": 429,
        "description": "Too Many Requests: retry after 5",
        "parameters": { "retry_after": 5 }
    });
    assert_eq!(answer, expected);

    server.fault(Fault::ServerError(502), None, 1);
    assert_eq!(call(&server, "getMe", json!({})).await["description"], json!("Bad Gateway"));
    assert_eq!(server.chat(MARA).len(), 1, "nothing was sent so far");

    server.fault(Fault::CutBefore, Some("sendMessage"), 1);
    assert!(tried(&server, "sendMessage", hi.clone()).await.is_err());
    assert_eq!(server.chat(MARA).len(), 1);
    server.fault(Fault::CutAfter, Some("sendMessage"), 1);
    assert!(tried(&server, "sendMessage", hi.clone()).await.is_err());
    assert_eq!(server.chat(MARA).len(), 2, "carried out, the answer lost");

    server.fault(Fault::Slow(Duration::from_millis(30)), None, 1);
    let began = Instant::now();
    assert_eq!(call(&server, "sendMessage", hi.clone()).await["ok"], json!(true));
    assert!(began.elapsed() >= Duration::from_millis(30));

    server.fault_in(MARA, Fault::Unreadable, 1);
    let answer = call(&server, "sendMessage", hi).await;
    assert_eq!((&answer["ok"], &answer["result"]["chat"]), (&json!(true), &json!(null)), "{answer}");
    assert_eq!(server.chat(MARA).len(), 4, "carried out, the answer of a shape nobody knows");
    let told: Vec<_> = server.calls().iter().map(|call| (call.is_ok(), call.is_delivered)).collect();
    assert_eq!(told, [(false, true), (false, true), (false, false), (true, false), (true, true), (true, true)]);
}

#[tokio::test]
async fn the_hook_sees_each_call_and_may_cut_it() {
    let seen = Arc::new(Mutex::new(Vec::new()));
    let on_call = {
        let seen = Arc::clone(&seen);
        Arc::new(move |number: u64, method: &str, phase| {
            seen.lock().unwrap().push((number, method.to_owned(), phase));
            (number == 2).then_some(Fault::CutBefore)
        })
    };
    let server = started(RehearsalConfig { on_call: Some(on_call), ..RehearsalConfig::default() }).await;
    server.say(MARA, MARA, "hello").unwrap();
    let hi = json!({ "chat_id": MARA, "text": "hi" });
    assert_eq!(call(&server, "sendMessage", hi.clone()).await["ok"], json!(true));
    assert!(tried(&server, "sendMessage", hi.clone()).await.is_err());
    assert_eq!(call(&server, "sendMessage", hi).await["ok"], json!(true));
    assert_eq!(server.chat(MARA).len(), 3);
    let expected = [(1, Phase::Before), (1, Phase::After), (2, Phase::Before), (3, Phase::Before), (3, Phase::After)];
    let expected = expected.map(|(number, phase)| (number, "sendMessage".to_owned(), phase));
    assert_eq!(*seen.lock().unwrap(), expected);
}

#[tokio::test]
async fn a_bot_that_died_while_polling_misses_nothing() {
    let server = Arc::new(started(RehearsalConfig::default()).await);
    let polling = tokio::spawn({
        let server = Arc::clone(&server);
        async move { call(&server, "getUpdates", json!({ "timeout": 50 })).await }
    });
    server.wait_until(|server| server.call_count() == 1).await;
    polling.abort();
    assert!(polling.await.unwrap_err().is_cancelled());
    let update_id = server.say(MARA, MARA, "hello").unwrap();
    let answer = call(&server, "getUpdates", json!({ "timeout": 50 })).await;
    assert_eq!(answer["result"][0]["update_id"], json!(update_id));
}

#[tokio::test]
async fn an_update_may_come_twice() {
    let server = started(RehearsalConfig::default()).await;
    let update_id = server.say(MARA, MARA, "hello").unwrap();
    call(&server, "getUpdates", json!({ "offset": update_id + 1 })).await;
    server.repeat_update(update_id).unwrap();
    let answer = call(&server, "getUpdates", json!({ "offset": update_id + 1 })).await;
    assert_eq!(answer["result"][0]["update_id"], json!(update_id));
    assert!(!server.is_confirmed());
    let answer = call(&server, "getUpdates", json!({ "offset": update_id + 1 })).await;
    assert_eq!(answer["result"], json!([]));
    assert!(server.is_confirmed());
}

#[tokio::test]
async fn presses_and_updates_age_by_the_given_clock() {
    let clock = Arc::new(HandClock::at(UtcSeconds::new(1_800_000_000)));
    let server = started(RehearsalConfig { clock: clock.clone(), ..RehearsalConfig::default() }).await;
    server.say(MARA, MARA, "hello").unwrap();
    assert_eq!(server.chat(MARA)[0].date, UtcSeconds::new(1_800_000_000));
    let markup = json!({ "inline_keyboard": [[{ "text": "Yes", "callback_data": "y" }]] });
    call(&server, "sendMessage", json!({ "chat_id": MARA, "text": "hi", "reply_markup": markup })).await;
    server.press(MARA, MARA, 2, bot_api_local::Pressed::At(0, 0)).unwrap();
    let updates = call(&server, "getUpdates", json!({ "offset": -1 })).await;
    let id = updates["result"][0]["callback_query"]["id"].clone();
    let long = json!({ "callback_query_id": id, "text": "x".repeat(201) });
    // 0-200 characters: Bot API reference, "answerCallbackQuery".
    assert_eq!(call(&server, "answerCallbackQuery", long).await["description"], json!("Bad Request: MESSAGE_TOO_LONG"));
    clock.set(UtcSeconds::new(1_800_000_000 + 25 * 3600));
    let late = call(&server, "answerCallbackQuery", json!({ "callback_query_id": id, "text": "x".repeat(200) })).await;
    assert_eq!(late["error_code"], json!(400));
    // Kept no longer than 24 hours: Bot API reference, "Getting updates".
    assert_eq!(call(&server, "getUpdates", json!({})).await["result"], json!([]));
}

/// 1 message a second in a chat, short bursts let through: Bot FAQ, "My bot is hitting limits".
#[tokio::test]
async fn who_sends_faster_than_the_published_pace_is_told_to_wait() {
    let server = started(RehearsalConfig { pace: Some(PaceLimits::PUBLISHED), ..RehearsalConfig::default() }).await;
    server.say(MARA, MARA, "hello").unwrap();
    let mut refusals = Vec::new();
    for _ in 0..10 {
        let answer = call(&server, "sendMessage", json!({ "chat_id": MARA, "text": "hi" })).await;
        refusals.extend(answer["parameters"]["retry_after"].as_u64());
    }
    assert!(!refusals.is_empty() && refusals.iter().all(|wait_s| (1..=3).contains(wait_s)), "{refusals:?}");
}

type Posted = Arc<Mutex<Vec<(Option<String>, Value)>>>;

/// Takes an update at the second try only.
async fn hook(State(posted): State<Posted>, headers: HeaderMap, body: String) -> StatusCode {
    let secret = headers.get("X-Telegram-Bot-Api-Secret-Token").map(|value| value.to_str().unwrap().to_owned());
    let mut posted = posted.lock().unwrap();
    posted.push((secret, serde_json::from_str(&body).unwrap()));
    if posted.len() % 2 == 1 { StatusCode::INTERNAL_SERVER_ERROR } else { StatusCode::OK }
}

/// Header and repeats until a 2xx: Bot API reference, "setWebhook".
#[tokio::test]
async fn a_webhook_gets_each_update_with_its_secret_until_it_takes_it() {
    let server = started(RehearsalConfig::default()).await;
    let posted = Posted::default();
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let app = Router::new().fallback(hook).with_state(Arc::clone(&posted));
    let serving = tokio::spawn(async move { axum::serve(listener, app).await });

    let first = server.say(MARA, MARA, "one").unwrap();
    let url = format!("http://{address}/hook");
    for (secret, accepted) in [("a b", false), ("", true), ("s3cret-_", true)] {
        let answer = call(&server, "setWebhook", json!({ "url": "http://127.0.0.1:1/", "secret_token": secret })).await;
        assert_eq!(answer["ok"], json!(accepted), "secret {secret:?}");
    }
    call(&server, "setWebhook", json!({ "url": url, "secret_token": "s3cret-_" })).await;
    let second = server.say(MARA, MARA, "two").unwrap();
    server.wait_confirmed().await;
    let got: Vec<_> =
        posted.lock().unwrap().iter().map(|(secret, update)| (secret.clone(), update["update_id"].clone())).collect();
    let secret = Some("s3cret-_".to_owned());
    assert_eq!(got, [first, first, second, second].map(|id| (secret.clone(), json!(id))));
    let info = call(&server, "getWebhookInfo", json!({})).await;
    assert_eq!(info["result"]["pending_update_count"], json!(0));
    assert!(info["result"]["last_error_message"].as_str().unwrap().contains("500"), "{info}");
    serving.abort();
    server.shutdown().await;
}
