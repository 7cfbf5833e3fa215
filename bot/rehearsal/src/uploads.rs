//! Files: sent by the bot as photo or document, kept by id, given back by getFile.

use axum::body::Bytes;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::parameters::{Parameters, Upload};

/// Limits: Bot API reference, "Sending files", "sendPhoto" and "getFile".
const PHOTO_BYTES_MAX: usize = 10 * 1024 * 1024;
const DOCUMENT_BYTES_MAX: usize = 50 * 1024 * 1024;
const DOWNLOAD_BYTES_MAX: usize = 20 * 1024 * 1024;
const PHOTO_SIDES_MAX: u32 = 10_000;
const PHOTO_RATIO_MAX: u32 = 20;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FileKind {
    Photo,
    Document,
}

impl FileKind {
    /// The field of a message and of a call.
    pub fn field(self) -> &'static str {
        match self {
            FileKind::Photo => "photo",
            FileKind::Document => "document",
        }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct StoredFile {
    pub kind: FileKind,
    pub file_name: String,
    mime_type: String,
    pub bytes: Bytes,
    /// Width and height in pixels, of a photo.
    size: (u32, u32),
}

#[derive(Debug, Default)]
pub(crate) struct Files(Vec<StoredFile>);

impl Files {
    /// Takes what a call sends in field `kind`: an upload, or the id of a file sent before. Returns the file id.
    pub fn take(&mut self, params: &Parameters, kind: FileKind) -> Result<String, ApiError> {
        if let Some(upload) = params.upload(kind.field()) {
            return self.store(upload, kind);
        }
        let id = params.text(kind.field()).unwrap_or_default();
        if id.is_empty() {
            return Err(ApiError::bad_request(format!("there is no {} in the request", kind.field())));
        }
        if id.starts_with("http://") || id.starts_with("https://") {
            return Err(ApiError::bad_request("failed to get HTTP URL content"));
        }
        match self.get(&id) {
            Some(file) if file.kind == kind => Ok(id),
            Some(file) => Err(ApiError::bad_request(format!("can't use file of type {:?} as {kind:?}", file.kind))),
            None => Err(ApiError::bad_request("wrong file identifier/HTTP URL specified")),
        }
    }

    pub fn store(&mut self, upload: &Upload, kind: FileKind) -> Result<String, ApiError> {
        let length = upload.bytes.len();
        let mut size = (0, 0);
        if length == 0 {
            return Err(ApiError::bad_request("file must be non-empty"));
        }
        if kind == FileKind::Photo {
            if length > PHOTO_BYTES_MAX {
                let limit = format!("the maximum size is {PHOTO_BYTES_MAX} bytes");
                return Err(ApiError::bad_request(format!(
                    "file of size {length} bytes is too big for a photo; {limit}"
                )));
            }
            size = pixels(&upload.bytes).ok_or_else(|| ApiError::bad_request("IMAGE_PROCESS_FAILED"))?;
            let (long, short) = (size.0.max(size.1), size.0.min(size.1));
            if long.saturating_add(short) > PHOTO_SIDES_MAX || long > short.saturating_mul(PHOTO_RATIO_MAX) {
                return Err(ApiError::bad_request("PHOTO_INVALID_DIMENSIONS"));
            }
        } else if length > DOCUMENT_BYTES_MAX {
            return Err(ApiError::new(413, "Request Entity Too Large"));
        }
        self.0.push(StoredFile {
            kind,
            file_name: upload.file_name.clone(),
            mime_type: upload.mime_type.clone().unwrap_or_else(|| "application/octet-stream".to_owned()),
            bytes: upload.bytes.clone(),
            size,
        });
        Ok(format!("{}-{}", kind.field(), self.0.len()))
    }

    pub fn get(&self, id: &str) -> Option<&StoredFile> {
        let (kind, number) = id.split_once('-')?;
        let file = self.0.get(number.parse::<usize>().ok()?.checked_sub(1)?)?;
        (file.kind.field() == kind).then_some(file)
    }

    /// The file as a message shows it: a document, or the list of a photo's sizes, of which there is one.
    pub fn json(&self, id: &str) -> Value {
        let Some(file) = self.get(id) else { return Value::Null };
        let unique = format!("u-{id}");
        let mut json = json!({ "file_id": id, "file_unique_id": unique, "file_size": file.bytes.len() });
        match file.kind {
            FileKind::Photo => {
                json["width"] = json!(file.size.0);
                json["height"] = json!(file.size.1);
                json!([json])
            }
            FileKind::Document => {
                json["file_name"] = json!(file.file_name);
                json["mime_type"] = json!(file.mime_type);
                json
            }
        }
    }

    pub fn get_file(&self, params: &Parameters) -> Answer {
        let id = params.text("file_id").unwrap_or_default();
        let file = self.get(&id).ok_or_else(|| ApiError::bad_request("invalid file_id"))?;
        if file.bytes.len() > DOWNLOAD_BYTES_MAX {
            return Err(ApiError::bad_request("file is too big"));
        }
        let unique = format!("u-{id}");
        let path = format!("{}s/{id}", file.kind.field());
        Ok(json!({ "file_id": id, "file_unique_id": unique, "file_size": file.bytes.len(), "file_path": path }))
    }

    /// The bytes under a path that getFile gave.
    pub fn download(&self, path: &str) -> Option<Bytes> {
        let (folder, id) = path.split_once('/')?;
        let file = self.get(id).filter(|file| folder.strip_suffix('s') == Some(file.kind.field()))?;
        (file.bytes.len() <= DOWNLOAD_BYTES_MAX).then(|| file.bytes.clone())
    }
}

/// Width and height of a PNG or JPEG.
fn pixels(bytes: &[u8]) -> Option<(u32, u32)> {
    let big_endian = |at: usize, length: usize| {
        let part = bytes.get(at..at + length)?;
        Some(part.iter().fold(0_u32, |number, byte| number << 8 | u32::from(*byte)))
    };
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") && bytes.get(12..16)? == b"IHDR" {
        return Some((big_endian(16, 4)?, big_endian(20, 4)?)).filter(|(width, height)| *width > 0 && *height > 0);
    }
    if !bytes.starts_with(b"\xff\xd8") {
        return None;
    }
    let mut at = 2;
    loop {
        let marker = *bytes.get(at + 1)?;
        // Start of a frame, but not the tables that share its range (C4, C8, CC): ITU-T T.81, table B.1.
        if matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC) {
            return Some((big_endian(at + 7, 2)?, big_endian(at + 5, 2)?));
        }
        at += 2 + big_endian(at + 2, 2)?.max(2) as usize;
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    /// A PNG's first 33 bytes say all that is looked at; the rest is filler.
    fn png(width: u32, height: u32, length: usize) -> Vec<u8> {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        bytes.extend(width.to_be_bytes());
        bytes.extend(height.to_be_bytes());
        bytes.resize(length.max(33), 0);
        bytes
    }

    fn check(kind: FileKind, bytes: Vec<u8>, expected: Result<(), &str>) {
        let length = bytes.len();
        let params = Parameters::of(json!({})).with_upload(kind.field(), "name", bytes);
        let taken = Files::default().take(&params, kind).map(drop).map_err(|error| error.description);
        assert_eq!(taken, expected.map_err(str::to_owned), "{kind:?} of {length} bytes");
    }

    /// 10 MB, width + height ≤ 10000, ratio ≤ 20: Bot API reference, "sendPhoto"; 50 MB: "sendDocument".
    #[test]
    fn files_are_taken_up_to_their_limits() {
        use FileKind::{Document, Photo};
        check(Photo, png(6000, 4000, 0), Ok(()));
        check(Photo, png(6000, 4001, 0), Err("Bad Request: PHOTO_INVALID_DIMENSIONS"));
        check(Photo, png(200, 10, 0), Ok(()));
        check(Photo, png(201, 10, 0), Err("Bad Request: PHOTO_INVALID_DIMENSIONS"));
        check(Photo, b"%PDF-1.7".to_vec(), Err("Bad Request: IMAGE_PROCESS_FAILED"));
        check(Photo, png(10, 10, PHOTO_BYTES_MAX), Ok(()));
        let long =
            "Bad Request: file of size 10485761 bytes is too big for a photo; the maximum size is 10485760 bytes";
        check(Photo, png(10, 10, PHOTO_BYTES_MAX + 1), Err(long));
        check(Document, vec![1; DOCUMENT_BYTES_MAX], Ok(()));
        check(Document, vec![1; DOCUMENT_BYTES_MAX + 1], Err("Request Entity Too Large"));
        check(Document, vec![], Err("Bad Request: file must be non-empty"));
    }

    /// The shortest JPEG start: an application segment, then a frame of 3 × 2 pixels (ITU-T T.81, B.2.2).
    #[test]
    fn a_jpeg_tells_its_size() {
        let start = b"\xff\xd8\xff\xe0\x00\x04ab\xff\xc0\x00\x0b\x08\x00\x02\x00\x03";
        assert_eq!(pixels(start), Some((3, 2)));
        assert_eq!(pixels(&start[..12]), None);
    }

    /// 20 MB: Bot API reference, "getFile".
    #[test]
    fn large_files_are_not_given_back() {
        let mut files = Files::default();
        for (length, given) in [(DOWNLOAD_BYTES_MAX, true), (DOWNLOAD_BYTES_MAX + 1, false)] {
            let params = Parameters::of(json!({})).with_upload("document", "a.pdf", vec![7; length]);
            let id = files.take(&params, FileKind::Document).unwrap();
            assert_eq!(files.get_file(&Parameters::of(json!({ "file_id": id }))).is_ok(), given);
            assert_eq!(files.download(&format!("documents/{id}")).is_some(), given);
        }
    }
}
