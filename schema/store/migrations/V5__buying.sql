-- 0005 buying
-- Why      The buyer asks who sells what at which terms, what is under way, and what of it has come.
-- Keeps    An order goes from draft to sent to acknowledged; it is cancelled only while nothing has
--          come. What has come of a line is told by the ledger alone: the movements that arrival names,
--          less those undone. How far an order has come and what is late is worked out, never kept.
-- Log      Nothing: none of this changes what can be looked up.
-- Back     None. A program that knows only 0004 refuses this store.
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
CREATE INDEX offer_by_part ON offer (part_id);

-- From that quantity on all pieces cost so much each.
CREATE TABLE offer_break (
    offer_id INTEGER NOT NULL REFERENCES offer (offer_id),
    at_least INTEGER NOT NULL CHECK (at_least >= 0), -- thousandths
    minor    INTEGER NOT NULL CHECK (minor >= 0),    -- in the supplier's currency
    PRIMARY KEY (offer_id, at_least)
) STRICT;

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
    sent_day    TEXT    CHECK (length(sent_day) = 10),
    CHECK (state NOT IN ('sent', 'acknowledged') OR sent_day IS NOT NULL)
) STRICT;

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
CREATE INDEX supply_line_by_part ON supply_line (part_id);

-- Which movement brought in what of which line. Another part than the line's is a substitute.
CREATE TABLE arrival (
    seq      INTEGER NOT NULL PRIMARY KEY REFERENCES movement (seq),
    order_id INTEGER NOT NULL,
    line     INTEGER NOT NULL,
    FOREIGN KEY (order_id, line) REFERENCES supply_line (order_id, line)
) STRICT;
CREATE INDEX arrival_by_line ON arrival (order_id, line);
