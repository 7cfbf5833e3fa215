-- What the farm wants done by itself with what is left: offered until a time of the week, then given.
CREATE TABLE surplus_rule (
    id BIGINT NOT NULL PRIMARY KEY,
    -- Empty: every crop without a rule of its own.
    crop TEXT,
    -- Days from Monday, and the local minute of that day.
    weekday BIGINT NOT NULL,
    minute BIGINT NOT NULL CONSTRAINT surplus_rule_within_a_day CHECK (minute >= 0 AND minute < 1440),
    made_at BIGINT NOT NULL,
    made_by BIGINT REFERENCES person (id),
    ended_at BIGINT
);
