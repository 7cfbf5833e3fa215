//! What the farm has, owes and gives.

use super::{Plant, plant};

pub(super) const ALL: &[Plant] = &[
    // The cold room.
    plant(
        "a lot heavier than its moves say",
        &["UPDATE lot SET left_g = left_g + 100 WHERE id = (SELECT MIN(id) FROM lot)"],
        "a lot's weight left is not what its moves say, grams (lot (id ",
    ),
    plant(
        "a lot below zero that balances",
        &[
            "INSERT INTO lot_move (id, lot_id, kind, grams, at)
             SELECT 1, id, 'discarded', left_g + 500, made_at FROM lot WHERE id = (SELECT MIN(id) FROM lot)",
            "UPDATE lot SET left_g = -500 WHERE id = (SELECT MIN(id) FROM lot)",
        ],
        "left_g is -500, and must be at least 0",
    )
    .against(&[("lot", "lot_not_below_zero")]),
    plant(
        "a pick that never came into the cold room",
        &["UPDATE growing_event SET grams = grams + 250 WHERE id = (SELECT MIN(id) FROM growing_event WHERE kind = 'picked')"],
        "what was picked of a flush and what came into the cold room of it differ, grams (flush (id ",
    ),
    plant(
        "a lot that is gone",
        &["DELETE FROM lot WHERE id = (SELECT MIN(lot_id) FROM lot_move)"],
        ", and there is no such lot",
    ),
    plant(
        "a move of no kind",
        &["UPDATE lot_move SET kind = 'vanished' WHERE id = (SELECT MIN(id) FROM lot_move)"],
        "kind is \"vanished\"",
    ),
    plant(
        "stock that left for no delivery",
        &["UPDATE lot_move SET subject = 7 WHERE id = (SELECT MIN(id) FROM lot_move WHERE kind = 'delivered')"],
        "stock left for a delivery, a claim or a drop that is not there (lot_move (id ",
    ),
    plant(
        "a move of no lot",
        &["UPDATE lot_move SET lot_id = 7 WHERE id = (SELECT MIN(id) FROM lot_move)"],
        "has lot_id 7, and there is no such lot",
    ),
    plant(
        "a lot picked on no date",
        &["UPDATE lot SET picked_on = '2026-13-40' WHERE id = (SELECT MIN(id) FROM lot)"],
        "picked_on is \"2026-13-40\", which is no date",
    ),
    plant(
        "a lot that keeps until soon",
        &["UPDATE lot SET keeps_until = 'soon' WHERE id = (SELECT MIN(id) FROM lot)"],
        "keeps_until is \"soon\", which is no date",
    ),
    plant(
        "a lot over before it was picked",
        &["UPDATE lot SET keeps_until = '2020-01-01' WHERE id = (SELECT MIN(id) FROM lot)"],
        "a lot is ready or over before it was picked",
    ),
    plant(
        "a lot of another crop than its batch",
        &["UPDATE lot SET crop = crop || '-x' WHERE id = (SELECT MIN(id) FROM lot WHERE flush_id IS NOT NULL)"],
        "a lot is of another crop than the batch it was picked from",
    ),
    plant(
        "a lot made in 2096",
        &["UPDATE lot SET made_at = 3976214400 WHERE id = (SELECT MIN(id) FROM lot)"],
        "made_at is 3976214400, 2096-01-01T00:00:00Z, which is still to come",
    ),
    plant(
        "a cold room hotter than fire",
        &["INSERT INTO cold_room_temperature (id, temperature_dc, at) VALUES (1, 9999, {now})"],
        "cold_room_temperature (id 1): temperature_dc is 9999",
    ),
    // The shelves.
    plant(
        "a batch without flushes",
        &["DELETE FROM flush WHERE batch_id = (SELECT MIN(id) FROM batch)"],
        "a batch has no flush (batch (id ",
    ),
    plant(
        "a batch with two open flushes",
        &[
            "INSERT INTO flush (id, batch_id, number, units_lost) SELECT 1, MIN(id), 90, 0 FROM batch",
            "INSERT INTO flush (id, batch_id, number, units_lost) SELECT 2, MIN(id), 91, 0 FROM batch",
        ],
        "a batch has more than one open flush",
    ),
    plant(
        "more lost than there was",
        &["UPDATE flush SET units_lost = 99999 WHERE id = (SELECT MIN(id) FROM flush)"],
        "more units of a batch are lost than it has (flush (id ",
    ),
    plant(
        "a flush begun on no date",
        &["UPDATE flush SET initiated_on = 'Tuesday' WHERE id = (SELECT MIN(id) FROM flush)"],
        "initiated_on is \"Tuesday\", which is no date",
    ),
    plant(
        "a flush of no batch",
        &["UPDATE flush SET batch_id = 7 WHERE id = (SELECT MIN(id) FROM flush)"],
        "has batch_id 7, and there is no such batch",
    ),
    plant(
        "an unknown event of the shelves",
        &["UPDATE growing_event SET kind = 'eaten' WHERE id = (SELECT MIN(id) FROM growing_event)"],
        "kind is \"eaten\"",
    ),
    plant(
        "an event of another batch",
        &[
            "INSERT INTO batch (id, crop, room, units, dry_g_per_unit, started_on)
             VALUES (1, 'oyster', 'hall', 5, 900, '2026-06-01')",
            "INSERT INTO flush (id, batch_id, number, units_lost) VALUES (1, 1, 1, 0)",
            "UPDATE growing_event SET batch_id = 1
             WHERE id = (SELECT MIN(id) FROM growing_event WHERE flush_id IS NOT NULL)",
        ],
        "an entry of the growing record names a flush of another batch",
    ),
    plant(
        "a batch of no units",
        &["UPDATE batch SET units = 0 WHERE id = (SELECT MIN(id) FROM batch)"],
        "units is 0, and must be at least 1",
    )
    .against(&[("batch", "batch_has_units")]),
    plant(
        "a batch in no room",
        &["UPDATE batch SET room = ' ' WHERE id = (SELECT MIN(id) FROM batch)"],
        "room is empty",
    ),
    // Orders.
    plant(
        "a standing order that cannot be read",
        &["INSERT INTO standing (id, buyer_id, crop, grams, recurrence, made_at)
           SELECT 1, MIN(id), 'oyster', 1000, 'RRULE:WHENEVER', MIN(joined_at) FROM buyer"],
        "standing (id 1): recurrence cannot be read",
    ),
    plant(
        "a rest without an end",
        &["INSERT INTO standing (id, buyer_id, crop, grams, recurrence, made_at, ended_at, paused_from)
           SELECT 1, MIN(id), 'oyster', 1000, '', MIN(joined_at), MIN(joined_at), '2026-06-04' FROM buyer"],
        "a standing order's rest has no beginning, no end, or ends before it begins (standing (id 1)",
    ),
    plant(
        "another weight of no standing order",
        &["INSERT INTO standing_change (standing_id, day, grams) VALUES (7, '2026-06-04', 100)"],
        "standing_change (standing_id 7, day 2026-06-04) has standing_id 7, and there is no such standing",
    ),
    plant(
        "an order of nobody",
        &["INSERT INTO order_line (buyer_id, day, crop, grams, made_at) VALUES (7, '2026-06-04', 'oyster', 100, {now})"],
        "order_line (buyer_id 7, day 2026-06-04, crop oyster) has buyer_id 7, and there is no such buyer",
    ),
    plant(
        "an order for no date",
        &["INSERT INTO order_line (buyer_id, day, crop, grams, made_at) SELECT MIN(id), '4 June', 'oyster', 100, {now} FROM buyer"],
        "day is \"4 June\", which is no date",
    ),
    plant(
        "an order of nothing",
        &["INSERT INTO order_line (buyer_id, day, crop, grams, made_at) SELECT MIN(id), '2026-06-04', 'enoki', 0, {now} FROM buyer"],
        "grams is 0, and must be at least 1",
    )
    .against(&[("order_line", "order_line_has_weight")]),
    plant(
        "an undoing that cannot be read",
        &[
            "DELETE FROM order_undo",
            "INSERT INTO order_undo (buyer_id, made_at, before) SELECT MIN(id), {now}, '{' FROM buyer",
        ],
        "before is \"{\", which the program does not know",
    )
    .mended(),
    plant(
        "an undoing of nobody",
        &["INSERT INTO order_undo (buyer_id, made_at, before) VALUES (7, {now}, '{}')"],
        "order_undo (buyer_id 7) has buyer_id 7, and there is no such buyer",
    )
    .mended(),
    // Promises.
    plant(
        "a delivery that is marked as assumed though somebody said it",
        &["UPDATE award SET assumed = 1 - assumed WHERE id = (SELECT MIN(id) FROM award)"],
        "whether somebody said what was delivered is not what the history says, 1 for nobody (award (id ",
    ),
    plant(
        "a promise that its history does not know",
        &["UPDATE award SET promised_g = promised_g + 100 WHERE id = (SELECT MIN(id) FROM award)"],
        "a promise is not what its history says, grams (award (id ",
    ),
    plant(
        "a promise without a history",
        &["DELETE FROM award_event WHERE award_id = (SELECT MIN(id) FROM award)"],
        "against -1)",
    ),
    plant(
        "a promise beyond forecast and stock, with its event",
        &[
            "INSERT INTO delivery (day, closed_at, seed, answers_by) VALUES ('2099-01-01', {now}, 1, {now})",
            "INSERT INTO award (id, buyer_id, day, crop, source, asked_g, promised_g, state)
             SELECT 1, MIN(id), '2099-01-01', 'oyster', 'once', 90000000, 90000000, 'full' FROM buyer",
            "INSERT INTO award_event (id, award_id, at, promised_g, why) VALUES (1, 1, {now}, 90000000, 'topped_up')",
        ],
        "more is promised for a day than its forecast and the cold room hold together, grams (2099-01-01 oyster: 90000000",
    ),
    plant(
        "a promise beyond stock on the packing morning",
        &[
            "INSERT INTO delivery (day, closed_at, seed, answers_by, shared_at) VALUES ('{today}', {now}, 1, {now}, {now})",
            "INSERT INTO forecast_record (day, crop, made_at, p10_g, p50_g, p90_g, promise_g)
             VALUES ('{today}', 'oyster', {now}, 0, 0, 0, 90000000)",
            "INSERT INTO award (id, buyer_id, day, crop, source, asked_g, promised_g, state)
             SELECT 1, MIN(id), '{today}', 'oyster', 'once', 90000000, 90000000, 'full' FROM buyer",
            "INSERT INTO award_event (id, award_id, at, promised_g, why) VALUES (1, 1, {now}, 90000000, 'cutoff')",
        ],
        "crop oyster): 90000000 g are promised",
    ),
    plant(
        "more promised at cut-off than could be",
        &["UPDATE forecast_record SET promise_g = 0"],
        "more was promised when orders closed than could be, grams",
    ),
    plant(
        "a promise lowered by a top-up",
        &[
            "INSERT INTO delivery (day, closed_at, seed, answers_by, packed_at) VALUES ('2099-01-01', {now}, 1, {now}, {now})",
            "INSERT INTO award (id, buyer_id, day, crop, source, asked_g, promised_g, state)
             SELECT 1, MIN(id), '2099-01-01', 'oyster', 'once', 500, 0, 'full' FROM buyer",
            "INSERT INTO award_event (id, award_id, at, promised_g, why) VALUES (1, 1, {now}, 500, 'cutoff')",
            "INSERT INTO award_event (id, award_id, at, promised_g, why) VALUES (2, 1, {now}, 0, 'topped_up')",
        ],
        "a promise was lowered by what can only keep or raise it, grams (award_event (id 2)",
    ),
    plant(
        "a line in no state",
        &["UPDATE award SET state = 'lost' WHERE id = (SELECT MIN(id) FROM award)"],
        "state is \"lost\"",
    ),
    plant(
        "a line from nowhere",
        &["UPDATE award SET source = 'gift' WHERE id = (SELECT MIN(id) FROM award)"],
        "source is \"gift\"",
    ),
    plant(
        "a line of no delivery",
        &["UPDATE award SET day = '2020-01-01' WHERE id = (SELECT MIN(id) FROM award)"],
        "has day 2020-01-01, and there is no such delivery",
    ),
    plant(
        "a promise below zero",
        &["UPDATE award SET promised_g = -5 WHERE id = (SELECT MIN(id) FROM award)"],
        "promised_g is -5, and must be at least 0",
    )
    .against(&[("award", "award_promised_not_negative")]),
    plant(
        "a promise for no reason",
        &["UPDATE award_event SET why = 'because' WHERE id = (SELECT MIN(id) FROM award_event)"],
        "why is \"because\"",
    ),
    plant(
        "more delivered than left the cold room",
        &["UPDATE award SET delivered_g = delivered_g + 100
           WHERE id = (SELECT MIN(id) FROM award WHERE delivered_g IS NOT NULL)"],
        "a delivered weight and what left the cold room for it differ, grams (award (id ",
    ),
    plant(
        "a settled day with an open answer",
        &["UPDATE award SET state = 'short'
           WHERE id = (SELECT MIN(award.id) FROM award JOIN delivery ON delivery.day = award.day
                       WHERE delivery.settled_at IS NOT NULL)"],
        "a restaurant's answer is still waited for (delivery (day ",
    ),
    plant(
        "a forecast upside down",
        &["UPDATE forecast_record SET p10_g = p90_g + 1 WHERE day = (SELECT MIN(day) FROM forecast_record)"],
        "a forecast's low, middle and high weights are not in order",
    ),
    plant(
        "a day closed before the farm began",
        &["UPDATE delivery SET closed_at = -3 WHERE day = (SELECT MIN(day) FROM delivery)"],
        "closed_at is -3, an instant before the year 2000",
    ),
    plant(
        "a chance of more than all",
        &["UPDATE delivery SET holds_permille = 2000 WHERE day = (SELECT MIN(day) FROM delivery)"],
        "holds_permille is 2000, and must lie between 0 and 1000",
    ),
    // What is left over.
    plant(
        "an offer that does not add up",
        &["UPDATE offer SET closed_at = NULL, grams = 500000, left_g = 1 WHERE id = (SELECT MIN(id) FROM offer)"],
        "an offer's weight left does not fit what was taken of it, grams (offer (id ",
    ),
    plant(
        "an offer with more left than it had",
        &["UPDATE offer SET left_g = grams + 1 WHERE id = (SELECT MIN(id) FROM offer)"],
        "an offer has more left than it had, or ends before it began (offer (id ",
    ),
    plant(
        "an offer that never ended",
        &["INSERT INTO offer (id, crop, grams, left_g, least_g, made_at, deadline, collect_until)
           VALUES (1, 'oyster', 1000, 1000, 100, {now} - 864000, {now} - 800000, {now} - 700000)"],
        "an offer is still open days after its deadline (offer (id 1)",
    ),
    plant(
        "a claim both fetched and given back",
        &["UPDATE offer_claim SET collected_at = at, given_back_at = at WHERE id = (SELECT MIN(id) FROM offer_claim)"],
        "was both fetched and given back",
    ),
    plant(
        "a claim on no offer",
        &["UPDATE offer_claim SET offer_id = 7 WHERE id = (SELECT MIN(id) FROM offer_claim)"],
        "has offer_id 7, and there is no such offer",
    ),
    plant(
        "a claim that goes with no line",
        &["UPDATE offer_claim SET award_id = 7 WHERE id = (SELECT MIN(id) FROM offer_claim)"],
        "goes with a line that is not there (offer_claim (id ",
    ),
    plant(
        "less than nothing kept for the market",
        &["INSERT INTO market_hold (day, crop, grams) VALUES ('2026-06-06', 'enoki', -1)"],
        "market_hold (day 2026-06-06, crop enoki): grams is -1",
    )
    .against(&[("market_hold", "market_hold_not_negative")]),
    plant(
        "two rules for one crop",
        &[
            "INSERT INTO surplus_rule (id, weekday, minute, made_at) VALUES (1, 4, 600, {now})",
            "INSERT INTO surplus_rule (id, weekday, minute, made_at) VALUES (2, 5, 600, {now})",
        ],
        "two rules for what is left hold for the same crop (surplus_rule (id 2)",
    ),
    plant(
        "a rule for an eighth day of the week",
        &["INSERT INTO surplus_rule (id, weekday, minute, made_at) VALUES (1, 9, 600, {now})"],
        "surplus_rule (id 1): weekday is 9",
    ),
    // Food banks.
    plant(
        "a least above the most",
        &["UPDATE partner SET least_g = greatest_g + 1 WHERE id = (SELECT MIN(id) FROM partner)"],
        "the least that a food bank takes is more than the most, grams (partner (id ",
    ),
    plant(
        "crops that are no list",
        &["UPDATE partner SET crops = '[shiitake' WHERE id = (SELECT MIN(id) FROM partner)"],
        "crops is \"[shiitake\"",
    ),
    plant(
        "hours that overlap",
        &["INSERT INTO partner_hours (partner_id, weekday, opens_minute, closes_minute)
           SELECT MIN(id), 4, 600, 700 FROM partner"],
        "two stretches of a food bank's opening hours overlap",
    ),
    plant(
        "hours of no food bank",
        &["INSERT INTO partner_hours (partner_id, weekday, opens_minute, closes_minute) VALUES (7, 4, 600, 700)"],
        "has partner_id 7, and there is no such partner",
    ),
    plant(
        "closed on no date",
        &["INSERT INTO partner_closed (partner_id, day) SELECT MIN(id), 'Easter' FROM partner"],
        "day is \"Easter\", which is no date",
    ),
    plant(
        "a drop in no state",
        &["UPDATE drop_off SET state = 'eaten' WHERE id = (SELECT MIN(id) FROM drop_off)"],
        "state is \"eaten\"",
    ),
    plant(
        "a drop handed over at no time",
        &["UPDATE drop_off SET handed_over_at = NULL
           WHERE id = (SELECT MIN(id) FROM drop_off WHERE state = 'handed_over')"],
        "a drop's state, its instants and the first drop of its stock do not fit (drop_off (id ",
    ),
    plant(
        "a drop without lines",
        &["DELETE FROM drop_line WHERE drop_id = (SELECT MIN(id) FROM drop_off)"],
        "a drop has no lines (drop_off (id ",
    ),
    plant(
        "a drop of no first one",
        &["UPDATE drop_off SET chain = 7 WHERE id = (SELECT MIN(id) FROM drop_off)"],
        "the first drop of its stock do not fit (drop_off (id ",
    ),
    plant(
        "a food bank that never answers",
        &["UPDATE drop_off SET state = 'proposed' WHERE id = (SELECT MIN(id) FROM drop_off WHERE state <> 'handed_over')"],
        "a food bank's answer is still waited for days after its time (drop_off (id ",
    ),
    plant(
        "a drop before a closed door",
        &[
            "INSERT INTO drop_off (id, chain, partner_id, state, opens_at, closes_at, proposed_at, answer_by, agreed_at)
             SELECT 1, 1, MIN(id), 'agreed', {now} + 3600, {now} + 7200, {now}, {now}, {now} FROM partner",
            "INSERT INTO drop_line (drop_id, crop, grams) VALUES (1, 'oyster', 1000)",
        ],
        "drop_off (id 1): at ",
    ),
    plant(
        "a gift that is not in the ledger",
        &["DELETE FROM giving_ledger WHERE id = (SELECT MIN(id) FROM giving_ledger)"],
        "the giving ledger and what left the cold room for food banks differ, grams",
    ),
    plant(
        "a gift of another crop",
        &["UPDATE giving_ledger SET crop = 'enoki' WHERE id = (SELECT MIN(id) FROM giving_ledger)"],
        "an entry of the giving ledger is of another crop",
    ),
    plant(
        "a correction of nothing",
        &["UPDATE giving_ledger SET corrects = 7 WHERE id = (SELECT MIN(id) FROM giving_ledger)"],
        "or corrects nothing (giving_ledger (id ",
    ),
    plant(
        "a drop heavier than the ledger",
        &["UPDATE drop_line SET handed_g = handed_g + 1
           WHERE drop_id = (SELECT MIN(id) FROM drop_off WHERE state = 'handed_over')"],
        "the giving ledger and what was handed over at a drop differ, grams (drop_off (id ",
    ),
    plant(
        "a regular drop in no state",
        &["INSERT INTO standing_drop (id, partner_id, recurrence, opens_minute, state, proposed_at, ended_at)
           SELECT 1, MIN(id), '', 600, 'maybe', {now}, {now} FROM partner"],
        "standing_drop (id 1): state is \"maybe\"",
    ),
    plant(
        "a regular drop after the end of the day",
        &["INSERT INTO standing_drop (id, partner_id, recurrence, opens_minute, state, proposed_at, ended_at)
           SELECT 1, MIN(id), '', 5000, 'stopped', {now}, {now} FROM partner"],
        "standing_drop (id 1): opens_minute is 5000",
    ),
];
