//! Questions that find a broken invariant in a real database.

use super::row::Columns;
use super::{Result, Tx};
use crate::id::Id;
use crate::quantity::Grams;

/// A lot whose weight left is not its picked weight less its moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unbalanced {
    pub lot_id: Id,
    pub crop: String,
    pub left: Grams,
    /// What its moves leave of it.
    pub reckoned: Grams,
}

/// Lots that do not balance.
pub async fn unbalanced_lots(tx: &mut Tx) -> Result<Vec<Unbalanced>> {
    let query = sqlx::query(
        "SELECT lot.id AS id, lot.crop AS crop, lot.left_g AS left_g,
                lot.picked_g - CAST(COALESCE(SUM(lot_move.grams), 0) AS BIGINT) AS reckoned_g
         FROM lot LEFT JOIN lot_move ON lot_move.lot_id = lot.id
         GROUP BY lot.id, lot.crop, lot.left_g, lot.picked_g
         HAVING lot.left_g <> lot.picked_g - CAST(COALESCE(SUM(lot_move.grams), 0) AS BIGINT) ORDER BY lot.id",
    );
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            Ok(Unbalanced {
                lot_id: row.id("id")?,
                crop: row.text("crop")?,
                left: row.grams("left_g")?,
                reckoned: row.grams("reckoned_g")?,
            })
        })
        .collect()
}

/// A broken invariant of the database, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub what: String,
    pub mend: String,
}

/// Every invariant that the database alone shows to be broken. A sound database has none, whatever happened to the program.
pub async fn faults(tx: &mut Tx) -> Result<Vec<Fault>> {
    let mut faults: Vec<Fault> = unbalanced_lots(tx)
        .await?
        .into_iter()
        .map(|lot| Fault {
            what: format!("lot {} of {} has {} left, its moves say {}", lot.lot_id, lot.crop, lot.left, lot.reckoned),
            mend: "weigh it and set lot.left_g, or restore a backup".into(),
        })
        .collect();
    for (question, what, mend) in QUESTIONS {
        for row in tx.all(sqlx::query(*question)).await? {
            faults.push(Fault {
                what: format!(
                    "{what} ({}: {} against {})",
                    row.text("subject")?,
                    row.integer("there")?,
                    row.integer("expected")?
                ),
                mend: (*mend).to_owned(),
            });
        }
    }
    Ok(faults)
}

/// Questions whose every row is a fault: what it is about, what is there, and what should be; then what is wrong and how to
/// mend it.
const QUESTIONS: &[(&str, &str, &str)] = &[
    (
        "SELECT subject, there, expected FROM (
             SELECT lot.crop || ' lot ' || CAST(lot.id AS TEXT) AS subject,
                 CAST(COALESCE((SELECT SUM(giving_ledger.grams) FROM giving_ledger WHERE giving_ledger.lot_id = lot.id), 0)
                     AS BIGINT) AS there,
                 CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move
                     WHERE lot_move.lot_id = lot.id AND lot_move.kind = 'given'), 0) AS BIGINT) AS expected
             FROM lot) AS sums
         WHERE there <> expected ORDER BY subject",
        "the giving ledger and what left the cold room for food banks differ, grams",
        "enter the difference in giving_ledger as a correction with the lot's number",
    ),
    (
        "SELECT subject, there, expected FROM (
             SELECT 'award ' || CAST(award.id AS TEXT) || ' of ' || award.day AS subject,
                 COALESCE(award.delivered_g, 0) AS there,
                 CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move
                     WHERE lot_move.subject = award.id AND lot_move.kind = 'delivered'), 0) AS BIGINT) AS expected
             FROM award) AS sums
         WHERE there <> expected ORDER BY subject",
        "a delivered weight and what left the cold room for it differ, grams",
        "ask the driver, then correct the weight on the run's card (/run)",
    ),
    (
        "SELECT subject, there, expected FROM (
             SELECT 'award ' || CAST(award.id AS TEXT) || ' of ' || award.day AS subject, award.promised_g AS there,
                 COALESCE((SELECT award_event.promised_g FROM award_event WHERE award_event.award_id = award.id
                     ORDER BY award_event.id DESC LIMIT 1), -1) AS expected
             FROM award) AS sums
         WHERE there <> expected ORDER BY subject",
        "a promise is not what its history says, grams",
        "set award.promised_g to what the restaurant was told last",
    ),
    (
        "SELECT subject, there, expected FROM (
             SELECT award.day || ' ' || award.crop AS subject, CAST(SUM(award_event.promised_g) AS BIGINT) AS there,
                 COALESCE((SELECT forecast_record.promise_g FROM forecast_record
                     WHERE forecast_record.day = award.day AND forecast_record.crop = award.crop), 0) AS expected
             FROM award_event JOIN award ON award.id = award_event.award_id
             WHERE award_event.why = 'cutoff' GROUP BY award.day, award.crop) AS sums
         WHERE there > expected ORDER BY subject",
        "more was promised when orders closed than could be, grams",
        "tell the restaurants of that day by hand if it is still to come",
    ),
    (
        "SELECT key AS subject, CASE WHEN acted_at IS NULL THEN 0 ELSE 1 END AS there,
             CASE WHEN outcome IS NULL THEN 0 ELSE 1 END AS expected
         FROM occurrence WHERE (acted_at IS NULL) <> (outcome IS NULL) ORDER BY key",
        "a timetable occurrence is half marked",
        "set occurrence.outcome to 'done' if the family had its message, else empty acted_at",
    ),
    (
        "SELECT 'message ' || CAST(id AS TEXT) AS subject, sent_at AS there, failed_at AS expected FROM outbox
         WHERE sent_at IS NOT NULL AND failed_at IS NOT NULL ORDER BY id",
        "a message is both sent and set aside",
        "empty outbox.failed_at",
    ),
    (
        "SELECT subject, there, expected FROM (
             SELECT 'offer ' || CAST(offer.id AS TEXT) AS subject, offer.grams - offer.left_g AS there,
                 CAST(COALESCE((SELECT SUM(offer_claim.grams) FROM offer_claim
                     WHERE offer_claim.offer_id = offer.id AND offer_claim.given_back_at IS NULL), 0) AS BIGINT) AS expected
             FROM offer WHERE offer.closed_at IS NULL) AS sums
         WHERE there <> expected ORDER BY subject",
        "an offer's weight left does not fit what was taken of it, grams",
        "take the offer back with /left and offer the rest anew",
    ),
    (
        "SELECT 'person ' || CAST(id AS TEXT) AS subject, CASE WHEN buyer_id IS NULL THEN 0 ELSE 1 END AS there,
             CASE WHEN role = 'buyer' THEN 1 ELSE 0 END AS expected
         FROM person WHERE (role = 'buyer') <> (buyer_id IS NOT NULL) ORDER BY id",
        "a person's role and restaurant do not fit",
        "remove the person with /people and invite them anew",
    ),
];

/// Crop keys that anything in the database speaks of.
pub async fn crops_spoken_of(tx: &mut Tx) -> Result<Vec<String>> {
    let query = sqlx::query(
        "SELECT crop FROM batch UNION SELECT crop FROM lot UNION SELECT crop FROM standing UNION SELECT crop FROM order_line
         UNION SELECT crop FROM award ORDER BY crop",
    );
    tx.all(query).await?.iter().map(|row| row.text("crop")).collect()
}

/// Occurrences that were missed, newest first: job and due instant.
pub async fn missed_occurrences(tx: &mut Tx, most: i64) -> Result<Vec<(String, crate::clock::UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT job, due_at FROM occurrence WHERE outcome = 'missed' ORDER BY due_at DESC, key DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(most)).await?;
    rows.iter().map(|row| Ok((row.text("job")?, row.instant("due_at")?))).collect()
}
