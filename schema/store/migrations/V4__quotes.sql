-- 0004 quotes
-- Why      A quote promises a price until a day and holds the stock it promises; taken, it is a job:
--          its parts are issued, its unit is tested, and what was truly wrong teaches the next one.
-- Keeps    A revision is never changed or removed: what was once offered can be read again. Stock is
--          held through `hold`, so that what is held never exceeds what is there; every step of a
--          quote and its holds is one transaction.
-- Log      Nothing: a quote does not change what can be looked up.
-- Back     None. A program that knows only 0003 refuses this store.
CREATE TABLE quote (
    quote_id INTEGER PRIMARY KEY, -- its number is made of it
    customer TEXT    NOT NULL,
    machine  TEXT    NOT NULL CHECK (machine IN ('alternator', 'starter')),
    unit     TEXT    NOT NULL, -- number of the unit; empty when it is not known
    state    TEXT    NOT NULL CHECK (state IN ('open', 'accepted', 'issued', 'closed', 'dropped')),
    note     TEXT    NOT NULL  -- why it was dropped, or closed against its closing test
) STRICT;
CREATE INDEX quote_by_state ON quote (state);

CREATE TABLE quote_revision (
    quote_id    INTEGER NOT NULL REFERENCES quote (quote_id),
    revision    INTEGER NOT NULL CHECK (revision > 0),
    issued_day  TEXT    NOT NULL CHECK (length(issued_day) = 10),
    valid_until TEXT    NOT NULL CHECK (length(valid_until) = 10),
    hold_until  TEXT    NOT NULL CHECK (length(hold_until) = 10),
    cover       TEXT    NOT NULL, -- name of the repair option
    asked       TEXT    NOT NULL, -- JSON: unit and readings it was made from
    words       TEXT    NOT NULL, -- JSON: findings, root causes, what to look at, cautions
    currency    TEXT    NOT NULL CHECK (length(currency) = 3),
    net         INTEGER NOT NULL, -- minor units, as all money here
    tax         INTEGER NOT NULL,
    rounding    INTEGER NOT NULL,
    total       INTEGER NOT NULL,
    who         TEXT    NOT NULL,
    at          TEXT    NOT NULL,
    PRIMARY KEY (quote_id, revision),
    CHECK (net + tax + rounding = total)
) STRICT;

CREATE TABLE quote_line (
    quote_id    INTEGER NOT NULL,
    revision    INTEGER NOT NULL,
    line        INTEGER NOT NULL,
    class       TEXT    NOT NULL CHECK (class IN ('part', 'labour', 'consumable', 'core-deposit')),
    words       TEXT    NOT NULL,
    part_id     INTEGER REFERENCES part (part_id),
    condition   TEXT    CHECK (condition IN ('new', 'used-good', 'core')),
    quantity    INTEGER NOT NULL, -- thousandths; of labour, minutes
    each        INTEGER,          -- NULL for labour
    net         INTEGER NOT NULL,
    tax         INTEGER NOT NULL,
    tax_percent TEXT    NOT NULL, -- decimal; empty when the class is not taxed
    PRIMARY KEY (quote_id, revision, line),
    FOREIGN KEY (quote_id, revision) REFERENCES quote_revision (quote_id, revision),
    CHECK ((part_id IS NULL) = (condition IS NULL))
) STRICT;

CREATE TRIGGER quote_revision_is_not_changed BEFORE UPDATE ON quote_revision
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;
CREATE TRIGGER quote_revision_is_not_removed BEFORE DELETE ON quote_revision
BEGIN SELECT RAISE(ABORT, 'a revision is never removed'); END;

CREATE TABLE quote_hold (
    hold_id  INTEGER PRIMARY KEY REFERENCES hold (hold_id),
    quote_id INTEGER NOT NULL REFERENCES quote (quote_id)
) STRICT;
CREATE INDEX quote_hold_by_quote ON quote_hold (quote_id);

-- What was read before the repair and in the closing test.
CREATE TABLE quote_reading (
    quote_id  INTEGER NOT NULL REFERENCES quote (quote_id),
    stage     TEXT    NOT NULL CHECK (stage IN ('before', 'closing')),
    check_key TEXT    NOT NULL,
    outcome   TEXT    NOT NULL,
    typed     TEXT    NOT NULL,
    PRIMARY KEY (quote_id, stage, check_key)
) STRICT;

-- What was truly wrong.
CREATE TABLE quote_fault (
    quote_id INTEGER NOT NULL REFERENCES quote (quote_id),
    fault    TEXT    NOT NULL,
    PRIMARY KEY (quote_id, fault)
) STRICT;
