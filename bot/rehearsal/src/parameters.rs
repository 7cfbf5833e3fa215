//! Parameters of a call, however they came: query string, form, JSON or multipart.
//!
//! Source: Bot API reference, "Making requests".

use std::collections::BTreeMap;

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Form, FromRequest, Multipart, Query, Request};
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};

use crate::answer::ApiError;

/// Largest body: one file of 50 MB (Bot API reference, "Sending files") and its other fields.
pub(crate) const BODY_BYTES_MAX: usize = 51 * 1024 * 1024;

#[derive(Clone, Debug)]
pub(crate) struct Upload {
    pub file_name: String,
    pub mime_type: Option<String>,
    pub bytes: Bytes,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Parameters {
    values: Map<String, Value>,
    uploads: BTreeMap<String, Upload>,
}

impl Parameters {
    /// Reads the parameters of a request.
    ///
    /// # Errors
    /// 400 where the body is not what its content type says, 413 where it is too large.
    pub async fn read(request: Request) -> Result<Parameters, ApiError> {
        // The whole body first: hyper closes a connection whose last chunk was not read, and clients reuse it.
        let (parts, body) = request.into_parts();
        let body = axum::body::to_bytes(body, BODY_BYTES_MAX).await.map_err(|_| too_large())?;
        let request = Request::from_parts(parts, body.into());
        let mut read = Parameters::default();
        let query: Query<Vec<(String, String)>> =
            Query::try_from_uri(request.uri()).map_err(|error| ApiError::bad_request(error.body_text()))?;
        read.add_pairs(query.0);
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        let kind = kind.unwrap_or_default().to_ascii_lowercase();
        if kind.starts_with("application/json") {
            let body: Json<Map<String, Value>> = Json::from_request(request, &()).await.map_err(json_error)?;
            read.values.extend(body.0);
        } else if kind.starts_with("application/x-www-form-urlencoded") && request.method() != "GET" {
            let body: Form<Vec<(String, String)>> = Form::from_request(request, &()).await.map_err(rejected)?;
            read.add_pairs(body.0);
        } else if kind.starts_with("multipart/form-data") {
            let body = Multipart::from_request(request, &()).await.map_err(rejected)?;
            read.add_parts(body).await?;
        }
        Ok(read)
    }

    fn add_pairs(&mut self, pairs: Vec<(String, String)>) {
        self.values.extend(pairs.into_iter().map(|(name, value)| (name, Value::String(value))));
    }

    async fn add_parts(&mut self, mut parts: Multipart) -> Result<(), ApiError> {
        let failed = |error: axum::extract::multipart::MultipartError| match error.status() {
            StatusCode::PAYLOAD_TOO_LARGE => too_large(),
            _ => ApiError::bad_request(error.body_text()),
        };
        while let Some(part) = parts.next_field().await.map_err(failed)? {
            let name = part.name().unwrap_or_default().to_owned();
            if let Some(file_name) = part.file_name().map(str::to_owned) {
                let mime_type = part.content_type().map(str::to_owned);
                let bytes = part.bytes().await.map_err(failed)?;
                self.uploads.insert(name, Upload { file_name, mime_type, bytes });
            } else {
                let text = part.text().await.map_err(failed)?;
                self.values.insert(name, Value::String(text));
            }
        }
        Ok(())
    }

    /// A text; absent and null are the same.
    pub fn text(&self, name: &str) -> Option<String> {
        match self.values.get(name)? {
            Value::Null => None,
            Value::String(text) => Some(text.clone()),
            other => Some(other.to_string()),
        }
    }

    /// A whole number, sent as a number or as its digits.
    pub fn number(&self, name: &str) -> Result<Option<i64>, ApiError> {
        match self.text(name).as_deref() {
            None | Some("") => Ok(None),
            Some(text) => match text.trim().parse() {
                Ok(number) => Ok(Some(number)),
                Err(_) => Err(ApiError::bad_request(format!("parameter \"{name}\" must be an integer"))),
            },
        }
    }

    /// A flag; absent is false.
    pub fn is_set(&self, name: &str) -> bool {
        matches!(self.text(name).as_deref(), Some("true" | "True" | "1" | "yes" | "t"))
    }

    /// An object or list, sent as itself in a JSON body or as its JSON text in the other forms.
    pub fn object<T: DeserializeOwned>(&self, name: &str) -> Result<Option<T>, ApiError> {
        let failed =
            |error: serde_json::Error| ApiError::bad_request(format!("can't parse {name} JSON object: {error}"));
        match self.values.get(name) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::String(text)) if text.is_empty() => Ok(None),
            Some(Value::String(text)) => serde_json::from_str(text).map(Some).map_err(failed),
            Some(value) => serde_json::from_value(value.clone()).map(Some).map_err(failed),
        }
    }

    /// The file of field `name`: a part of that name, or the part that its `attach://` value names.
    pub fn upload(&self, name: &str) -> Option<&Upload> {
        match self.text(name).as_deref().and_then(|value| value.strip_prefix("attach://")) {
            Some(part) => self.uploads.get(part),
            None => self.uploads.get(name),
        }
    }

    /// For the call log: values as sent, objects unwrapped, files as name and size.
    pub fn for_log(&self) -> Value {
        let mut log = Map::new();
        for (name, value) in &self.values {
            let object = value.as_str().filter(|text| text.starts_with(['{', '[']));
            let object = object.and_then(|text| serde_json::from_str(text).ok());
            log.insert(name.clone(), object.unwrap_or_else(|| value.clone()));
        }
        for (name, upload) in &self.uploads {
            log.insert(name.clone(), json!({ "file_name": upload.file_name, "file_size": upload.bytes.len() }));
        }
        Value::Object(log)
    }
}

#[cfg(test)]
impl Parameters {
    /// Parameters as of a JSON body.
    pub fn of(values: Value) -> Parameters {
        match values {
            Value::Object(values) => Parameters { values, ..Parameters::default() },
            _ => Parameters::default(),
        }
    }

    pub fn with_upload(mut self, name: &str, file_name: &str, bytes: Vec<u8>) -> Parameters {
        let upload = Upload { file_name: file_name.to_owned(), mime_type: None, bytes: bytes.into() };
        self.uploads.insert(name.to_owned(), upload);
        self
    }
}

fn too_large() -> ApiError {
    ApiError::new(413, "Request Entity Too Large")
}

fn json_error(error: axum::extract::rejection::JsonRejection) -> ApiError {
    match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => too_large(),
        _ => ApiError::bad_request("can't parse request body JSON object"),
    }
}

fn rejected(error: impl IntoResponse) -> ApiError {
    match error.into_response().status() {
        StatusCode::PAYLOAD_TOO_LARGE => too_large(),
        _ => ApiError::bad_request("can't parse request body"),
    }
}
