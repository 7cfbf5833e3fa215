-- What is asked, what is promised, what went out.

-- A standing order: one crop of one buyer, by an RFC 5545 recurrence.
CREATE TABLE standing (
    id BIGINT NOT NULL PRIMARY KEY,
    buyer_id BIGINT NOT NULL REFERENCES buyer (id),
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT standing_has_weight CHECK (grams > 0),
    -- DTSTART, RRULE and EXDATE lines; a skipped date is an EXDATE, an end is the rule's UNTIL.
    recurrence TEXT NOT NULL,
    -- A rest: nothing from … until the day before …; both empty when not paused.
    paused_from TEXT,
    resumes_on TEXT,
    made_at BIGINT NOT NULL,
    made_by BIGINT REFERENCES person (id),
    ended_at BIGINT
);
CREATE INDEX standing_of_buyer ON standing (buyer_id);

-- One date of a standing order with another weight.
CREATE TABLE standing_change (
    standing_id BIGINT NOT NULL REFERENCES standing (id),
    day TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT standing_change_has_weight CHECK (grams > 0),
    PRIMARY KEY (standing_id, day)
);

-- A one-off line: one crop for one delivery day, on top of any standing order.
CREATE TABLE order_line (
    buyer_id BIGINT NOT NULL REFERENCES buyer (id),
    day TEXT NOT NULL,
    crop TEXT NOT NULL,
    grams BIGINT NOT NULL CONSTRAINT order_line_has_weight CHECK (grams > 0),
    made_at BIGINT NOT NULL,
    made_by BIGINT REFERENCES person (id),
    PRIMARY KEY (buyer_id, day, crop)
);

-- What a buyer's orders for a day were before the last change, so that it can be undone until cut-off (JSON).
CREATE TABLE order_undo (
    buyer_id BIGINT NOT NULL PRIMARY KEY REFERENCES buyer (id),
    made_at BIGINT NOT NULL,
    before TEXT NOT NULL
);

-- A delivery day once its orders are closed.
CREATE TABLE delivery (
    day TEXT NOT NULL PRIMARY KEY,
    closed_at BIGINT NOT NULL,
    -- The seed of the forecast's draws, so that they can be made again.
    seed BIGINT NOT NULL,
    answers_by BIGINT NOT NULL,
    settled_at BIGINT,
    packed_at BIGINT,
    delivered_at BIGINT
);

CREATE TABLE award (
    id BIGINT NOT NULL PRIMARY KEY,
    buyer_id BIGINT NOT NULL REFERENCES buyer (id),
    day TEXT NOT NULL REFERENCES delivery (day),
    crop TEXT NOT NULL,
    -- 'standing', 'once', 'swap', 'moved'.
    source TEXT NOT NULL,
    asked_g BIGINT NOT NULL CONSTRAINT award_asked_not_negative CHECK (asked_g >= 0),
    promised_g BIGINT NOT NULL CONSTRAINT award_promised_not_negative CHECK (promised_g >= 0),
    delivered_g BIGINT,
    -- 'full', 'short' (waits for an answer), 'taken', 'swapped', 'moved', 'dropped', 'silent'.
    state TEXT NOT NULL,
    CONSTRAINT award_unique UNIQUE (buyer_id, day, crop, source)
);

-- Why a promise is what it is, append-only.
CREATE TABLE award_event (
    id BIGINT NOT NULL PRIMARY KEY,
    award_id BIGINT NOT NULL REFERENCES award (id),
    at BIGINT NOT NULL,
    promised_g BIGINT NOT NULL,
    -- 'cutoff', 'taken', 'swapped', 'moved', 'dropped', 'silent', 'topped_up', 'weighed', 'delivered'.
    why TEXT NOT NULL,
    person_id BIGINT REFERENCES person (id)
);

-- What the family was told to expect when orders closed.
CREATE TABLE forecast_record (
    day TEXT NOT NULL,
    crop TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    p10_g BIGINT NOT NULL,
    p50_g BIGINT NOT NULL,
    p90_g BIGINT NOT NULL,
    promise_g BIGINT NOT NULL,
    PRIMARY KEY (day, crop)
);
