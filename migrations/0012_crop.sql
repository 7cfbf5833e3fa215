-- What the keeper said of crops by chat: new ones, and other everyday values for those the program knows.

CREATE TABLE crop (
    key TEXT NOT NULL PRIMARY KEY,
    -- The built-in crop a new one grows like; empty for a crop the program or the configuration brings.
    grows_like TEXT,
    -- JSON: what was said, the rest being as it was before.
    changes TEXT NOT NULL,
    -- Since when it is no longer taken orders for.
    resting_since BIGINT,
    added_at BIGINT NOT NULL
);
