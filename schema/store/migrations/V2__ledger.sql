-- 0002 ledger
-- Why      What lies in the bins must be what went in less what went out, and provably so.
-- Keeps    A movement is never changed or removed. A balance is the sum of its movements and never
--          below zero. Each movement's hash covers the one before it.
-- Log      Nothing: a movement does not change what can be looked up.
-- Back     None. A program that knows only 0001 refuses this store.
CREATE TABLE movement (
    seq       INTEGER NOT NULL PRIMARY KEY,
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    quantity  INTEGER NOT NULL CHECK (quantity <> 0), -- thousandths, out is negative
    reason    TEXT    NOT NULL,
    reference TEXT    NOT NULL,
    who       TEXT    NOT NULL,
    at        TEXT    NOT NULL, -- ISO 8601, UTC
    posting   INTEGER NOT NULL, -- first movement of what was posted, and is undone, together
    undoes    INTEGER REFERENCES movement (seq),
    hash      BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT, WITHOUT ROWID; -- every byte of a row is read, so that none can change unseen
CREATE INDEX movement_by_part ON movement (part_id, seq);
CREATE INDEX movement_by_posting ON movement (posting);
CREATE UNIQUE INDEX movement_undone_once ON movement (undoes) WHERE undoes IS NOT NULL;

CREATE TRIGGER movement_is_not_changed BEFORE UPDATE ON movement
BEGIN SELECT RAISE(ABORT, 'a movement is never changed'); END;
CREATE TRIGGER movement_is_not_removed BEFORE DELETE ON movement
BEGIN SELECT RAISE(ABORT, 'a movement is never removed'); END;

CREATE TABLE balance (
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    on_hand   INTEGER NOT NULL CHECK (on_hand >= 0),
    PRIMARY KEY (part_id, bin_id, condition)
) STRICT;
CREATE INDEX balance_by_bin ON balance (bin_id);

CREATE TABLE hold (
    hold_id   INTEGER PRIMARY KEY,
    reference TEXT    NOT NULL,
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    quantity  INTEGER NOT NULL CHECK (quantity > 0),
    until_day TEXT    NOT NULL CHECK (length(until_day) = 10), -- last day it holds
    state     TEXT    NOT NULL CHECK (state IN ('open', 'posted', 'released'))
) STRICT;
CREATE INDEX hold_by_stock ON hold (part_id, bin_id, condition) WHERE state = 'open';
