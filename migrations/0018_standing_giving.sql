-- A regular drop: proposed once, agreed once, filled each time with what is free.
CREATE TABLE standing_drop (
    id BIGINT NOT NULL PRIMARY KEY,
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    -- RFC 5545; dates left out are in it as EXDATE.
    recurrence TEXT NOT NULL,
    -- When it is brought, minutes of the local day.
    opens_minute BIGINT NOT NULL,
    -- 'proposed', 'agreed', 'declined', 'stopped'.
    state TEXT NOT NULL,
    proposed_at BIGINT NOT NULL,
    agreed_at BIGINT,
    ended_at BIGINT
);

-- The regular drop that a drop was filled for.
ALTER TABLE drop_off ADD COLUMN standing_id BIGINT REFERENCES standing_drop (id);

-- Dates on which a food bank is open but takes nothing, as it said.
CREATE TABLE partner_full (
    partner_id BIGINT NOT NULL REFERENCES partner (id),
    day TEXT NOT NULL,
    PRIMARY KEY (partner_id, day)
);

-- The entry that a correction corrects.
ALTER TABLE giving_ledger ADD COLUMN corrects BIGINT;

-- Whose need the family holds to be greater is asked first: 0 as others, 1 greater.
ALTER TABLE partner ADD COLUMN need BIGINT NOT NULL DEFAULT 0;
-- Until now a hand-over was taken back whole, by an entry of the opposite weight.
UPDATE giving_ledger SET corrects = (
    SELECT MAX(given.id) FROM giving_ledger AS given
    WHERE given.drop_id = giving_ledger.drop_id AND given.lot_id = giving_ledger.lot_id
      AND given.grams = -giving_ledger.grams AND given.id < giving_ledger.id
) WHERE grams < 0;
