-- What came in, what goes out, and what the timetable has done.

-- Update identifiers seen: an update is acted on once, also when the service sends it again.
CREATE TABLE inbox (
    update_id BIGINT NOT NULL PRIMARY KEY,
    received_at BIGINT NOT NULL
);

CREATE TABLE outbox (
    id BIGINT NOT NULL PRIMARY KEY,
    chat_id BIGINT NOT NULL,
    -- 0 answers somebody who is waiting, 1 is a notice.
    urgency BIGINT NOT NULL,
    -- What to send, as JSON.
    body TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    not_before BIGINT NOT NULL,
    tries BIGINT NOT NULL,
    -- A sender holds the row until then; another may take it afterwards.
    leased_until BIGINT,
    sent_at BIGINT,
    -- Set aside for good, with the reason.
    failed_at BIGINT,
    reason TEXT
);
CREATE INDEX outbox_waiting ON outbox (chat_id, id) WHERE sent_at IS NULL AND failed_at IS NULL;

-- A card is a message that is edited in place later: its name in a chat, and the message it is now.
CREATE TABLE card (
    chat_id BIGINT NOT NULL,
    name TEXT NOT NULL,
    message_id BIGINT NOT NULL,
    PRIMARY KEY (chat_id, name)
);

-- A button's meaning. The service carries only the token, so a forged one means nothing.
CREATE TABLE button (
    token TEXT NOT NULL PRIMARY KEY,
    chat_id BIGINT NOT NULL,
    card TEXT NOT NULL,
    -- The intent, as JSON.
    intent TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    -- From then on a press is answered as stale.
    void_at BIGINT
);
CREATE INDEX button_of_card ON button (chat_id, card);

-- The one question a chat was asked and may answer by typing.
CREATE TABLE question (
    chat_id BIGINT NOT NULL PRIMARY KEY,
    waiting TEXT NOT NULL,
    asked_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL
);

-- One thing the timetable does, once. The key is the job and its due instant, or the job and its subject.
CREATE TABLE occurrence (
    key TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL,
    subject BIGINT,
    due_at BIGINT NOT NULL,
    useful_until BIGINT NOT NULL,
    acted_at BIGINT,
    -- 'done', 'missed', or 'called_off'.
    outcome TEXT
);
CREATE INDEX occurrence_waiting ON occurrence (due_at) WHERE outcome IS NULL;
