//! Invitations. Rule: only the hash of a code is kept, a code works once, and it dies with its maker's place.

use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::people::{Place, Role};
use crate::store::row::{Columns, word};
use crate::store::{Result, Tx};
use sha2::{Digest, Sha256};
use sqlx::any::AnyRow;

/// An invitation to be made.
#[derive(Clone, Copy, Debug)]
pub struct NewInvitation<'a> {
    pub code: &'a str,
    pub place: Place,
    pub made_by: Option<Id>,
    pub now: UtcSeconds,
    pub expires_at: UtcSeconds,
}

fn code_hash(code: &str) -> String {
    Sha256::digest(code.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Stores an invitation; only the hash of its code is kept.
pub async fn invite(tx: &mut Tx, new: NewInvitation<'_>) -> Result<Id> {
    let id = tx.new_id(new.now);
    let query = sqlx::query(
        "INSERT INTO invitation (id, code_hash, role, buyer_id, partner_id, made_by, made_at, expires_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    );
    let query = query.bind(id.get()).bind(code_hash(new.code)).bind(word(new.place.role));
    let query = query.bind(new.place.buyer_id.map(Id::get)).bind(new.place.partner_id.map(Id::get));
    tx.execute(query.bind(new.made_by.map(Id::get)).bind(new.now.get()).bind(new.expires_at.get())).await?;
    Ok(id)
}

/// What became of an invitation code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Code {
    Good {
        invitation_id: Id,
        place: Place,
        /// `None` for the code printed at the start of a farm without a keeper.
        made_by: Option<Id>,
    },
    Used,
    Expired,
    Unknown,
}

/// Looks an invitation code up. One whose maker is no keeper any more has expired, and so has one for a restaurant or food
/// bank that has left; a link to another account works while the person it belongs to is on the list.
pub async fn look_up_code(tx: &mut Tx, code: &str, now: UtcSeconds) -> Result<Code> {
    let query = sqlx::query(
        "SELECT id, role, buyer_id, partner_id, made_by, expires_at, used_at,
             CASE WHEN made_by IS NULL
                 OR EXISTS (SELECT 1 FROM person WHERE person.id = invitation.made_by AND left_at IS NULL
                     AND (person.role = $2 OR EXISTS
                         (SELECT 1 FROM takeover WHERE invitation_id = invitation.id AND person_id = person.id)))
                 THEN 1 ELSE 0 END AS maker_may,
             CASE WHEN EXISTS (SELECT 1 FROM buyer WHERE buyer.id = invitation.buyer_id AND left_at IS NOT NULL)
                 OR EXISTS (SELECT 1 FROM partner WHERE partner.id = invitation.partner_id AND left_at IS NOT NULL)
                 THEN 1 ELSE 0 END AS place_left
         FROM invitation WHERE code_hash = $1",
    );
    let query = query.bind(code_hash(code)).bind(word(Role::Keeper));
    let Some(row) = tx.optional(query).await? else { return Ok(Code::Unknown) };
    if row.instant_opt("used_at")?.is_some() {
        return Ok(Code::Used);
    }
    let is_dead = row.integer("maker_may")? == 0 || row.integer("place_left")? == 1;
    if is_dead || row.instant("expires_at")? <= now {
        return Ok(Code::Expired);
    }
    Ok(Code::Good { invitation_id: row.id("id")?, place: place(&row)?, made_by: row.id_opt("made_by")? })
}

fn place(row: &AnyRow) -> Result<Place> {
    Ok(Place { role: row.word("role")?, buyer_id: row.id_opt("buyer_id")?, partner_id: row.id_opt("partner_id")? })
}

/// An invitation that somebody may still use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Open {
    pub id: Id,
    pub place: Place,
    pub made_by: Option<Id>,
    pub expires_at: UtcSeconds,
    /// The person whose old account it replaces.
    pub takeover_of: Option<Id>,
}

/// The invitations that still work, the oldest first.
pub async fn open(tx: &mut Tx, now: UtcSeconds) -> Result<Vec<Open>> {
    let query = sqlx::query(
        "SELECT id, role, buyer_id, partner_id, made_by, expires_at, person_id
         FROM invitation LEFT JOIN takeover ON invitation_id = id
         WHERE used_at IS NULL AND expires_at > $1 ORDER BY id",
    );
    let rows = tx.all(query.bind(now.get())).await?;
    rows.iter()
        .map(|row| {
            Ok(Open {
                id: row.id("id")?,
                place: place(row)?,
                made_by: row.id_opt("made_by")?,
                expires_at: row.instant("expires_at")?,
                takeover_of: row.id_opt("person_id")?,
            })
        })
        .collect()
}

/// Withdraws an invitation; `true` when it was still open.
pub async fn withdraw(tx: &mut Tx, invitation_id: Id, now: UtcSeconds) -> Result<bool> {
    let query =
        sqlx::query("UPDATE invitation SET expires_at = $2 WHERE id = $1 AND used_at IS NULL AND expires_at > $2");
    Ok(tx.execute(query.bind(invitation_id.get()).bind(now.get())).await? == 1)
}

/// Withdraws every open invitation of this maker.
pub async fn withdraw_made_by(tx: &mut Tx, maker: Id, now: UtcSeconds) -> Result<u64> {
    let query =
        sqlx::query("UPDATE invitation SET expires_at = $2 WHERE made_by = $1 AND used_at IS NULL AND expires_at > $2");
    tx.execute(query.bind(maker.get()).bind(now.get())).await
}

/// Uses an invitation up.
pub async fn mark_used(tx: &mut Tx, invitation_id: Id, person_id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE invitation SET used_at = $2, used_by = $3 WHERE id = $1 AND used_at IS NULL");
    tx.execute(query.bind(invitation_id.get()).bind(now.get()).bind(person_id.get())).await?;
    Ok(())
}

/// Notes that whoever uses this invitation takes the place of a person's old account.
pub async fn mark_takeover(tx: &mut Tx, invitation_id: Id, person_id: Id) -> Result<()> {
    let query = sqlx::query("INSERT INTO takeover (invitation_id, person_id) VALUES ($1, $2)");
    tx.execute(query.bind(invitation_id.get()).bind(person_id.get())).await?;
    Ok(())
}

/// The person whose old account this invitation replaces, if it is one for that.
pub async fn takeover_of(tx: &mut Tx, invitation_id: Id) -> Result<Option<Id>> {
    let query = sqlx::query("SELECT person_id FROM takeover WHERE invitation_id = $1");
    let row = tx.optional(query.bind(invitation_id.get())).await?;
    row.map(|row| row.id("person_id")).transpose()
}

/// Withdraws every unused keeper's invitation: the farm has its keeper.
pub async fn withdraw_keepers(tx: &mut Tx, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE invitation SET expires_at = $2 WHERE role = $1 AND used_at IS NULL");
    tx.execute(query.bind(word(Role::Keeper)).bind(now.get())).await?;
    Ok(())
}
