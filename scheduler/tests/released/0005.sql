INSERT INTO market_hold (day, crop, grams) VALUES ('2026-06-06', 'oyster', 0);
INSERT INTO offer (id, crop, grams, left_g, least_g, price_cents_per_kg, made_at, deadline, collect_until, closed_at) VALUES
    (5101, 'oyster', 3000, 1000, 500, 1450, 1780600000, 1780672000, 1780700800, NULL),
    (5102, 'oyster', 3000, 3000, 500, NULL, 1780600000, 1780672000, 1780700800, 1780672000);
INSERT INTO offer_buyer (offer_id, buyer_id, asked_at, declined_at) VALUES (5101, 1101, 1780600001, 1780600002);
INSERT INTO offer_claim (id, offer_id, buyer_id, grams, at, person_id, collected_at, given_back_at) VALUES
    (5201, 5101, 1101, 2000, 1780600003, 1302, NULL, 1780600004);
INSERT INTO drop_off (id, chain, partner_id, state, opens_at, closes_at, proposed_at, answer_by, agreed_at, eve_reminded_at, leave_reminded_at, handed_over_at, temperature_dc) VALUES
    (5301, 5301, 1201, 'handed_over', 1780650000, 1780660000, 1780600000, 1780640000, 1780610000, NULL, NULL, 1780655000, -5);
INSERT INTO drop_line (drop_id, crop, grams, handed_g) VALUES (5301, 'shiitake', 1500, 1400);
INSERT INTO giving_ledger (id, at, day, partner_id, drop_id, lot_id, crop, grams, value_cents, person_id) VALUES
    (5401, 1780655000, '2026-06-05', 1201, 5301, 3401, 'shiitake', 1400, 2100, NULL),
    (5402, 1780655001, '2026-06-05', 1201, NULL, 3401, 'shiitake', -100, NULL, 1301);
