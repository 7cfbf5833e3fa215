-- What is on the shelves and in the cold room.

CREATE TABLE batch (
    id BIGINT NOT NULL PRIMARY KEY,
    crop TEXT NOT NULL,
    room TEXT NOT NULL,
    -- Blocks or bags at the start.
    units BIGINT NOT NULL CONSTRAINT batch_has_units CHECK (units > 0),
    dry_g_per_unit BIGINT NOT NULL CONSTRAINT batch_has_substrate CHECK (dry_g_per_unit > 0),
    started_on TEXT NOT NULL,
    closed_on TEXT
);

-- One wave of fruiting. The next flush's row is made when the last one closes.
CREATE TABLE flush (
    id BIGINT NOT NULL PRIMARY KEY,
    batch_id BIGINT NOT NULL REFERENCES batch (id),
    number BIGINT NOT NULL,
    -- Soaked or opened; empty while the batch still rests or colonises.
    initiated_on TEXT,
    pins_on TEXT,
    units_lost BIGINT NOT NULL,
    closed_on TEXT,
    CONSTRAINT flush_number_unique UNIQUE (batch_id, number)
);

-- What was seen and done, append-only; a correction is an entry.
CREATE TABLE growing_event (
    id BIGINT NOT NULL PRIMARY KEY,
    batch_id BIGINT NOT NULL REFERENCES batch (id),
    flush_id BIGINT REFERENCES flush (id),
    -- 'received', 'initiated', 'pins', 'lost', 'picked', 'rested', 'spent'.
    kind TEXT NOT NULL,
    on_day TEXT NOT NULL,
    units BIGINT NOT NULL,
    grams BIGINT NOT NULL,
    at BIGINT NOT NULL,
    person_id BIGINT REFERENCES person (id)
);
CREATE INDEX growing_event_of_flush ON growing_event (flush_id);

CREATE TABLE lot (
    id BIGINT NOT NULL PRIMARY KEY,
    crop TEXT NOT NULL,
    flush_id BIGINT REFERENCES flush (id),
    picked_on TEXT NOT NULL,
    -- The first day it is cooled through and may be packed.
    ready_on TEXT NOT NULL,
    -- The last day it is good to give a customer.
    keeps_until TEXT NOT NULL,
    picked_g BIGINT NOT NULL CONSTRAINT lot_has_weight CHECK (picked_g > 0),
    -- Always picked_g less the sum of its moves; kept here so that the database itself refuses to go below zero.
    left_g BIGINT NOT NULL CONSTRAINT lot_not_below_zero CHECK (left_g >= 0),
    made_at BIGINT NOT NULL
);

-- Every gram that leaves a lot or comes back to it, append-only.
CREATE TABLE lot_move (
    id BIGINT NOT NULL PRIMARY KEY,
    lot_id BIGINT NOT NULL REFERENCES lot (id),
    -- 'delivered', 'market', 'returned', 'dried', 'given', 'collected', 'discarded', 'corrected'.
    kind TEXT NOT NULL,
    -- Positive leaves the cold room, negative comes back.
    grams BIGINT NOT NULL,
    -- The delivery's award, the offer's claim or the drop it belongs to.
    subject BIGINT,
    at BIGINT NOT NULL,
    person_id BIGINT REFERENCES person (id)
);
CREATE INDEX lot_move_of_lot ON lot_move (lot_id);
