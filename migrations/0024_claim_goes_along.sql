-- What was taken of an offer goes along with a delivery where it keeps until then.
-- The delivery day it waits for; NULL when it is picked up at the farm.
ALTER TABLE offer_claim ADD COLUMN goes_on TEXT;
-- The delivery line it became once that day's orders were closed. The line may hold several claims.
ALTER TABLE offer_claim ADD COLUMN award_id BIGINT;
