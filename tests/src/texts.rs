//! How well the bot understands what people really type: texts with what they mean, written by people who have not read the
//! grammar, are said on the farm each in its situation, and judged by the record and by what was answered.
//!
//! | verdict | rule |
//! | --- | --- |
//! | `exact` | The record is now what the text means; where the bot says back what it understood, one press of that yes leaves it so. A question: answered on its subject, nothing changed. A courtesy: nothing changed, at most one short answer. A complaint or a wish for a person: the keeper hears of it, or the answer has the button that passes it on. A truly unclear text: nothing changed, and something was answered. |
//! | `pressed` | The same after one press of an offered button or one typed answer more. Answering for what the text itself leaves open (`unsaid`) does not count as one more: nobody could have done without. |
//! | `not_read` | Nothing changed, and none of the above: not understood, asked about something else, answered on another subject, or only a part of two wishes was taken. |
//! | `wrong` | The record says something else than what was meant, or what is said back does when its yes is pressed. |
//! | `act` | A courtesy, a question or an unclear text changed the record. |
//!
//! Where a text is marked as not clear, saying back another reading is asking, not `wrong`: only what was written down
//! without asking is.
//!
//! What counts as the record is in [`books`]; which records a meaning allows is in [`outcomes`] (several, where people could
//! mean either); when an answer is on a question's subject is in [`questions`].

pub mod answers;
pub mod books;
pub mod dialogues;
pub mod judge;
pub mod kept;
pub mod outcomes;
pub mod questions;
pub mod read;
pub mod report;
pub mod staging;
pub mod world;
