-- How warm a growing room was, as somebody said, append-only: of two words on one day the later one counts.
CREATE TABLE room_temperature (
    id BIGINT NOT NULL PRIMARY KEY,
    room TEXT NOT NULL,
    on_day TEXT NOT NULL,
    -- Tenths of a degree Celsius.
    temperature_dc BIGINT NOT NULL,
    at BIGINT NOT NULL,
    person_id BIGINT REFERENCES person (id)
);
