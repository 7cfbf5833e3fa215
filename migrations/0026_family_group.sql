-- Who named a group of the family's, and since when nothing is sent there: a group in which no keeper is, or whose namer has
-- left, gets nothing until a keeper says so again.
ALTER TABLE family_group ADD COLUMN named_by BIGINT REFERENCES person (id);
ALTER TABLE family_group ADD COLUMN paused_at BIGINT;
