//! An update as the conversation sees it: who, where, what. Made from the messaging service's types at the edge.

/// The account that wrote or pressed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// Its private chat, which has the account's own number.
    pub chat_id: i64,
    pub first_name: String,
    /// IETF language tag that the account's program is set to.
    pub language_code: Option<String>,
}

/// What came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    Said(String),
    Pressed {
        callback_id: String,
        token: String,
    },
    /// The account has blocked the bot.
    Unreachable,
    /// The account lets the bot in again.
    Reachable,
    /// The bot was put out of this group.
    LeftGroup,
    /// Somebody else is in this group no more.
    MemberLeft {
        account: i64,
    },
    /// The group has become a supergroup with another number.
    GroupMoved {
        to: i64,
    },
}

/// One update.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incoming {
    pub update_id: i64,
    /// Where it happened: the account's private chat, or a group.
    pub chat_id: i64,
    pub account: Account,
    pub what: What,
}

impl Incoming {
    /// Whether it happened in a group.
    pub fn is_group(&self) -> bool {
        self.chat_id != self.account.chat_id
    }
}
