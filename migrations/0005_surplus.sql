-- What is left over and where it goes.

-- Stock kept back for a market day.
CREATE TABLE market_hold (
    day TEXT NOT NULL,
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT market_hold_not_negative CHECK (grams >= 0),
    PRIMARY KEY (day, crop)
);

CREATE TABLE offer (
    id BIGINT NOT NULL PRIMARY KEY,
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT offer_has_weight CHECK (grams > 0),
    -- The database itself refuses to give away more than there is.
    left_g BIGINT NOT NULL CONSTRAINT offer_not_below_zero CHECK (left_g >= 0),
    least_g BIGINT NOT NULL,
    price_cents_per_kg BIGINT,
    made_at BIGINT NOT NULL,
    deadline BIGINT NOT NULL,
    -- When buyers may collect what they took.
    collect_until BIGINT NOT NULL,
    closed_at BIGINT
);

CREATE TABLE offer_buyer (
    offer_id BIGINT NOT NULL REFERENCES offer (id),
    buyer_id BIGINT NOT NULL REFERENCES buyer (id),
    asked_at BIGINT NOT NULL,
    declined_at BIGINT,
    PRIMARY KEY (offer_id, buyer_id)
);

CREATE TABLE offer_claim (
    id BIGINT NOT NULL PRIMARY KEY,
    offer_id BIGINT NOT NULL REFERENCES offer (id),
    buyer_id BIGINT NOT NULL REFERENCES buyer (id),
    grams BIGINT NOT NULL CONSTRAINT offer_claim_has_weight CHECK (grams > 0),
    at BIGINT NOT NULL,
    person_id BIGINT REFERENCES person (id),
    collected_at BIGINT,
    given_back_at BIGINT
);

-- A food-bank drop-off.
CREATE TABLE drop_off (
    id BIGINT NOT NULL PRIMARY KEY,
    -- The first drop proposed of the same stock: a refused or unanswered one falls through to the next partner.
    chain BIGINT NOT NULL,
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    -- 'proposed', 'agreed', 'declined', 'unanswered', 'handed_over', 'cancelled'.
    state TEXT NOT NULL,
    opens_at BIGINT NOT NULL,
    closes_at BIGINT NOT NULL,
    proposed_at BIGINT NOT NULL,
    answer_by BIGINT NOT NULL,
    agreed_at BIGINT,
    eve_reminded_at BIGINT,
    leave_reminded_at BIGINT,
    handed_over_at BIGINT,
    -- Tenths of a degree Celsius at hand-over, if measured.
    temperature_dc BIGINT
);

CREATE TABLE drop_line (
    drop_id BIGINT NOT NULL REFERENCES drop_off (id),
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT drop_line_has_weight CHECK (grams > 0),
    handed_g BIGINT,
    PRIMARY KEY (drop_id, crop)
);

-- What was given, append-only; a correction is an entry with a negative weight.
CREATE TABLE giving_ledger (
    id BIGINT NOT NULL PRIMARY KEY,
    at BIGINT NOT NULL,
    day TEXT NOT NULL,
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    drop_id BIGINT REFERENCES drop_off (id),
    lot_id BIGINT NOT NULL REFERENCES lot (id),
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL,
    value_cents BIGINT,
    person_id BIGINT REFERENCES person (id)
);
