-- Messages of accounts that have not joined, counted so that nobody guesses codes or floods the farm's answers.
CREATE TABLE knock (
    chat_id BIGINT NOT NULL PRIMARY KEY,
    -- Since when it is counted; the count begins anew an hour later.
    first_at BIGINT NOT NULL,
    times BIGINT NOT NULL
);
