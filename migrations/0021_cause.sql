-- What caused a message: the update ("u" and its number) or the occurrence (its key), as the log names it. Empty for messages
-- written before it was kept.
ALTER TABLE outbox ADD COLUMN cause TEXT;
