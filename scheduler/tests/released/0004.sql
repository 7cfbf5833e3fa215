INSERT INTO standing (id, buyer_id, crop, grams, recurrence, paused_from, resumes_on, made_at, made_by, ended_at) VALUES
    (4101, 1101, 'shiitake', 2268, 'DTSTART;TZID=America/Chicago:20260604T000000
RRULE:FREQ=WEEKLY;BYDAY=TH', '2026-07-02', '2026-07-16', 1780318830, 1302, NULL);
INSERT INTO standing_change (standing_id, day, grams) VALUES (4101, '2026-06-11', 1134);
INSERT INTO order_line (buyer_id, day, crop, grams, made_at, made_by) VALUES (1101, '2026-06-04', 'oyster', 907, 1780318831, NULL);
INSERT INTO order_undo (buyer_id, made_at, before) VALUES (1101, 1780318832, '[]');
INSERT INTO delivery (day, closed_at, seed, answers_by, settled_at, packed_at, delivered_at) VALUES
    ('2026-06-04', 1780441200, -7, 1780495200, NULL, NULL, NULL);
INSERT INTO award (id, buyer_id, day, crop, source, asked_g, promised_g, delivered_g, state) VALUES
    (4401, 1101, '2026-06-04', 'shiitake', 'standing', 2268, 1500, NULL, 'short');
INSERT INTO award_event (id, award_id, at, promised_g, why, person_id) VALUES (4501, 4401, 1780441200, 1500, 'cutoff', NULL);
INSERT INTO forecast_record (day, crop, made_at, p10_g, p50_g, p90_g, promise_g) VALUES
    ('2026-06-04', 'shiitake', 1780441200, 1000, 2000, 3000, 1500);
