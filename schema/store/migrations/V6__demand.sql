-- 0006 demand
-- Why      The buyer needs what was wanted before the shop kept its ledger here: imported months.
-- Keeps    One figure a number, month and mark. A number need not be in the catalogue: history often
--          comes before the cards do, and is joined to a part by its folded form when it is asked for.
-- Log      Nothing: demand does not change what can be looked up.
-- Back     None. A program that knows only 0005 refuses this store and says which version reads it.
CREATE TABLE demand (
    folded   TEXT    NOT NULL,
    month    TEXT    NOT NULL CHECK (length(month) = 7), -- ISO 8601, YYYY-MM
    mark     TEXT    NOT NULL CHECK (mark IN ('regular', 'one-off', 'lost')),
    number   TEXT    NOT NULL, -- as it was written
    quantity INTEGER NOT NULL, -- thousandths; below nought when more came back than went
    PRIMARY KEY (folded, month, mark)
) STRICT;
