-- A store of version 11 as the program of that version wrote it: two branches, stock on its way, a hold, a debt, an order part received.
PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE refinery_schema_history(
             version int4 PRIMARY KEY,
             name VARCHAR(255),
             applied_on VARCHAR(255),
             checksum VARCHAR(255));
INSERT INTO refinery_schema_history VALUES(1,'catalogue','2026-11-26T11:01:51.95547571Z','8743540189389521518');
INSERT INTO refinery_schema_history VALUES(2,'ledger','2026-11-26T11:01:51.955483704Z','16817560134701360500');
INSERT INTO refinery_schema_history VALUES(3,'stock','2026-11-26T11:01:51.955485127Z','4284803940295568150');
INSERT INTO refinery_schema_history VALUES(4,'quotes','2026-11-26T11:01:51.955487451Z','791205360451747337');
INSERT INTO refinery_schema_history VALUES(5,'buying','2026-11-26T11:01:51.955488984Z','10684153721837464434');
INSERT INTO refinery_schema_history VALUES(6,'demand','2026-11-26T11:01:51.955490988Z','12468779076905587342');
INSERT INTO refinery_schema_history VALUES(7,'limits','2026-11-26T11:01:51.95549205Z','16429461121855450475');
INSERT INTO refinery_schema_history VALUES(8,'branches','2026-11-26T11:01:51.955492882Z','13521971663878204269');
INSERT INTO refinery_schema_history VALUES(9,'append_only','2026-11-26T11:01:51.955494114Z','2581996213305537499');
INSERT INTO refinery_schema_history VALUES(10,'look_up','2026-11-26T11:01:51.955495957Z','2368562077291351867');
INSERT INTO refinery_schema_history VALUES(11,'orders_of_a_branch','2026-11-26T11:01:51.955496799Z','11013044475753953458');
CREATE TABLE shop (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    id       TEXT NOT NULL,
    name     TEXT NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3)
) STRICT;
INSERT INTO shop VALUES(1,'e5d201b27ed68358f5ca62be7a43f645','Old shop','EUR');
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
INSERT INTO part VALUES(1,'RP-1107A','RP1107A','rectifier-plate','rectifier plate AL-112 frame, 12 V, B+ right','Hallerby','C62','{"amp_class":90.0,"bplus_angle":138.0,"bplus_stud_len":28.4,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_body_dia":12.8,"diode_count":6.0,"handed":"right","height":22.5,"hole_dia":6.2,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":92.0,"neutral_diodes":2.0,"outline_od":112.0,"phase_lugs":4.0,"volt_class":"12"}','hole@0,0/6.2; hole@92,0/6.2; hole@46,27.9/6.2; stud:B+@81.9,-7.3/M8; lead:U@16.4,7.3; lead:V@35,18.9; lead:W@57,18.9; lead:N@75.6,7.3');
INSERT INTO part VALUES(2,'RP-1107B','RP1107B','rectifier-plate','rectifier plate AL-112 frame, 12 V, wide pitch','Veldane','C62','{"amp_class":90.0,"bplus_angle":138.0,"bplus_stud_len":28.4,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_count":6.0,"handed":"right","height":22.5,"hole_dia":6.2,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":93.5,"outline_od":112.0,"phase_lugs":4.0,"trio":"yes","volt_class":"12"}','hole@0,0/6.2; hole@93.5,0/6.2; hole@46.8,29.8/6.2; stud:B+@82.2,-4/M8; lead:U@16.4,8.3; lead:V@35.4,20.6; lead:W@58.1,20.6; lead:N@77.1,8.3');
INSERT INTO part VALUES(3,'RP-1107C','RP1107C','rectifier-plate','rectifier plate AL-112 frame, 12 V, mirrored','Pontrell','C62','{"amp_class":90.0,"bplus_angle":222.0,"bplus_stud_len":28.4,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_body_dia":12.8,"diode_count":6.0,"handed":"left","height":22.5,"hole_dia":6.2,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":92.0,"neutral_diodes":2.0,"outline_od":112.0,"phase_lugs":4.0,"plate_gap":3.2,"trio":"yes","volt_class":"12"}','hole@0,0/6.2; hole@92,0/6.2; hole@46,-27.9/6.2; stud:B+@81.9,7.3/M8; lead:U@16.4,-7.3; lead:V@35,-18.9; lead:W@57,-18.9; lead:N@75.6,-7.3');
INSERT INTO part VALUES(4,'RP-1107D','RP1107D','rectifier-plate','rectifier plate AL-112 frame, 12 V, B+ moved, mirrored','Hallerby','C62','{"amp_class":110.0,"bplus_angle":213.0,"bplus_stud_len":32.4,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_body_dia":12.8,"diode_count":6.0,"handed":"left","height":22.5,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":92.0,"neutral_diodes":2.0,"outline_od":113.2,"phase_lugs":4.0,"plate_gap":3.2,"trio":"yes","volt_class":"12"}','hole@0,0/6.2; hole@92,0/6.2; hole@46,-27.9/6.2; stud:B+@81,13.5/M8; lead:U@16.4,-7.3; lead:V@35,-18.9; lead:W@57,-18.9; lead:N@75.6,-7.3');
INSERT INTO part VALUES(5,'RP-1123C','RP1123C','rectifier-plate','rectifier plate AL-112 frame, 12 V, mirrored, second issue','Orlund','C62','{"bplus_angle":222.0,"bplus_stud_len":30.4,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_count":6.0,"handed":"left","height":24.7,"hole_dia":6.2,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":92.0,"neutral_diodes":2.0,"outline_od":110.1,"phase_lugs":4.0,"plate_gap":3.2,"volt_class":"12"}','hole@0,0/6.2; hole@92,0/6.2; hole@46,-27.9/6.2; stud:B+@81.9,7.3/M8; lead:U@17.4,-6.3; lead:V@35.4,-17.5; lead:W@56.6,-17.5; lead:N@74.6,-6.3');
INSERT INTO part VALUES(6,'RP-1131C','RP1131C','rectifier-plate','rectifier plate AL-112 frame, 12 V, mirrored, 120 A, third issue','Mirkwald','C62','{"amp_class":120.0,"bplus_angle":222.0,"bplus_thread":"M8","centre_clear_dia":38.0,"diode_count":6.0,"handed":"left","height":25.6,"hole_dia":6.2,"lead_kind":"solder","mount_holes":3.0,"mount_pitch":92.0,"neutral_diodes":2.0,"outline_od":114.4,"phase_lugs":4.0,"trio":"yes","volt_class":"12"}','hole@0,0/6.2; hole@92,0/6.2; hole@46,-27.9/6.2; stud:B+@81.9,7.3/M8; lead:U@15,-8.5; lead:V@34.5,-20.6; lead:W@57.5,-20.6; lead:N@77,-8.5');
CREATE TABLE number (
    part_id INTEGER NOT NULL REFERENCES part (part_id),
    place   INTEGER NOT NULL,
    text    TEXT    NOT NULL,
    used_by TEXT    NOT NULL,
    folded  TEXT    NOT NULL,
    PRIMARY KEY (part_id, place)
) STRICT;
INSERT INTO number VALUES(1,0,'HB 2 107 037','Hallerby','HB2107037');
INSERT INTO number VALUES(1,1,'TB 200-10','Tarnbrook Supply','TB20010');
INSERT INTO number VALUES(2,0,'V101954-2','Veldane','V1019542');
INSERT INTO number VALUES(2,1,'21.75631','Orlund','2175631');
INSERT INTO number VALUES(2,2,'TB 200-17','Tarnbrook Supply','TB20017');
INSERT INTO number VALUES(3,0,'PT1159R3','Pontrell','PT1159R3');
INSERT INTO number VALUES(4,0,'HB 2 128 148','Hallerby','HB2128148');
INSERT INTO number VALUES(4,1,'TB 201-31','Tarnbrook Supply','TB20131');
INSERT INTO number VALUES(5,0,'20.10655','Orlund','2010655');
INSERT INTO number VALUES(5,1,'244-6056','Mirkwald','2446056');
INSERT INTO number VALUES(5,2,'TB 201-38','Tarnbrook Supply','TB20138');
INSERT INTO number VALUES(6,0,'166-2334','Mirkwald','1662334');
INSERT INTO number VALUES(6,1,'TB 201-45','Tarnbrook Supply','TB20145');
CREATE TABLE change (
    seq     INTEGER PRIMARY KEY,
    part_id INTEGER NOT NULL
) STRICT;
INSERT INTO change VALUES(1,1);
INSERT INTO change VALUES(2,2);
INSERT INTO change VALUES(3,3);
INSERT INTO change VALUES(4,4);
INSERT INTO change VALUES(5,5);
INSERT INTO change VALUES(6,6);
CREATE TABLE cross_reference (
    from_id  INTEGER NOT NULL REFERENCES part (part_id),
    kind     TEXT    NOT NULL CHECK (kind IN ('same', 'replaces', 'stands-in', 'contains')),
    to_id    INTEGER NOT NULL REFERENCES part (part_id),
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    remark   TEXT    NOT NULL,
    PRIMARY KEY (from_id, kind, to_id),
    CHECK (from_id <> to_id)
) STRICT;
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
CREATE TABLE bin (
    bin_id      INTEGER PRIMARY KEY,
    name        TEXT NOT NULL,
    folded      TEXT NOT NULL UNIQUE,
    aisle       TEXT NOT NULL,
    description TEXT NOT NULL
, holds_most INTEGER CHECK (holds_most >= 0), branch_id INTEGER NOT NULL DEFAULT 1) STRICT;
INSERT INTO bin VALUES(1,'A1-01','A101','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(2,'A1-02','A102','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(3,'A1-03','A103','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(4,'A1-04','A104','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(5,'A1-05','A105','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(6,'A1-06','A106','A','plates, regulators',NULL,1);
INSERT INTO bin VALUES(7,'N1','N1','1','',NULL,2);
CREATE TABLE price (
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    list     TEXT    NOT NULL,
    minor    INTEGER NOT NULL,
    currency TEXT    NOT NULL CHECK (length(currency) = 3),
    PRIMARY KEY (part_id, list)
) STRICT;
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
, value INTEGER NOT NULL DEFAULT 0, day   TEXT    NOT NULL DEFAULT '', note  TEXT    NOT NULL DEFAULT '', key   TEXT    NOT NULL DEFAULT '', branch_id INTEGER NOT NULL DEFAULT 1) STRICT, WITHOUT ROWID;
INSERT INTO movement VALUES(1,2,2,'new',8000,'receive','','Ann','2026-11-26T11:01:59.739443133Z',1,NULL,X'40102a85cc71fe09b4a0614fdf45fc8509aaa364063053fd7e873d4a813ce516',9600,'2026-11-26','','',1);
INSERT INTO movement VALUES(2,1,7,'new',3000,'receive','','Bo','2026-11-26T11:01:59.816716002Z',2,NULL,X'f30e5e56701920a315a0b8bc485e0980f2c1ac1acce33672eb0a00da0a46bb44',5382,'2026-11-26','','',2);
INSERT INTO movement VALUES(3,2,2,'new',-2000,'transfer-out','','Ann','2026-11-26T11:01:59.914122251Z',3,NULL,X'cae7ad504d1eb3d5e3059e28f9ab08aeb84f408301bf27f24f2f95a2f820cae5',-2400,'2026-11-26','','',1);
INSERT INTO movement VALUES(4,2,7,'new',1000,'transfer-in','transfer 3','','2026-11-26T11:02:05.427287068Z',4,NULL,X'b0d2c6239022cb595b32f0c5e9b4646c0962ace5e3c9360f77818a5ae029dacb',1200,'2026-11-26','','',2);
INSERT INTO movement VALUES(5,2,2,'new',-1000,'sale','','','2026-11-26T11:02:05.493411551Z',5,NULL,X'e0f0cc4e86d215a63bf21ec27d133cc8da23176f475e18d91312b86513906d25',-1200,'2026-11-26','','',1);
INSERT INTO movement VALUES(6,1,7,'new',3000,'receive','O-1','','2026-11-26T11:02:05.725389636Z',6,NULL,X'85e76bfc4313f4bb4cd68c771cc430c6ae169490f9d1f0ad80ca7ec266af95f2',6470,'2026-11-26','','',2);
CREATE TABLE balance (
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    bin_id    INTEGER NOT NULL REFERENCES bin (bin_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    on_hand   INTEGER NOT NULL CHECK (on_hand >= 0),
    PRIMARY KEY (part_id, bin_id, condition)
) STRICT;
INSERT INTO balance VALUES(2,2,'new',5000);
INSERT INTO balance VALUES(1,7,'new',6000);
INSERT INTO balance VALUES(2,7,'new',1000);
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
INSERT INTO hold VALUES(1,'Q-9',2,2,'new',1000,'2031-01-31','open');
CREATE TABLE worth (
    part_id   INTEGER NOT NULL REFERENCES part (part_id),
    condition TEXT    NOT NULL CHECK (condition IN ('new', 'used-good', 'core')),
    on_hand   INTEGER NOT NULL CHECK (on_hand >= 0),
    value     INTEGER NOT NULL CHECK (value >= 0),
    PRIMARY KEY (part_id, condition)
) STRICT;
INSERT INTO worth VALUES(2,'new',6000,7200);
INSERT INTO worth VALUES(1,'new',6000,11852);
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
INSERT INTO core VALUES(1,'customer','Ann','RP-1107B',1000,2000,'owed',NULL,'','','2026-11-26','');
CREATE TABLE quote (
    quote_id INTEGER PRIMARY KEY, -- its number is made of it
    customer TEXT    NOT NULL,
    machine  TEXT    NOT NULL CHECK (machine IN ('alternator', 'starter')),
    unit     TEXT    NOT NULL, -- number of the unit; empty when it is not known
    state    TEXT    NOT NULL CHECK (state IN ('open', 'accepted', 'issued', 'closed', 'dropped')),
    note     TEXT    NOT NULL  -- why it was dropped, or closed against its closing test
) STRICT;
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
CREATE TABLE quote_hold (
    hold_id  INTEGER PRIMARY KEY REFERENCES hold (hold_id),
    quote_id INTEGER NOT NULL REFERENCES quote (quote_id)
) STRICT;
CREATE TABLE quote_reading (
    quote_id  INTEGER NOT NULL REFERENCES quote (quote_id),
    stage     TEXT    NOT NULL CHECK (stage IN ('before', 'closing')),
    check_key TEXT    NOT NULL,
    outcome   TEXT    NOT NULL,
    typed     TEXT    NOT NULL,
    PRIMARY KEY (quote_id, stage, check_key)
) STRICT;
CREATE TABLE quote_fault (
    quote_id INTEGER NOT NULL REFERENCES quote (quote_id),
    fault    TEXT    NOT NULL,
    PRIMARY KEY (quote_id, fault)
) STRICT;
CREATE TABLE supplier (
    supplier_id   INTEGER PRIMARY KEY,
    name          TEXT    NOT NULL,
    folded        TEXT    NOT NULL UNIQUE,
    address       TEXT    NOT NULL,
    currency      TEXT    NOT NULL CHECK (length(currency) = 3),
    rate          TEXT    NOT NULL, -- decimal: one of its currency in the shop's
    order_minimum INTEGER NOT NULL CHECK (order_minimum >= 0), -- minor units of its currency
    freight       INTEGER NOT NULL CHECK (freight >= 0),
    free_from     INTEGER CHECK (free_from >= 0), -- NULL when freight is always paid
    lead_days     INTEGER NOT NULL CHECK (lead_days >= 0)
) STRICT;
INSERT INTO supplier VALUES(1,'Tarnbrook Supply','TARNBROOKSUPPLY','Unit 9, Old Mill Yard, Tarnbrook','EUR','1',5000,1450,40000,3);
INSERT INTO supplier VALUES(2,'Quillmere Electric','QUILLMEREELECTRIC','14 Canal Row, Quillmere','EUR','1',0,980,25000,6);
INSERT INTO supplier VALUES(3,'Sandmoor Overseas','SANDMOOROVERSEAS','Dock 3, Sandmoor','USD','0.92',30000,8500,250000,45);
CREATE TABLE offer (
    offer_id    INTEGER PRIMARY KEY,
    supplier_id INTEGER NOT NULL REFERENCES supplier (supplier_id),
    part_id     INTEGER NOT NULL REFERENCES part (part_id),
    number      TEXT    NOT NULL, -- the supplier's
    pack        INTEGER NOT NULL CHECK (pack > 0),     -- thousandths
    minimum     INTEGER NOT NULL CHECK (minimum >= 0), -- thousandths
    lead_days   INTEGER CHECK (lead_days >= 0), -- NULL: the supplier's
    UNIQUE (supplier_id, part_id, number)
) STRICT;
INSERT INTO offer VALUES(1,1,1,'T95319',1000,1000,NULL);
INSERT INTO offer VALUES(2,2,1,'QE-22337',1000,1000,NULL);
CREATE TABLE offer_break (
    offer_id INTEGER NOT NULL REFERENCES offer (offer_id),
    at_least INTEGER NOT NULL CHECK (at_least >= 0), -- thousandths
    minor    INTEGER NOT NULL CHECK (minor >= 0),    -- in the supplier's currency
    PRIMARY KEY (offer_id, at_least)
) STRICT;
INSERT INTO offer_break VALUES(1,1000,1794);
INSERT INTO offer_break VALUES(2,1000,2035);
CREATE TABLE supply_order (
    order_id    INTEGER PRIMARY KEY,
    supplier_id INTEGER NOT NULL REFERENCES supplier (supplier_id),
    state       TEXT    NOT NULL CHECK (state IN ('draft', 'sent', 'acknowledged', 'cancelled')),
    currency    TEXT    NOT NULL CHECK (length(currency) = 3),
    rate        TEXT    NOT NULL, -- the supplier's when the order was drafted
    freight     INTEGER NOT NULL CHECK (freight >= 0),
    theirs      TEXT    NOT NULL, -- the supplier's own number of it
    who         TEXT    NOT NULL,
    drafted_day TEXT    NOT NULL CHECK (length(drafted_day) = 10),
    sent_day    TEXT    CHECK (length(sent_day) = 10), branch_id INTEGER REFERENCES branch (branch_id),
    CHECK (state NOT IN ('sent', 'acknowledged') OR sent_day IS NOT NULL)
) STRICT;
INSERT INTO supply_order VALUES(1,1,'sent','EUR','1',1450,'','','2026-11-26','2026-11-26',2);
CREATE TABLE supply_line (
    order_id INTEGER NOT NULL REFERENCES supply_order (order_id),
    line     INTEGER NOT NULL CHECK (line > 0),
    part_id  INTEGER NOT NULL REFERENCES part (part_id),
    number   TEXT    NOT NULL, -- the supplier's
    quantity INTEGER NOT NULL CHECK (quantity > 0), -- thousandths
    minor    INTEGER NOT NULL CHECK (minor >= 0),   -- each, in the order's currency
    rest     TEXT    NOT NULL CHECK (rest IN ('due', 'back-ordered', 'short')),
    due_day  TEXT    CHECK (length(due_day) = 10),
    note     TEXT    NOT NULL,
    PRIMARY KEY (order_id, line)
) STRICT;
INSERT INTO supply_line VALUES(1,1,1,'T95319',4000,1794,'due','2026-11-29','');
CREATE TABLE arrival (
    seq      INTEGER NOT NULL PRIMARY KEY REFERENCES movement (seq),
    order_id INTEGER NOT NULL,
    line     INTEGER NOT NULL, freight INTEGER NOT NULL DEFAULT 0,
    FOREIGN KEY (order_id, line) REFERENCES supply_line (order_id, line)
) STRICT;
INSERT INTO arrival VALUES(6,1,1,1088);
CREATE TABLE IF NOT EXISTS "demand" (
    folded   TEXT    NOT NULL,
    month    TEXT    NOT NULL CHECK (length(month) = 7), -- ISO 8601, YYYY-MM
    mark     TEXT    NOT NULL CHECK (mark IN ('regular', 'one-off', 'lost', 'asked')),
    number   TEXT    NOT NULL, -- as it was written
    quantity INTEGER NOT NULL, -- thousandths; below nought when more came back than went
    PRIMARY KEY (folded, month, mark)
) STRICT;
CREATE TABLE branch (
    branch_id INTEGER PRIMARY KEY,
    name      TEXT NOT NULL,
    folded    TEXT NOT NULL UNIQUE
) STRICT;
INSERT INTO branch VALUES(1,'South','SOUTH');
INSERT INTO branch VALUES(2,'North','NORTH');
CREATE TABLE branch_way (
    one_id  INTEGER NOT NULL REFERENCES branch (branch_id),
    two_id  INTEGER NOT NULL REFERENCES branch (branch_id),
    minutes INTEGER NOT NULL CHECK (minutes >= 0),
    minor   INTEGER NOT NULL CHECK (minor >= 0), -- what one trip costs, in the shop's currency
    PRIMARY KEY (one_id, two_id),
    CHECK (one_id < two_id)
) STRICT;
INSERT INTO branch_way VALUES(1,2,35,650);
CREATE TABLE transfer (
    seq    INTEGER NOT NULL PRIMARY KEY REFERENCES movement (seq),
    bin_id INTEGER NOT NULL REFERENCES bin (bin_id)
) STRICT;
INSERT INTO transfer VALUES(3,7);
CREATE TABLE transfer_arrival (
    seq      INTEGER NOT NULL PRIMARY KEY REFERENCES movement (seq),
    transfer INTEGER NOT NULL REFERENCES transfer (seq)
) STRICT;
INSERT INTO transfer_arrival VALUES(4,3);
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
CREATE UNIQUE INDEX movement_by_key ON movement (key) WHERE key <> '';
CREATE INDEX count_line_by_place ON count_line (part_id, bin_id, condition);
CREATE INDEX core_by_debt ON core (of);
CREATE TRIGGER core_is_not_changed BEFORE UPDATE ON core
BEGIN SELECT RAISE(ABORT, 'what was owed is never changed'); END;
CREATE TRIGGER core_is_not_removed BEFORE DELETE ON core
BEGIN SELECT RAISE(ABORT, 'what was owed is never removed'); END;
CREATE INDEX quote_by_state ON quote (state);
CREATE TRIGGER quote_revision_is_not_changed BEFORE UPDATE ON quote_revision
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;
CREATE TRIGGER quote_revision_is_not_removed BEFORE DELETE ON quote_revision
BEGIN SELECT RAISE(ABORT, 'a revision is never removed'); END;
CREATE INDEX quote_hold_by_quote ON quote_hold (quote_id);
CREATE INDEX offer_by_part ON offer (part_id);
CREATE INDEX supply_line_by_part ON supply_line (part_id);
CREATE INDEX arrival_by_line ON arrival (order_id, line);
CREATE INDEX movement_by_branch ON movement (branch_id, seq);
CREATE INDEX transfer_arrival_by_transfer ON transfer_arrival (transfer);
CREATE TRIGGER change_is_not_changed BEFORE UPDATE ON change
BEGIN SELECT RAISE(ABORT, 'the change log is never changed'); END;
CREATE TRIGGER change_is_not_removed BEFORE DELETE ON change
BEGIN SELECT RAISE(ABORT, 'the change log is never removed'); END;
COMMIT;
