INSERT INTO batch (id, crop, room, units, dry_g_per_unit, started_on, closed_on) VALUES
    (3101, 'shiitake', 'cool', 40, 1200, '2026-03-01', NULL), (3102, 'oyster', 'warm', 10, 2000, '2026-02-01', '2026-05-01');
INSERT INTO flush (id, batch_id, number, initiated_on, pins_on, units_lost, closed_on) VALUES
    (3201, 3101, 1, '2026-05-20', '2026-05-25', 2, NULL), (3202, 3102, 1, NULL, NULL, 0, '2026-05-01');
INSERT INTO growing_event (id, batch_id, flush_id, kind, on_day, units, grams, at, person_id) VALUES
    (3301, 3101, 3201, 'picked', '2026-06-01', 0, 5000, 1780318820, 1301), (3302, 3101, NULL, 'received', '2026-03-01', 40, 0, 1780318820, NULL);
INSERT INTO lot (id, crop, flush_id, picked_on, ready_on, keeps_until, picked_g, left_g, made_at) VALUES
    (3401, 'shiitake', 3201, '2026-06-01', '2026-06-02', '2026-06-08', 5000, 4100, 1780318821),
    (3402, 'oyster', NULL, '2026-06-01', '2026-06-02', '2026-06-06', 100, 0, 1780318821);
INSERT INTO lot_move (id, lot_id, kind, grams, subject, at, person_id) VALUES
    (3501, 3401, 'delivered', 1000, 4401, 1780318822, NULL), (3502, 3401, 'corrected', -100, NULL, 1780318823, 1301),
    (3503, 3402, 'dried', 100, NULL, 1780318824, NULL);
