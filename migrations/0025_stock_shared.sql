-- When the morning's stock was first shared among the day's lines; what changes the cold room after it, until the crates are
-- packed, has it shared again. NULL before that morning.
ALTER TABLE delivery ADD COLUMN shared_at BIGINT;
