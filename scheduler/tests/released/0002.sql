INSERT INTO inbox (update_id, received_at) VALUES (100000001, 1780318810);
INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries, leased_until, sent_at, failed_at, reason) VALUES
    (2101, 2001, 1, '{"toast":{"callback_id":"7","text":""}}', 1780318811, 1780318811, 0, NULL, NULL, NULL, NULL),
    (2102, 2001, 0, '{"clear_keys":{"card":"offer:1"}}', 1780318811, 1780318811, 2, NULL, 1780318815, NULL, NULL),
    (2103, 4001, 0, '{"clear_keys":{"card":"offer:1"}}', 1780318811, 1780318811, 3, NULL, NULL, 1780318816, 'blocked');
INSERT INTO card (chat_id, name, message_id) VALUES (2001, 'order', 17);
INSERT INTO button (token, chat_id, card, intent, made_at, void_at) VALUES
    ('1a2b', 2001, 'order', '{"joining":"help"}', 1780318812, NULL),
    ('1a2c', 2001, 'old', '{"joining":"help"}', 1780318812, 1780318813);
INSERT INTO question (chat_id, waiting, asked_at, expires_at) VALUES (1001, '{"joining":"buyer_name"}', 1780318812, 1780322412);
INSERT INTO occurrence (key, job, subject, due_at, useful_until, acted_at, outcome) VALUES
    ('cutoff@2026-06-02T23:00:00Z', 'cutoff', NULL, 1780441200, 1780570800, NULL, NULL),
    ('drop_eve:5', 'drop_eve', 5, 1780318000, 1780318800, 1780318801, 'missed');
