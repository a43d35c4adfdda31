-- 0007 limits
-- Why      No more is to be ordered than the shelf takes; and what the counter notes as asked for and
--          not in must outlive an import of the same month's lost sales.
-- Keeps    A bin's limit is of all parts in it together. What the counter noted stands under its own
--          mark, beside what files say.
-- Log      Nothing: neither changes what can be looked up.
-- Back     None. A program that knows only 0006 refuses this store and says which version reads it.
ALTER TABLE bin ADD COLUMN holds_most INTEGER CHECK (holds_most >= 0); -- thousandths; NULL: no limit

CREATE TABLE demand_marked (
    folded   TEXT    NOT NULL,
    month    TEXT    NOT NULL CHECK (length(month) = 7), -- ISO 8601, YYYY-MM
    mark     TEXT    NOT NULL CHECK (mark IN ('regular', 'one-off', 'lost', 'asked')),
    number   TEXT    NOT NULL, -- as it was written
    quantity INTEGER NOT NULL, -- thousandths; below nought when more came back than went
    PRIMARY KEY (folded, month, mark)
) STRICT;
INSERT INTO demand_marked SELECT folded, month, mark, number, quantity FROM demand;
DROP TABLE demand;
ALTER TABLE demand_marked RENAME TO demand;

-- What of the order's freight lies in what came is worth, in the shop's minor units.
ALTER TABLE arrival ADD COLUMN freight INTEGER NOT NULL DEFAULT 0;
