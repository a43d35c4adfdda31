-- A store of version 2 as the program of that version wrote it, and one hold.
BEGIN TRANSACTION;
CREATE TABLE balance (
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    on_hand   INTEGER NOT NULL CHECK (on_hand >= 0),
    PRIMARY KEY (part_id, bin_id, condition)
) STRICT;
INSERT INTO "balance" VALUES(1,1,'new',5000);
INSERT INTO "balance" VALUES(1,2,'core',2000);
INSERT INTO "balance" VALUES(2,2,'used-good',125);
CREATE TABLE bill_line (
    unit_id  INTEGER NOT NULL REFERENCES unit (unit_id),
    role     TEXT    NOT NULL,
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    remark   TEXT    NOT NULL,
    PRIMARY KEY (unit_id, role, part_id)
) STRICT;
CREATE TABLE bin (
    bin_id      INTEGER PRIMARY KEY,
    name        TEXT NOT NULL,
    folded      TEXT NOT NULL UNIQUE,
    aisle       TEXT NOT NULL,
    description TEXT NOT NULL
) STRICT;
INSERT INTO "bin" VALUES(1,'B0','B0','1','');
INSERT INTO "bin" VALUES(2,'B1','B1','1','');
CREATE TABLE change (
    seq     INTEGER PRIMARY KEY,
    part_id INTEGER NOT NULL
) STRICT;
INSERT INTO "change" VALUES(1,1);
INSERT INTO "change" VALUES(2,2);
CREATE TABLE cross_reference (
    from_id  INTEGER NOT NULL REFERENCES part (part_id),
    kind     TEXT    NOT NULL CHECK (kind IN ('same', 'replaces', 'stands-in', 'contains')),
    to_id    INTEGER NOT NULL REFERENCES part (part_id),
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    remark   TEXT    NOT NULL,
    PRIMARY KEY (from_id, kind, to_id),
    CHECK (from_id <> to_id)
) STRICT;
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
INSERT INTO "hold" VALUES(1,'Q-1',1,1,'new',1000,'9999-12-31','open');
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
) STRICT, WITHOUT ROWID;
INSERT INTO "movement" VALUES(1,1,1,'new',5000,'opening','','Ann','2026-11-25T22:48:25.563458593Z',1,NULL,X'165EC83FB46DF80AC27EB720FB9DA0235B8FAA9903159603CB39E72706BB3914');
INSERT INTO "movement" VALUES(2,1,2,'core',2000,'opening','','Ann','2026-11-25T22:48:25.563458593Z',2,NULL,X'C4C19619122F89EC349B4C8C5A21A5D8E2FC5A620B26DBD0B1684F654D21AC00');
INSERT INTO "movement" VALUES(3,2,2,'used-good',125,'opening','','Ann','2026-11-25T22:48:25.563458593Z',3,NULL,X'EFA44B409618BAF51E350692CADE119C62CEE933D74BBFEAF9716A976FD2759B');
CREATE TABLE number (
    part_id INTEGER NOT NULL REFERENCES part (part_id),
    place   INTEGER NOT NULL,
    text    TEXT    NOT NULL,
    used_by TEXT    NOT NULL,
    folded  TEXT    NOT NULL,
    PRIMARY KEY (part_id, place)
) STRICT;
INSERT INTO "number" VALUES(1,0,'zx-0','Zorvex','ZX0');
INSERT INTO "number" VALUES(2,0,'zx-1','Zorvex','ZX1');
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
INSERT INTO "part" VALUES(1,'RP 0000','RP0000','rectifier-plate','plate','Zorvex','C62','{"outline_od":112.0}',NULL);
INSERT INTO "part" VALUES(2,'RP 0001','RP0001','rectifier-plate','plate','Zorvex','C62','{"outline_od":118.0}',NULL);
CREATE TABLE price (
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    list     TEXT    NOT NULL,
    minor    INTEGER NOT NULL,
    currency TEXT    NOT NULL CHECK (length(currency) = 3),
    PRIMARY KEY (part_id, list)
) STRICT;
CREATE TABLE refinery_schema_history(
             version int4 PRIMARY KEY,
             name VARCHAR(255),
             applied_on VARCHAR(255),
             checksum VARCHAR(255));
INSERT INTO "refinery_schema_history" VALUES(1,'catalogue','2026-11-25T22:48:25.181953592Z','8743540189389521518');
INSERT INTO "refinery_schema_history" VALUES(2,'ledger','2026-11-25T22:48:25.181960074Z','16817560134701360500');
CREATE TABLE shop (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    id       TEXT NOT NULL,
    name     TEXT NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3)
) STRICT;
INSERT INTO "shop" VALUES(1,'10bbf7ad3676102537f21060ee73cd3b','Shop','EUR');
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
CREATE INDEX part_by_kind ON part (kind);
CREATE INDEX number_by_folded ON number (folded);
CREATE INDEX cross_by_to ON cross_reference (to_id, kind);
CREATE INDEX bill_by_part ON bill_line (part_id);
CREATE INDEX movement_by_part ON movement (part_id, seq);
CREATE INDEX movement_by_posting ON movement (posting);
CREATE UNIQUE INDEX movement_undone_once ON movement (undoes) WHERE undoes IS NOT NULL;
CREATE TRIGGER movement_is_not_changed BEFORE UPDATE ON movement
BEGIN SELECT RAISE(ABORT, 'a movement is never changed'); END;
CREATE TRIGGER movement_is_not_removed BEFORE DELETE ON movement
BEGIN SELECT RAISE(ABORT, 'a movement is never removed'); END;
CREATE INDEX balance_by_bin ON balance (bin_id);
CREATE INDEX hold_by_stock ON hold (part_id, bin_id, condition) WHERE state = 'open';
COMMIT;
