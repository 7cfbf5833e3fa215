//! People, messages, buttons and the timetable.

use super::{Plant, plant};

pub(super) const ALL: &[Plant] = &[
    // People.
    plant(
        "a contact of no restaurant",
        &["UPDATE person SET buyer_id = NULL WHERE id = (SELECT MIN(id) FROM person WHERE role = 'buyer')"],
        "a person's role and restaurant do not fit (person (id ",
    ),
    plant(
        "a keeper who answers for a food bank",
        &["UPDATE person SET partner_id = (SELECT MIN(id) FROM partner)
           WHERE id = (SELECT MIN(id) FROM person WHERE role = 'keeper')"],
        "a person's role and food bank do not fit (person (id ",
    ),
    plant(
        "a role nobody has",
        &["UPDATE person SET role = 'king' WHERE id = (SELECT MIN(id) FROM person WHERE role = 'keeper')"],
        "role is \"king\"",
    ),
    plant(
        "weights in stones",
        &["UPDATE person SET units = 'stone' WHERE id = (SELECT MIN(id) FROM person)"],
        "units is \"stone\"",
    ),
    plant(
        "quiet after midnight's midnight",
        &["UPDATE person SET quiet_from = 5000 WHERE id = (SELECT MIN(id) FROM person)"],
        "quiet_from is 5000",
    ),
    plant(
        "quiet without an end",
        &["UPDATE person SET quiet_from = 60, quiet_to = NULL WHERE id = (SELECT MIN(id) FROM person)"],
        "a person's quiet hours have no beginning or no end (person (id ",
    ),
    plant(
        "a contact of a restaurant that is gone",
        &["UPDATE person SET buyer_id = 7 WHERE id = (SELECT MIN(id) FROM person WHERE role = 'buyer')"],
        "has buyer_id 7, and there is no such buyer",
    ),
    plant(
        "an invitation half used",
        &["INSERT INTO invitation (id, code_hash, role, made_at, expires_at, used_at)
           VALUES (1, '0000000000000000000000000000000000000000000000000000000000000000', 'grower', {now}, {now}, {now})"],
        "an invitation is half used (invitation (id 1)",
    ),
    plant(
        "an invitation until 2096",
        &["INSERT INTO invitation (id, code_hash, role, made_at, expires_at)
           VALUES (1, '0000000000000000000000000000000000000000000000000000000000000000', 'grower', {now}, 3976214400)"],
        "invitation (id 1): expires_at is 3976214400",
    )
    .mended(),
    plant(
        "an invitation to nowhere",
        &["INSERT INTO invitation (id, code_hash, role, made_at, expires_at)
           VALUES (1, '0000000000000000000000000000000000000000000000000000000000000000', 'buyer', {now}, {now} + 60)"],
        "an open invitation does not say for which restaurant or food bank it is (invitation (id 1)",
    )
    .mended(),
    plant(
        "a code in plain letters",
        &["INSERT INTO invitation (id, code_hash, role, made_at, expires_at) VALUES (1, 'secret', 'grower', {now}, {now})"],
        "invitation (id 1): code_hash is \"secret\"",
    ),
    plant(
        "a family group that is a private chat",
        &["INSERT INTO family_group (chat_id, language, joined_at) VALUES (500, 'en', {now})"],
        "the family's group is a person's private chat (family_group (chat_id 500)",
    ),
    plant(
        "a change of account by no invitation",
        &["INSERT INTO takeover (invitation_id, person_id) SELECT 7, MIN(id) FROM person"],
        "takeover (invitation_id 7) has invitation_id 7, and there is no such invitation",
    )
    .mended(),
    plant(
        "a restaurant that does neither when silent",
        &["UPDATE buyer SET when_silent = 'shout' WHERE id = (SELECT MIN(id) FROM buyer)"],
        "when_silent is \"shout\"",
    ),
    plant(
        "a restaurant of no weight",
        &["UPDATE buyer SET weight = 0 WHERE id = (SELECT MIN(id) FROM buyer)"],
        "weight is 0, and must be at least 1",
    ),
    plant(
        "a crop of the keeper's that cannot be read",
        &["INSERT INTO crop (key, changes, added_at) VALUES ('oyster', 'more', {now})"],
        "crop (key oyster): changes is \"more\"",
    ),
    // Messages and buttons.
    plant(
        "a message that waits until 2096",
        &["INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries)
           VALUES (1, 1001, 1, '{\"menu\":{\"commands\":[]}}', {now}, 3976214400, 0)"],
        "outbox (id 1): not_before is 3976214400, 2096-01-01T00:00:00Z, which is too far ahead",
    )
    .mended(),
    plant(
        "a message that cannot be read and stops those behind it",
        &["INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries)
           VALUES (1, 1001, 1, '{\"song\":{}}', {now}, {now}, 0)"],
        "outbox (id 1): body cannot be read by this program",
    )
    .mended(),
    plant(
        "a message held by a sender until 2096",
        &["INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries, leased_until)
           VALUES (1, 1001, 1, '{\"menu\":{\"commands\":[]}}', {now}, {now}, 1, 3976214400)"],
        "outbox (id 1): leased_until is 3976214400",
    )
    .mended(),
    plant(
        "a message both sent and set aside",
        &["UPDATE outbox SET sent_at = {now}, failed_at = {now}, reason = 'blocked' WHERE id = (SELECT MIN(id) FROM outbox)"],
        "a message is both sent and set aside (outbox (id ",
    )
    .mended(),
    plant(
        "a message sent in the future",
        &["UPDATE outbox SET sent_at = 3976214400 WHERE id = (SELECT MIN(id) FROM outbox WHERE sent_at IS NOT NULL)"],
        "sent_at is 3976214400",
    )
    .mended(),
    plant(
        "a notice held until 2286",
        &["INSERT INTO held (id, chat_id, body, due_at) VALUES (1, 1001, '{\"menu\":{\"commands\":[]}}', 9999999999)"],
        "held (id 1): due_at is 9999999999, 2286-11-20T17:46:39Z, which is too far ahead",
    )
    .mended(),
    plant(
        "a held notice that cannot be read",
        &["INSERT INTO held (id, chat_id, body, due_at) VALUES (1, 1001, 'hello', {now})"],
        "held (id 1): body cannot be read by this program",
    )
    .mended(),
    plant(
        "a button that means nothing",
        &["INSERT INTO button (token, chat_id, card, intent, made_at) VALUES ('zz', 1001, 'c', '{\"sing\":1}', {now})"],
        "button (token zz): intent cannot be read by this program",
    )
    .mended(),
    plant(
        "a question nobody understands",
        &[
            "DELETE FROM question",
            "INSERT INTO question (chat_id, waiting, asked_at, expires_at) VALUES (1001, 'what?', {now}, {now} + 60)",
        ],
        "question (chat_id 1001): waiting cannot be read by this program",
    )
    .mended(),
    plant(
        "a stranger counted from 2096 on",
        &["DELETE FROM knock WHERE chat_id = 77", "INSERT INTO knock (chat_id, first_at, times) VALUES (77, 3976214400, 1)"],
        "knock (chat_id 77): first_at is 3976214400",
    )
    .mended(),
    plant(
        "an update taken in 2096",
        &["INSERT INTO inbox (update_id, received_at) VALUES (999999999, 3976214400)"],
        "inbox (update_id 999999999): received_at is 3976214400",
    )
    .mended(),
    plant(
        "a card that is no message",
        &["INSERT INTO card (chat_id, name, message_id) VALUES (1001, 'nothing', 0)"],
        "card (chat_id 1001, name nothing): message_id is 0",
    )
    .mended(),
    // The timetable.
    plant(
        "a timetable planned until 2286",
        &[
            "DELETE FROM setting WHERE name = 'timetable_planned_until'",
            "INSERT INTO setting (name, value) VALUES ('timetable_planned_until', '9999999999')",
        ],
        "the timetable is planned until 2286-11-20T17:46:39Z, which is ahead of now",
    )
    .mended(),
    plant(
        "a timetable planned until soon",
        &[
            "DELETE FROM setting WHERE name = 'timetable_planned_until'",
            "INSERT INTO setting (name, value) VALUES ('timetable_planned_until', 'soon')",
        ],
        "\"soon\" is no instant",
    )
    .mended(),
    plant(
        "an occurrence that is stuck",
        &["INSERT INTO occurrence (key, job, due_at, useful_until) VALUES ('stuck', 'cutoff', {now} - 864000, {now} - 800000)"],
        "the timetable has gone past an occurrence that still waits (occurrence (key stuck)",
    ),
    plant(
        "an occurrence that ended in no way",
        &["INSERT INTO occurrence (key, job, due_at, useful_until, acted_at, outcome)
           VALUES ('odd', 'cutoff', {now}, {now}, {now}, 'perhaps')"],
        "occurrence (key odd): outcome is \"perhaps\"",
    ),
    plant(
        "an occurrence acted on and still waiting",
        &["INSERT INTO occurrence (key, job, due_at, useful_until, acted_at) VALUES ('half', 'cutoff', {now}, {now}, {now})"],
        "a timetable occurrence was acted on and is still waiting (occurrence (key half)",
    ),
    plant(
        "an occurrence that ended at no time",
        &["INSERT INTO occurrence (key, job, due_at, useful_until, outcome) VALUES ('half', 'cutoff', {now}, {now}, 'done')"],
        "a timetable occurrence has ended and does not say when (occurrence (key half)",
    )
    .mended(),
    plant(
        "an occurrence due in 2286",
        &["INSERT INTO occurrence (key, job, due_at, useful_until) VALUES ('late', 'cutoff', 9999999999, 9999999999)"],
        "occurrence (key late): due_at is 9999999999",
    ),
    plant(
        "an occurrence over before it is due",
        &["INSERT INTO occurrence (key, job, due_at, useful_until) VALUES ('early', 'cutoff', {now}, {now} - 60)"],
        "a timetable occurrence is over before it is due (occurrence (key early)",
    )
    .mended(),
    plant(
        "no row that writers queue for",
        &["DELETE FROM farm_lock"],
        "the row that puts writers in a queue is missing",
    )
    .mended(),
];
