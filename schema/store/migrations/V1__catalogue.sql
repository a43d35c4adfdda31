-- 0001 catalogue
-- Why      Parts with their numbers, measures and layouts; crosses; units with bills; bins; prices.
-- Keeps    A house number is unique by its folded form. Every change to what can be looked up has
--          a row in change, written in the same transaction.
-- Log      part, number, and what joins or leaves a group of `same` crosses.
-- Back     None: the first.
CREATE TABLE shop (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    id       TEXT NOT NULL,
    name     TEXT NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3)
) STRICT;

CREATE TABLE part (
    part_id     INTEGER PRIMARY KEY,
    house       TEXT NOT NULL,
    folded      TEXT NOT NULL UNIQUE,
    kind        TEXT NOT NULL,
    description TEXT NOT NULL,
    maker       TEXT NOT NULL,
    issue       TEXT NOT NULL,
    measures    TEXT NOT NULL, -- JSON object: measure key -> number or word
    layout      TEXT           -- points as text; NULL when not known
) STRICT;
CREATE INDEX part_by_kind ON part (kind);

CREATE TABLE number (
    part_id INTEGER NOT NULL REFERENCES part (part_id),
    place   INTEGER NOT NULL,
    text    TEXT    NOT NULL,
    used_by TEXT    NOT NULL,
    folded  TEXT    NOT NULL,
    PRIMARY KEY (part_id, place)
) STRICT;
CREATE INDEX number_by_folded ON number (folded);

CREATE TABLE change (
    seq     INTEGER PRIMARY KEY,
    part_id INTEGER NOT NULL
) STRICT;

CREATE TABLE cross_reference (
    from_id  INTEGER NOT NULL REFERENCES part (part_id),
    kind     TEXT    NOT NULL CHECK (kind IN ('same', 'replaces', 'stands-in', 'contains')),
    to_id    INTEGER NOT NULL REFERENCES part (part_id),
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    remark   TEXT    NOT NULL,
    PRIMARY KEY (from_id, kind, to_id),
    CHECK (from_id <> to_id)
) STRICT;
CREATE INDEX cross_by_to ON cross_reference (to_id, kind);

CREATE TABLE unit (
    unit_id     INTEGER PRIMARY KEY,
    number      TEXT NOT NULL,
    folded      TEXT NOT NULL UNIQUE,
    machine     TEXT NOT NULL CHECK (machine IN ('alternator', 'starter')),
    description TEXT NOT NULL,
    maker       TEXT NOT NULL,
    volts       INTEGER,
    amps        INTEGER
) STRICT;

CREATE TABLE bill_line (
    unit_id  INTEGER NOT NULL REFERENCES unit (unit_id),
    role     TEXT    NOT NULL,
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    remark   TEXT    NOT NULL,
    PRIMARY KEY (unit_id, role, part_id)
) STRICT;
CREATE INDEX bill_by_part ON bill_line (part_id);

CREATE TABLE bin (
    bin_id      INTEGER PRIMARY KEY,
    name        TEXT NOT NULL,
    folded      TEXT NOT NULL UNIQUE,
    aisle       TEXT NOT NULL,
    description TEXT NOT NULL
) STRICT;

CREATE TABLE price (
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    list     TEXT    NOT NULL,
    minor    INTEGER NOT NULL,
    currency TEXT    NOT NULL CHECK (length(currency) = 3),
    PRIMARY KEY (part_id, list)
) STRICT;
