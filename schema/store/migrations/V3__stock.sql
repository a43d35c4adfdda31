-- 0003 stock
-- Why      Stock has a cost; a posting may be sent twice and must count once; bins are counted; old
--          parts are owed for deposits.
-- Keeps    A movement's value is what its part was worth by it, in minor units of the shop's
--          currency; the value kept for a part and condition is the sum of its movements' and never
--          below nothing. A caller's key stands in one posting at most.
-- Log      Nothing: none of this changes what can be looked up.
-- Back     None. A program that knows only 0002 refuses this store. Movements of before have no
--          value and no day of their own: theirs is that of their time, and their hashes stay.
ALTER TABLE movement ADD COLUMN value INTEGER NOT NULL DEFAULT 0; -- minor units, signed as quantity
ALTER TABLE movement ADD COLUMN day   TEXT    NOT NULL DEFAULT ''; -- ISO 8601, the shop's day
ALTER TABLE movement ADD COLUMN note  TEXT    NOT NULL DEFAULT ''; -- readings of a test, a reason
ALTER TABLE movement ADD COLUMN key   TEXT    NOT NULL DEFAULT ''; -- the caller's, on the first of a posting
CREATE UNIQUE INDEX movement_by_key ON movement (key) WHERE key <> '';

-- What lies of a part in one condition, all bins together, and what it is worth: its average cost.
CREATE TABLE worth (
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    on_hand   INTEGER NOT NULL CHECK (on_hand >= 0),
    value     INTEGER NOT NULL CHECK (value >= 0),
    PRIMARY KEY (part_id, condition)
) STRICT;
INSERT INTO worth (part_id, condition, on_hand, value)
SELECT part_id, condition, SUM(on_hand), 0 FROM balance GROUP BY part_id, condition;

-- A list of places to be counted.
CREATE TABLE count_sheet (
    sheet_id      INTEGER PRIMARY KEY,
    what          TEXT    NOT NULL, -- bin, aisle, class or what is due, in words
    who           TEXT    NOT NULL,
    day           TEXT    NOT NULL CHECK (length(day) = 10),
    recount_above INTEGER NOT NULL CHECK (recount_above >= 0), -- per thousand of the book
    second_above  INTEGER NOT NULL CHECK (second_above >= 0), -- minor units
    state         TEXT    NOT NULL CHECK (state IN ('open', 'posted', 'dropped'))
) STRICT;

CREATE TABLE count_line (
    sheet_id  INTEGER NOT NULL REFERENCES count_sheet (sheet_id),
    line      INTEGER NOT NULL,
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    times     INTEGER NOT NULL CHECK (times >= 0), -- how often it was counted
    counted   INTEGER NOT NULL CHECK (counted >= 0), -- thousandths, the last count
    book      INTEGER NOT NULL, -- what should have lain there at that moment
    after_seq INTEGER NOT NULL, -- the last movement before that moment
    counter   TEXT    NOT NULL,
    PRIMARY KEY (sheet_id, line),
    UNIQUE (sheet_id, part_id, bin_id, condition)
) STRICT;
CREATE INDEX count_line_by_place ON count_line (part_id, bin_id, condition);

-- Old parts owed against a deposit: taken on, then given back or kept. Rows are only added.
CREATE TABLE core (
    core_id   INTEGER PRIMARY KEY,
    side      TEXT    NOT NULL CHECK (side IN ('customer', 'supplier')), -- who gave or took the deposit
    party     TEXT    NOT NULL,
    item      TEXT    NOT NULL, -- number of the unit or part
    quantity  INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    deposit   INTEGER NOT NULL CHECK (deposit >= 0), -- minor units, for all of them
    act       TEXT    NOT NULL CHECK (act IN ('owed', 'returned', 'kept')),
    of        INTEGER REFERENCES core (core_id), -- the debt that a return or keeping settles
    reference TEXT    NOT NULL,
    who       TEXT    NOT NULL,
    day       TEXT    NOT NULL CHECK (length(day) = 10),
    until_day TEXT    NOT NULL, -- last day the old part is taken back; empty when none was said
    CHECK ((act = 'owed') = (of IS NULL))
) STRICT;
CREATE INDEX core_by_debt ON core (of);

CREATE TRIGGER core_is_not_changed BEFORE UPDATE ON core
BEGIN SELECT RAISE(ABORT, 'what was owed is never changed'); END;
CREATE TRIGGER core_is_not_removed BEFORE DELETE ON core
BEGIN SELECT RAISE(ABORT, 'what was owed is never removed'); END;
