-- Jobs of the timetable: the day one is about in a column of its own, and what is known of one that failed.
ALTER TABLE occurrence ADD COLUMN day TEXT;
-- Failures so far; when it is tried again; what went wrong, without anybody's words; since when it is set aside.
ALTER TABLE occurrence ADD COLUMN tries BIGINT NOT NULL DEFAULT 0;
ALTER TABLE occurrence ADD COLUMN try_at BIGINT;
ALTER TABLE occurrence ADD COLUMN fault TEXT;
ALTER TABLE occurrence ADD COLUMN aside_at BIGINT;

-- Until now the day stood in the key only: "answers@DAY" and "drop_fill SUBJECT DAY LOOK".
UPDATE occurrence SET day = SUBSTR(key, 9) WHERE job = 'answers_end';
UPDATE occurrence SET job = 'drop_fill_eve', day = SUBSTR(key, LENGTH(key) - 13, 10)
    WHERE job = 'drop_fill' AND key LIKE '% eve';
UPDATE occurrence SET job = 'drop_fill_leave', day = SUBSTR(key, LENGTH(key) - 15, 10)
    WHERE job = 'drop_fill' AND key LIKE '% leave';
