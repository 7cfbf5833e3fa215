-- Since when a card is as it is: an old one is written anew instead of edited. NULL for cards from before this was kept; the
-- next tidying dates them.
ALTER TABLE card ADD COLUMN changed_at BIGINT;
-- Tables that stay for ever are asked by these columns at every cut-off and in every view.
CREATE INDEX award_of_day ON award (day);
CREATE INDEX award_owed ON award (day) WHERE delivered_g IS NULL AND promised_g > 0;
CREATE INDEX award_event_of_award ON award_event (award_id);
CREATE INDEX lot_with_something ON lot (keeps_until, picked_on, id) WHERE left_g > 0;
CREATE INDEX lot_move_of_subject ON lot_move (subject) WHERE subject IS NOT NULL;
CREATE INDEX lot_move_at ON lot_move (at);
CREATE INDEX order_line_of_day ON order_line (day);
CREATE INDEX offer_open ON offer (id) WHERE closed_at IS NULL;
CREATE INDEX offer_claim_of_offer ON offer_claim (offer_id);
CREATE INDEX drop_off_coming ON drop_off (opens_at) WHERE state IN ('proposed', 'agreed');
CREATE INDEX drop_off_of_chain ON drop_off (chain);
CREATE INDEX drop_off_of_partner ON drop_off (partner_id, handed_over_at);
CREATE INDEX giving_ledger_of_lot ON giving_ledger (lot_id);
CREATE INDEX giving_ledger_of_drop ON giving_ledger (drop_id);
