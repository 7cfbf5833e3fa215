-- Messages set aside are counted and listed while all others come and go.
CREATE INDEX outbox_set_aside ON outbox (failed_at) WHERE failed_at IS NOT NULL;
