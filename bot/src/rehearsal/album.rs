//! What a browser has not seen yet: a revision for every message, raised when anything of it changes.

use bot_api_local::ChatMessage;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Revisions of all messages and of everything else on the page.
#[derive(Debug, Default)]
pub(super) struct Album {
    revision: u64,
    chats: BTreeMap<i64, Vec<Print>>,
    sheet: Option<u64>,
}

/// What a message looked like, and since when.
#[derive(Clone, Copy, Debug)]
struct Print {
    hash: u64,
    revision: u64,
}

impl Album {
    /// The revision of the last change; 0 before the first look.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Looks at everything: the chats, and `sheet`, the rest of the page in any form that changes when it does.
    pub fn look(&mut self, chats: &[(i64, Vec<ChatMessage>)], sheet: &str) {
        let next = self.revision + 1;
        let mut is_new = false;
        for (chat_id, messages) in chats {
            let prints = self.chats.entry(*chat_id).or_default();
            for (index, message) in messages.iter().enumerate() {
                let hash = hash_of(message);
                match prints.get_mut(index) {
                    Some(print) if print.hash == hash => continue,
                    Some(print) => *print = Print { hash, revision: next },
                    None => prints.push(Print { hash, revision: next }),
                }
                is_new = true;
            }
        }
        let mut hasher = DefaultHasher::new();
        sheet.hash(&mut hasher);
        if self.sheet.replace(hasher.finish()) != Some(hasher.finish()) {
            is_new = true;
        }
        if is_new {
            self.revision = next;
        }
    }

    /// Whether the message at `index` of a chat has changed since `revision`.
    pub fn is_newer(&self, (chat_id, index): (i64, usize), revision: u64) -> bool {
        self.chats.get(&chat_id).and_then(|prints| prints.get(index)).is_none_or(|print| print.revision > revision)
    }
}

fn hash_of(message: &ChatMessage) -> u64 {
    let mut hasher = DefaultHasher::new();
    (message.message_id, &message.text, message.is_edited, message.is_deleted).hash(&mut hasher);
    for entity in &message.entities {
        (&entity.kind, entity.offset, entity.length, &entity.url).hash(&mut hasher);
    }
    message.labels().hash(&mut hasher);
    hasher.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use scheduler::clock::UtcSeconds;

    fn message(message_id: i64, text: &str) -> ChatMessage {
        ChatMessage {
            message_id,
            from_user: None,
            text: text.to_owned(),
            entities: Vec::new(),
            keyboard: Vec::new(),
            keys: Vec::new(),
            file: None,
            reply_to: None,
            date: UtcSeconds::new(0),
            is_edited: false,
            is_deleted: false,
        }
    }

    #[test]
    fn only_what_changed_is_newer() {
        let mut album = Album::default();
        let mut chats = vec![(7, vec![message(1, "a"), message(2, "b")])];
        album.look(&chats, "sheet");
        assert_eq!(album.revision(), 1);
        album.look(&chats, "sheet");
        assert_eq!(album.revision(), 1, "nothing changed");
        chats[0].1[1].text = "c".to_owned();
        chats[0].1.push(message(3, "d"));
        album.look(&chats, "sheet");
        assert_eq!(album.revision(), 2);
        let newer: Vec<bool> = (0..3).map(|index| album.is_newer((7, index), 1)).collect();
        assert_eq!(newer, [false, true, true]);
        album.look(&chats, "another sheet");
        assert_eq!(album.revision(), 3);
        assert!(!album.is_newer((7, 1), 2));
    }
}
