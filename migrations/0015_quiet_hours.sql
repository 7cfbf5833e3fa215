-- When nothing is sent to a person that can wait: minutes of the farm's day, NULL for never. 21:00 to 7:00 until they
-- choose otherwise.
ALTER TABLE person ADD COLUMN quiet_from BIGINT DEFAULT 1260;
ALTER TABLE person ADD COLUMN quiet_to BIGINT DEFAULT 420;
