-- The card that a waiting message will be: a newer version takes its place instead of going after it.
ALTER TABLE outbox ADD COLUMN card TEXT;
-- 0 is the chat's messages, which go in the order they were written; 1 its menus, in their order; 2 answers to presses,
-- which wait for nothing.
ALTER TABLE outbox ADD COLUMN lane BIGINT NOT NULL DEFAULT 0;
-- From then on it is not worth sending; NULL is never.
ALTER TABLE outbox ADD COLUMN useful_until BIGINT;
-- Why it was put back: 'line' when the service did not answer, 'wish' when it asked to wait.
ALTER TABLE outbox ADD COLUMN put_back_for TEXT;
CREATE INDEX outbox_of_card ON outbox (chat_id, card) WHERE sent_at IS NULL AND failed_at IS NULL AND card IS NOT NULL;

-- Buttons with this number or a later one are on the card as the chat shows it, or on a version still on its way.
ALTER TABLE card ADD COLUMN shown_from BIGINT;
