//! What must hold between rows, as questions to the database: every row of an answer is a fault. One question is one statement,
//! so that it sees one picture also while the bot writes.

use super::super::row::Columns;
use super::super::{Result, Tx};
use super::{Deed, Fault, first_of};

/// One invariant.
pub(super) struct Question {
    /// Rows of `subject` (what it is about), `there` (what is) and `expected` (what should be).
    asks: &'static str,
    /// What is wrong with such a row.
    what: &'static str,
    /// What a person does about it.
    mend: &'static str,
    /// A statement that mends all such rows, and what it does.
    deed: Option<(&'static str, &'static str)>,
}

pub(super) async fn ask(tx: &mut Tx, question: &Question) -> Result<Vec<Fault>> {
    let by_itself = question.deed.map(|(statement, did)| Deed::new(statement, Vec::new(), did));
    let rows = tx.all(sqlx::query(question.asks)).await?;
    let faults = rows.iter().map(|row| {
        let (subject, there, expected) = (row.text("subject")?, row.integer("there")?, row.integer("expected")?);
        Ok(Fault {
            what: format!("{} ({subject}: {there} against {expected})", question.what),
            mend: question.mend.to_owned(),
            by_itself: by_itself.clone(),
        })
    });
    Ok(first_of(faults.collect::<Result<_>>()?))
}

const fn asks(asks: &'static str, what: &'static str, mend: &'static str) -> Question {
    Question { asks, what, mend, deed: None }
}

const fn mended(question: Question, statement: &'static str, did: &'static str) -> Question {
    Question { deed: Some((statement, did)), ..question }
}

const AGAIN_FROM_BACKUP: &str = "set the row to what it was in the newest backup";

pub(super) const ALL: &[Question] = &[
    // The cold room.
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'lot (id ' || CAST(lot.id AS TEXT) || ') of ' || lot.crop AS subject, lot.left_g AS there,
                 lot.picked_g - CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move WHERE lot_move.lot_id = lot.id), 0)
                     AS BIGINT) AS expected
             FROM lot) AS sums
         WHERE there <> expected ORDER BY subject",
        "a lot's weight left is not what its moves say, grams",
        "weigh the lot and set lot.left_g, or restore a backup",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'flush (id ' || CAST(flush.id AS TEXT) || ')' AS subject,
                 CAST(COALESCE((SELECT SUM(growing_event.grams) FROM growing_event
                     WHERE growing_event.flush_id = flush.id AND growing_event.kind = 'picked'), 0) AS BIGINT) AS there,
                 CAST(COALESCE((SELECT SUM(lot.picked_g) FROM lot WHERE lot.flush_id = flush.id), 0) AS BIGINT)
                 - CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move JOIN lot ON lot.id = lot_move.lot_id
                     WHERE lot.flush_id = flush.id AND lot_move.kind = 'corrected'), 0) AS BIGINT) AS expected
             FROM flush) AS sums
         WHERE there <> expected ORDER BY subject",
        "what was picked of a flush and what came into the cold room of it differ, grams",
        "enter the difference in growing_event as a pick of that flush, or restore a backup",
    ),
    asks(
        "SELECT 'lot (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM lot
         WHERE ready_on < picked_on OR keeps_until < picked_on OR keeps_cold < keeps_until ORDER BY id",
        "a lot is ready or over before it was picked, or keeps longer than when kept cold",
        "set the lot's days to what they were in the newest backup",
    ),
    asks(
        "SELECT 'lot (id ' || CAST(lot.id AS TEXT) || ') of ' || lot.crop AS subject, 0 AS there, 1 AS expected
         FROM lot JOIN flush ON flush.id = lot.flush_id JOIN batch ON batch.id = flush.batch_id
         WHERE lot.crop <> batch.crop ORDER BY lot.id",
        "a lot is of another crop than the batch it was picked from",
        "set lot.crop to the batch's crop",
    ),
    asks(
        "SELECT 'lot_move (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM lot_move
         WHERE (kind = 'delivered' AND NOT EXISTS (SELECT 1 FROM award WHERE award.id = lot_move.subject))
            OR (kind = 'collected' AND NOT EXISTS (SELECT 1 FROM offer_claim WHERE offer_claim.id = lot_move.subject))
            OR (kind = 'given' AND NOT EXISTS (SELECT 1 FROM drop_off WHERE drop_off.id = lot_move.subject))
         ORDER BY id",
        "stock left for a delivery, a claim or a drop that is not there",
        "put the row that lot_move.subject names back from a backup",
    ),
    // The shelves.
    asks(
        "SELECT 'batch (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM batch
         WHERE NOT EXISTS (SELECT 1 FROM flush WHERE flush.batch_id = batch.id) ORDER BY id",
        "a batch has no flush",
        "put the batch's flushes back from a backup, or close the batch",
    ),
    asks(
        "SELECT 'batch (id ' || CAST(batch_id AS TEXT) || ')' AS subject, COUNT(*) AS there, 1 AS expected FROM flush
         WHERE closed_on IS NULL GROUP BY batch_id HAVING COUNT(*) > 1 ORDER BY batch_id",
        "a batch has more than one open flush",
        "set flush.closed_on of the older one to the day on which it ended",
    ),
    asks(
        "SELECT 'flush (id ' || CAST(flush.id AS TEXT) || ')' AS subject, flush.units_lost AS there, batch.units AS expected
         FROM flush JOIN batch ON batch.id = flush.batch_id WHERE flush.units_lost > batch.units ORDER BY flush.id",
        "more units of a batch are lost than it has",
        "count the units on the shelf and set flush.units_lost",
    ),
    asks(
        "SELECT 'growing_event (id ' || CAST(growing_event.id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected
         FROM growing_event JOIN flush ON flush.id = growing_event.flush_id
         WHERE flush.batch_id <> growing_event.batch_id ORDER BY growing_event.id",
        "an entry of the growing record names a flush of another batch",
        "set growing_event.batch_id to the flush's batch",
    ),
    // Orders and promises.
    asks(
        "SELECT 'standing (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM standing
         WHERE (paused_from IS NULL) <> (resumes_on IS NULL) OR paused_from >= resumes_on ORDER BY id",
        "a standing order's rest has no beginning, no end, or ends before it begins",
        "ask the restaurant, then set paused_from and resumes_on, or empty both",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'award (id ' || CAST(award.id AS TEXT) || ') of ' || award.day AS subject,
                 COALESCE(award.delivered_g, 0) AS there,
                 CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move
                     WHERE lot_move.subject = award.id AND lot_move.kind = 'delivered'), 0) AS BIGINT) AS expected
             FROM award) AS sums
         WHERE there <> expected ORDER BY subject",
        "a delivered weight and what left the cold room for it differ, grams",
        "ask the driver, then correct the weight on the run's card (/run)",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'award (id ' || CAST(award.id AS TEXT) || ') of ' || award.day AS subject, award.promised_g AS there,
                 COALESCE((SELECT award_event.promised_g FROM award_event WHERE award_event.award_id = award.id
                     ORDER BY award_event.id DESC LIMIT 1), -1) AS expected
             FROM award) AS sums
         WHERE there <> expected ORDER BY subject",
        "a promise is not what its history says, grams",
        "set award.promised_g to what the restaurant was told last",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'award (id ' || CAST(award.id AS TEXT) || ') of ' || award.day AS subject, award.assumed AS there,
                 COALESCE((SELECT CASE WHEN award_event.why = 'assumed' AND award_event.person_id IS NULL THEN 1 ELSE 0 END
                     FROM award_event WHERE award_event.award_id = award.id
                     ORDER BY award_event.id DESC LIMIT 1), 0) AS expected
             FROM award) AS sums
         WHERE there <> expected ORDER BY subject",
        "whether somebody said what was delivered is not what the history says, 1 for nobody",
        "ask the driver, then enter the weight on the run's card (/run)",
    ),
    asks(
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
    asks(
        "SELECT subject, there, expected FROM (
             SELECT award.day || ' ' || award.crop AS subject, CAST(SUM(award.promised_g) AS BIGINT) AS there,
                 COALESCE((SELECT forecast_record.promise_g FROM forecast_record
                     WHERE forecast_record.day = award.day AND forecast_record.crop = award.crop), 0)
                 + CAST(COALESCE((SELECT SUM(lot.left_g) FROM lot WHERE lot.crop = award.crop), 0) AS BIGINT) AS expected
             FROM award JOIN delivery ON delivery.day = award.day
             WHERE delivery.packed_at IS NULL AND delivery.delivered_at IS NULL AND award.delivered_g IS NULL
             GROUP BY award.day, award.crop) AS sums
         WHERE there > expected ORDER BY subject",
        "more is promised for a day than its forecast and the cold room hold together, grams",
        "lower the promise on the packing list (/packing) and tell the restaurant",
    ),
    asks(
        "SELECT 'award_event (id ' || CAST(id AS TEXT) || ')' AS subject, promised_g AS there, earlier_g AS expected FROM (
             SELECT id, why, promised_g, LAG(promised_g) OVER (PARTITION BY award_id ORDER BY id) AS earlier_g
             FROM award_event) AS events
         WHERE why IN ('taken', 'topped_up', 'cutoff', 'offered') AND promised_g < earlier_g ORDER BY id",
        "a promise was lowered by what can only keep or raise it, grams",
        "ask the family what the restaurant was promised, and set it on the packing list (/packing)",
    ),
    asks(
        "SELECT 'delivery (day ' || day || ')' AS subject, 0 AS there, 1 AS expected FROM delivery
         WHERE settled_at IS NOT NULL AND EXISTS (SELECT 1 FROM award WHERE award.day = delivery.day AND award.state = 'short')
         ORDER BY day",
        "a day is marked as answered and a restaurant's answer is still waited for",
        "ask the restaurant, and set award.state to 'taken' or 'dropped'",
    ),
    asks(
        "SELECT 'forecast_record (day ' || day || ', crop ' || crop || ')' AS subject, p10_g AS there, p90_g AS expected
         FROM forecast_record WHERE p10_g > p50_g OR p50_g > p90_g ORDER BY day, crop",
        "a forecast's low, middle and high weights are not in order, grams",
        AGAIN_FROM_BACKUP,
    ),
    // What is left over.
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'offer (id ' || CAST(offer.id AS TEXT) || ')' AS subject, offer.grams - offer.left_g AS there,
                 CAST(COALESCE((SELECT SUM(offer_claim.grams) FROM offer_claim
                     WHERE offer_claim.offer_id = offer.id AND offer_claim.given_back_at IS NULL), 0) AS BIGINT) AS expected
             FROM offer WHERE offer.closed_at IS NULL) AS sums
         WHERE there <> expected ORDER BY subject",
        "an offer's weight left does not fit what was taken of it, grams",
        "take the offer back with /left and offer the rest anew",
    ),
    asks(
        "SELECT 'offer (id ' || CAST(id AS TEXT) || ')' AS subject, left_g AS there, grams AS expected FROM offer
         WHERE left_g > grams OR deadline < made_at OR collect_until < deadline ORDER BY id",
        "an offer has more left than it had, or ends before it began",
        "take the offer back with /left and offer the rest anew",
    ),
    asks(
        "SELECT 'offer (id ' || CAST(offer.id AS TEXT) || ')' AS subject, offer.deadline AS there, 0 AS expected FROM offer
         WHERE closed_at IS NULL AND EXISTS (SELECT 1 FROM occurrence WHERE occurrence.acted_at > offer.deadline + 172800)
         ORDER BY offer.id",
        "an offer is still open days after its deadline",
        "take it back with /left",
    ),
    asks(
        "SELECT 'offer_claim (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM offer_claim
         WHERE (collected_at IS NOT NULL AND given_back_at IS NOT NULL)
            OR (award_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM award WHERE award.id = offer_claim.award_id))
         ORDER BY id",
        "what was taken of an offer was both fetched and given back, or goes with a line that is not there",
        "ask the restaurant, and empty what is wrong of collected_at, given_back_at and award_id",
    ),
    asks(
        "SELECT 'surplus_rule (id ' || CAST(MAX(id) AS TEXT) || ')' AS subject, COUNT(*) AS there, 1 AS expected
         FROM surplus_rule WHERE ended_at IS NULL GROUP BY crop HAVING COUNT(*) > 1 ORDER BY 1",
        "two rules for what is left hold for the same crop",
        "end one of them (/left)",
    ),
    // Food banks.
    asks(
        "SELECT 'partner (id ' || CAST(id AS TEXT) || ')' AS subject, least_g AS there, greatest_g AS expected FROM partner
         WHERE least_g > greatest_g ORDER BY id",
        "the least that a food bank takes is more than the most, grams",
        "set both anew on the food bank's card",
    ),
    asks(
        "SELECT 'partner_hours (partner_id ' || CAST(one.partner_id AS TEXT) || ', weekday ' || CAST(one.weekday AS TEXT)
                 || ', opens_minute ' || CAST(one.opens_minute AS TEXT) || ')' AS subject,
             one.closes_minute AS there, other.opens_minute AS expected
         FROM partner_hours AS one JOIN partner_hours AS other
             ON other.partner_id = one.partner_id AND other.weekday = one.weekday AND other.opens_minute > one.opens_minute
         WHERE one.closes_minute > other.opens_minute OR one.closes_minute <= one.opens_minute ORDER BY 1",
        "two stretches of a food bank's opening hours overlap, minutes of the day",
        "write its hours anew on the food bank's card",
    ),
    asks(
        "SELECT 'drop_off (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM drop_off
         WHERE (state = 'handed_over') <> (handed_over_at IS NOT NULL) OR (state = 'agreed' AND agreed_at IS NULL)
            OR closes_at <= opens_at OR NOT EXISTS (SELECT 1 FROM drop_off AS first WHERE first.id = drop_off.chain)
         ORDER BY id",
        "a drop's state, its instants and the first drop of its stock do not fit",
        "ask the driver what became of it, and set its state and instants",
    ),
    asks(
        "SELECT 'drop_off (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM drop_off
         WHERE NOT EXISTS (SELECT 1 FROM drop_line WHERE drop_line.drop_id = drop_off.id) ORDER BY id",
        "a drop has no lines",
        "put its drop_line rows back from a backup, or set its state to 'cancelled'",
    ),
    asks(
        "SELECT 'drop_off (id ' || CAST(id AS TEXT) || ')' AS subject, answer_by AS there, 0 AS expected FROM drop_off
         WHERE state = 'proposed'
           AND EXISTS (SELECT 1 FROM occurrence WHERE occurrence.acted_at > drop_off.answer_by + 172800) ORDER BY id",
        "a food bank's answer is still waited for days after its time",
        "call the food bank, and set drop_off.state to 'agreed' or 'unanswered'",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT lot.crop || ' lot (id ' || CAST(lot.id AS TEXT) || ')' AS subject,
                 CAST(COALESCE((SELECT SUM(giving_ledger.grams) FROM giving_ledger WHERE giving_ledger.lot_id = lot.id), 0)
                     AS BIGINT) AS there,
                 CAST(COALESCE((SELECT SUM(lot_move.grams) FROM lot_move
                     WHERE lot_move.lot_id = lot.id AND lot_move.kind = 'given'), 0) AS BIGINT) AS expected
             FROM lot) AS sums
         WHERE there <> expected ORDER BY subject",
        "the giving ledger and what left the cold room for food banks differ, grams",
        "enter the difference in giving_ledger as a correction with the lot's number",
    ),
    asks(
        "SELECT subject, there, expected FROM (
             SELECT 'drop_off (id ' || CAST(drop_off.id AS TEXT) || ')' AS subject,
                 CAST(COALESCE((SELECT SUM(giving_ledger.grams) FROM giving_ledger
                     WHERE giving_ledger.drop_id = drop_off.id), 0) AS BIGINT) AS there,
                 CAST(COALESCE((SELECT SUM(drop_line.handed_g) FROM drop_line WHERE drop_line.drop_id = drop_off.id), 0)
                     AS BIGINT) AS expected
             FROM drop_off WHERE drop_off.state = 'handed_over') AS sums
         WHERE there <> expected ORDER BY subject",
        "the giving ledger and what was handed over at a drop differ, grams",
        "correct the weight of that drop (/given)",
    ),
    asks(
        "SELECT 'giving_ledger (id ' || CAST(entry.id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected
         FROM giving_ledger AS entry JOIN lot ON lot.id = entry.lot_id
         WHERE lot.crop <> entry.crop
            OR (entry.corrects IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM giving_ledger AS first WHERE first.id = entry.corrects))
            OR (entry.drop_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM drop_off
                WHERE drop_off.id = entry.drop_id AND drop_off.partner_id = entry.partner_id))
         ORDER BY entry.id",
        "an entry of the giving ledger is of another crop, drop or food bank than it names, or corrects nothing",
        AGAIN_FROM_BACKUP,
    ),
    // People.
    asks(
        "SELECT 'person (id ' || CAST(id AS TEXT) || ')' AS subject, CASE WHEN buyer_id IS NULL THEN 0 ELSE 1 END AS there,
             CASE WHEN role = 'buyer' THEN 1 ELSE 0 END AS expected
         FROM person WHERE (role = 'buyer') <> (buyer_id IS NOT NULL) ORDER BY id",
        "a person's role and restaurant do not fit",
        "remove the person with /people and invite them anew",
    ),
    asks(
        "SELECT 'person (id ' || CAST(id AS TEXT) || ')' AS subject, CASE WHEN partner_id IS NULL THEN 0 ELSE 1 END AS there,
             CASE WHEN role = 'pantry' THEN 1 ELSE 0 END AS expected
         FROM person WHERE (role = 'pantry') <> (partner_id IS NOT NULL) ORDER BY id",
        "a person's role and food bank do not fit",
        "remove the person with /people and invite them anew",
    ),
    asks(
        "SELECT 'person (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM person
         WHERE (quiet_from IS NULL) <> (quiet_to IS NULL) ORDER BY id",
        "a person's quiet hours have no beginning or no end",
        "have the person choose them again (/quiet)",
    ),
    mended(
        asks(
            "SELECT 'invitation (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM invitation
             WHERE used_at IS NULL AND expires_at > made_at
               AND ((role = 'buyer' AND buyer_id IS NULL) OR (role = 'pantry' AND partner_id IS NULL)) ORDER BY id",
            "an open invitation does not say for which restaurant or food bank it is",
            "`pinset check --mend` withdraws it; invite the person anew",
        ),
        "UPDATE invitation SET expires_at = made_at
         WHERE used_at IS NULL AND expires_at > made_at
           AND ((role = 'buyer' AND buyer_id IS NULL) OR (role = 'pantry' AND partner_id IS NULL))",
        "withdrew invitations that lead nowhere",
    ),
    asks(
        "SELECT 'invitation (id ' || CAST(id AS TEXT) || ')' AS subject, 0 AS there, 1 AS expected FROM invitation
         WHERE (used_at IS NULL) <> (used_by IS NULL) ORDER BY id",
        "an invitation is half used",
        "set used_at and used_by to when it was used and by whom, or empty both",
    ),
    asks(
        "SELECT 'family_group (chat_id ' || CAST(chat_id AS TEXT) || ')' AS subject, chat_id AS there, -1 AS expected
         FROM family_group WHERE chat_id >= 0 ORDER BY chat_id",
        "the family's group is a person's private chat",
        "delete the row, and say /family in the group",
    ),
    // What comes in, what goes out, and what the timetable does.
    mended(
        asks(
            "SELECT 'farm_lock' AS subject, COUNT(*) AS there, 1 AS expected FROM farm_lock WHERE id = 1
             HAVING COUNT(*) <> 1",
            "the row that puts writers in a queue is missing",
            "`pinset check --mend` puts it back; stop the bot meanwhile",
        ),
        "INSERT INTO farm_lock (id, turn) SELECT 1, 0 WHERE NOT EXISTS (SELECT 1 FROM farm_lock WHERE id = 1)",
        "put the row back that puts writers in a queue",
    ),
    mended(
        asks(
            "SELECT 'outbox (id ' || CAST(id AS TEXT) || ')' AS subject, sent_at AS there, failed_at AS expected FROM outbox
             WHERE sent_at IS NOT NULL AND failed_at IS NOT NULL ORDER BY id",
            "a message is both sent and set aside",
            "`pinset check --mend` leaves it as sent",
        ),
        "UPDATE outbox SET failed_at = NULL, reason = NULL WHERE sent_at IS NOT NULL AND failed_at IS NOT NULL",
        "left messages that were both sent and set aside as sent",
    ),
    asks(
        "SELECT 'occurrence (key ' || key || ')' AS subject, 1 AS there, 0 AS expected FROM occurrence
         WHERE acted_at IS NOT NULL AND outcome IS NULL ORDER BY key",
        "a timetable occurrence was acted on and is still waiting",
        "set occurrence.outcome to 'done' if the family had its message, else empty acted_at",
    ),
    mended(
        asks(
            "SELECT 'occurrence (key ' || key || ')' AS subject, 0 AS there, 1 AS expected FROM occurrence
             WHERE acted_at IS NULL AND outcome IS NOT NULL ORDER BY key",
            "a timetable occurrence has ended and does not say when",
            "`pinset check --mend` takes the instant at which it was due",
        ),
        "UPDATE occurrence SET acted_at = due_at WHERE acted_at IS NULL AND outcome IS NOT NULL",
        "gave ended occurrences the instant at which they were due",
    ),
    mended(
        asks(
            "SELECT 'occurrence (key ' || key || ')' AS subject, useful_until AS there, due_at AS expected FROM occurrence
             WHERE useful_until < due_at ORDER BY key",
            "a timetable occurrence is over before it is due",
            "`pinset check --mend` has it end when it is due",
        ),
        "UPDATE occurrence SET useful_until = due_at WHERE useful_until < due_at",
        "had occurrences end when they are due",
    ),
    asks(
        "SELECT 'occurrence (key ' || key || ')' AS subject, due_at AS there, 0 AS expected FROM occurrence
         WHERE outcome IS NULL AND aside_at IS NULL
           AND EXISTS (SELECT 1 FROM occurrence AS later WHERE later.acted_at > occurrence.due_at + 21600) ORDER BY key",
        "the timetable has gone past an occurrence that still waits",
        "see in the log why it fails; set occurrence.outcome to 'called_off' and do by hand what it should have done",
    ),
];
