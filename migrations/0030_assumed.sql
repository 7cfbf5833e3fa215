-- What nobody said and the farm assumed in the end, 1; 0 is what somebody said.
ALTER TABLE delivery ADD COLUMN packed_assumed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE award ADD COLUMN assumed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE drop_off ADD COLUMN assumed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE offer_claim ADD COLUMN assumed BIGINT NOT NULL DEFAULT 0;
