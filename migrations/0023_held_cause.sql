-- What caused a held message, as in the outbox: it is followed through the log also when it waits.
ALTER TABLE held ADD COLUMN cause TEXT;
