-- 0008 branches
-- Why      As the eighth step of a file: bins belong to a branch, stock travels between branches, and each
--          sees what the others have.
-- Keeps    A shop has one branch at least; one that never heard of branches has one without a name, and
--          all its bins and movements are that one's. A movement's hash covers the one before it of its
--          branch. What left a branch is what arrived, what is given up and what is on its way: the
--          movements tell it, these tables only say which belong together.
-- Log      Nothing: a branch does not change what can be looked up.
-- Back     None. A program that knows only 0007 refuses this store and says which version reads it.
CREATE TABLE branch (
    branch_id BIGINT PRIMARY KEY,
    name      TEXT COLLATE "C" NOT NULL,
    folded    TEXT COLLATE "C" NOT NULL UNIQUE
);
INSERT INTO branch (branch_id, name, folded) VALUES (1, '', '');

-- The way between two branches, the same in both directions.
CREATE TABLE branch_way (
    one_id  BIGINT NOT NULL REFERENCES branch (branch_id),
    two_id  BIGINT NOT NULL REFERENCES branch (branch_id),
    minutes BIGINT NOT NULL CHECK (minutes >= 0),
    minor   BIGINT NOT NULL CHECK (minor >= 0), -- what one trip costs, in the shop's currency
    PRIMARY KEY (one_id, two_id),
    CHECK (one_id < two_id)
);

ALTER TABLE bin ADD COLUMN branch_id BIGINT NOT NULL DEFAULT 1 REFERENCES branch (branch_id);
ALTER TABLE movement ADD COLUMN branch_id BIGINT NOT NULL DEFAULT 1 REFERENCES branch (branch_id);
CREATE INDEX movement_by_branch ON movement (branch_id, seq);

-- Where the movement that took something out of a branch sends it.
CREATE TABLE transfer (
    seq    BIGINT NOT NULL PRIMARY KEY REFERENCES movement (seq),
    bin_id BIGINT NOT NULL REFERENCES bin (bin_id)
);

-- Which movement brought in what of which transfer.
CREATE TABLE transfer_arrival (
    seq      BIGINT NOT NULL PRIMARY KEY REFERENCES movement (seq),
    transfer BIGINT NOT NULL REFERENCES transfer (seq)
);
CREATE INDEX transfer_arrival_by_transfer ON transfer_arrival (transfer);
