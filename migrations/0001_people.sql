-- Who there is: the family, the buyers and their contacts, the food-bank partners and theirs.
-- Columns are BIGINT, TEXT and DOUBLE PRECISION only, so that SQLite and PostgreSQL read this file alike.
-- Instants are UTC epoch seconds, days are ISO local dates of the farm's zone, weights are grams, money is cents.

-- One row. Every writing transaction updates it first: on PostgreSQL that is the lock that puts writers in a row,
-- on SQLite it takes the write lock before anything is read, so that no reading is stale at commit.
CREATE TABLE farm_lock (
    id BIGINT NOT NULL PRIMARY KEY,
    turn BIGINT NOT NULL
);
INSERT INTO farm_lock (id, turn) VALUES (1, 0);

-- What is set by chat rather than by the configuration file.
CREATE TABLE setting (
    name TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
);

CREATE TABLE buyer (
    id BIGINT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL CONSTRAINT buyer_name_unique UNIQUE,
    -- What a short line does when nobody answers: 'take' what is promised, or 'drop' it.
    when_silent TEXT NOT NULL,
    -- Relative weight in sharing, 1 unless the farm says otherwise.
    weight BIGINT NOT NULL,
    joined_at BIGINT NOT NULL,
    left_at BIGINT
);

CREATE TABLE partner (
    id BIGINT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL CONSTRAINT partner_name_unique UNIQUE,
    address TEXT NOT NULL,
    travel_minutes BIGINT NOT NULL,
    least_g BIGINT NOT NULL,
    greatest_g BIGINT NOT NULL,
    -- JSON list of crop keys; an empty list accepts every crop.
    crops TEXT NOT NULL,
    -- 1 where fresh food stays at or below 5 degrees Celsius, else 0.
    has_cold_store BIGINT NOT NULL,
    joined_at BIGINT NOT NULL,
    left_at BIGINT
);

CREATE TABLE partner_hours (
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    -- 0 is Monday.
    weekday BIGINT NOT NULL,
    opens_minute BIGINT NOT NULL,
    closes_minute BIGINT NOT NULL,
    PRIMARY KEY (partner_id, weekday, opens_minute),
    CONSTRAINT partner_hours_in_one_day CHECK (opens_minute >= 0 AND opens_minute < closes_minute AND closes_minute <= 1440)
);

CREATE TABLE partner_closed (
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    day TEXT NOT NULL,
    PRIMARY KEY (partner_id, day)
);

CREATE TABLE person (
    id BIGINT NOT NULL PRIMARY KEY,
    -- The private chat with this person, which is also their account number at the messaging service.
    chat_id BIGINT NOT NULL CONSTRAINT person_chat_unique UNIQUE,
    name TEXT NOT NULL,
    role TEXT NOT NULL,
    language TEXT NOT NULL,
    units TEXT NOT NULL,
    hour_clock TEXT NOT NULL,
    buyer_id BIGINT REFERENCES buyer (id),
    partner_id BIGINT REFERENCES partner (id),
    joined_at BIGINT NOT NULL,
    left_at BIGINT,
    -- Set when the messaging service says that this person has blocked the bot or is gone.
    unreachable_at BIGINT
);

CREATE TABLE family_group (
    chat_id BIGINT NOT NULL PRIMARY KEY,
    language TEXT NOT NULL,
    joined_at BIGINT NOT NULL
);

CREATE TABLE invitation (
    id BIGINT NOT NULL PRIMARY KEY,
    -- SHA-256 of the code in hexadecimal: who reads the database cannot join with it.
    code_hash TEXT NOT NULL CONSTRAINT invitation_code_unique UNIQUE,
    role TEXT NOT NULL,
    buyer_id BIGINT REFERENCES buyer (id),
    partner_id BIGINT REFERENCES partner (id),
    made_by BIGINT REFERENCES person (id),
    made_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL,
    used_at BIGINT,
    used_by BIGINT REFERENCES person (id)
);
