//! The tables themselves, and what one kind of database alone can be made to hold.

use super::{In, Plant, plant};

pub(super) const ALL: &[Plant] = &[
    plant("a table that is gone", &["DROP TABLE room_temperature"], "the table room_temperature is missing"),
    plant("the table of messages is gone", &["DROP TABLE outbox"], "the table outbox is missing"),
    plant(
        "a column that is gone",
        &["ALTER TABLE delivery DROP COLUMN holds_permille"],
        "the column holds_permille (Integer) of delivery is missing",
    ),
    plant("an index that is gone", &["DROP INDEX outbox_waiting"], "the index outbox_waiting of outbox is missing")
        .mended(),
    plant(
        "a table without its references",
        &["DROP TABLE partner_full", "CREATE TABLE partner_full (partner_id BIGINT NOT NULL, day TEXT NOT NULL)"],
        "the reference from partner_id to partner of partner_full is missing",
    ),
    plant(
        "a table without its key",
        &["DROP TABLE partner_full", "CREATE TABLE partner_full (partner_id BIGINT NOT NULL, day TEXT NOT NULL)"],
        "the primary key (partner_id, day) of partner_full is missing",
    ),
    plant(
        "a column that may be empty",
        &[
            "DROP TABLE knock",
            "CREATE TABLE knock (chat_id BIGINT NOT NULL PRIMARY KEY, first_at BIGINT, times BIGINT NOT NULL)",
        ],
        "the rule that first_at is never empty of knock is missing",
    ),
    plant(
        "a column of another kind",
        &[
            "DROP TABLE knock",
            "CREATE TABLE knock (chat_id BIGINT NOT NULL PRIMARY KEY, first_at TEXT NOT NULL, times BIGINT NOT NULL)",
        ],
        "the column first_at (Integer) of knock is missing",
    ),
    plant(
        "a rule that is gone",
        &["ALTER TABLE lot DROP CONSTRAINT lot_not_below_zero"],
        "the rule lot_not_below_zero of lot is missing",
    )
    .only_in(In::Postgres),
    plant(
        "a name that may be used twice",
        &["ALTER TABLE buyer DROP CONSTRAINT buyer_name_unique"],
        "the rule that (name) is unique of buyer is missing",
    )
    .only_in(In::Postgres),
    plant(
        "a rule that old rows were not held against",
        &[
            "ALTER TABLE lot DROP CONSTRAINT lot_has_weight",
            "ALTER TABLE lot ADD CONSTRAINT lot_has_weight CHECK (picked_g > 0) NOT VALID",
        ],
        "constraint lot_has_weight of lot is not validated",
    )
    .only_in(In::Postgres),
    plant(
        "a word where a number belongs",
        &["UPDATE lot SET made_at = 'yesterday' WHERE id = (SELECT MIN(id) FROM lot)"],
        "made_at is no whole number",
    )
    .only_in(In::Sqlite),
    plant(
        "an index that lost its rows",
        &[
            "PRAGMA writable_schema = ON",
            "UPDATE sqlite_master SET sql = 'CREATE INDEX button_of_card ON button (chat_id, token)'
             WHERE name = 'button_of_card'",
        ],
        "missing from index button_of_card",
    )
    .only_in(In::Sqlite)
    .mended(),
];
