UPDATE farm_lock SET turn = 41 WHERE id = 1;
INSERT INTO setting (name, value) VALUES ('bot_name', 'larkrise_bot'), ('odd', 'zażółć "quoted", ''single'', =1+1
second line');
INSERT INTO buyer (id, name, when_silent, weight, joined_at, left_at) VALUES
    (1101, 'Night Heron Noodle Bar', 'take', 1, 1780318800, NULL),
    (9223372036854775807, 'Copper Kettle Bistro', 'drop', 3, 1780318801, 1780405200);
INSERT INTO partner (id, name, address, travel_minutes, least_g, greatest_g, crops, has_cold_store, joined_at, left_at) VALUES
    (1201, 'Merrow Community Pantry', '4 Quay Street', 20, 1000, 20000, '["shiitake"]', 1, 1780318802, NULL);
INSERT INTO partner_hours (partner_id, weekday, opens_minute, closes_minute) VALUES (1201, 3, 540, 1020);
INSERT INTO partner_closed (partner_id, day) VALUES (1201, '2026-07-04');
INSERT INTO person (id, chat_id, name, role, language, units, hour_clock, buyer_id, partner_id, joined_at, left_at, unreachable_at) VALUES
    (1301, 1001, 'Ada', 'keeper', 'en', 'avoirdupois', 'twelve', NULL, NULL, 1780318803, NULL, NULL),
    (1302, 2001, 'Żaneta', 'buyer', 'pl', 'metric', 'twenty_four', 1101, NULL, 1780318804, NULL, 1780400000),
    (1303, 4001, 'Lena', 'pantry', 'en', 'metric', 'twelve', NULL, 1201, 1780318805, 1780400001, NULL);
INSERT INTO family_group (chat_id, language, joined_at) VALUES (-1001234567890, 'en', 1780318806);
INSERT INTO invitation (id, code_hash, role, buyer_id, partner_id, made_by, made_at, expires_at, used_at, used_by) VALUES
    (1401, 'aa', 'buyer', 1101, NULL, 1301, 1780318807, 1780923607, 1780318808, 1302),
    (1402, 'bb', 'driver', NULL, NULL, NULL, 1780318807, 1780923607, NULL, NULL);
