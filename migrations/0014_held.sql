-- Messages nobody asked for that wait: for the end of somebody's quiet hours, or for others to go with. They enter the
-- outbox when they are due, so that the outbox itself stays in the order of sending.
CREATE TABLE held (
    id BIGINT NOT NULL PRIMARY KEY,
    chat_id BIGINT NOT NULL,
    -- The card it will be; NULL for a plain notice, to which others may be added.
    card TEXT,
    -- What to send, as in the outbox.
    body TEXT NOT NULL,
    due_at BIGINT NOT NULL,
    -- From then on it is not worth sending; NULL is never.
    useful_until BIGINT
);
CREATE INDEX held_of_chat ON held (chat_id, id);
