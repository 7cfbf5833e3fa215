-- How warm the cold room was, as somebody said, append-only: from then on it counts as that warm until the next word.
CREATE TABLE cold_room_temperature (
    id BIGINT NOT NULL PRIMARY KEY,
    -- Tenths of a degree Celsius.
    temperature_dc BIGINT NOT NULL,
    at BIGINT NOT NULL,
    person_id BIGINT REFERENCES person (id)
);

-- The last day a lot is good when it is kept cold all along; keeps_until is that day as warm as it really was.
ALTER TABLE lot ADD COLUMN keeps_cold TEXT;
UPDATE lot SET keeps_cold = keeps_until;
