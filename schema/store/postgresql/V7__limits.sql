-- 0007 limits
-- Why      As the seventh step of a file: no more is to be ordered than the shelf takes; and what the
--          counter notes as asked for and not in must outlive an import of the same month's lost sales.
-- Keeps    A bin's limit is of all parts in it together. What the counter noted stands under its own
--          mark, beside what files say.
-- Log      Nothing: neither changes what can be looked up.
-- Back     None. A program that knows only 0006 refuses this store and says which version reads it.
ALTER TABLE bin ADD COLUMN holds_most BIGINT CHECK (holds_most >= 0); -- thousandths; NULL: no limit

ALTER TABLE demand DROP CONSTRAINT demand_mark_check;
ALTER TABLE demand ADD CONSTRAINT demand_mark_check CHECK (mark IN ('regular', 'one-off', 'lost', 'asked'));

-- What of the order's freight lies in what came is worth, in the shop's minor units.
ALTER TABLE arrival ADD COLUMN freight BIGINT NOT NULL DEFAULT 0;
