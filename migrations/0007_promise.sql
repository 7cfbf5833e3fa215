-- The chance, in thousandths, that every promise of the day holds, as reckoned when its orders closed. Empty for days closed
-- before it was reckoned.
ALTER TABLE delivery ADD COLUMN holds_permille BIGINT;
