-- 0009 append only
-- Why      What follows the change log trusts it as the ledger is trusted: whoever could rewrite it could
--          make a branch's index pass a change over.
-- Keeps    A line of the change log is never changed or removed.
-- Log      Nothing.
-- Back     None. A program that knows only 0008 refuses this store and says which version reads it.
CREATE TRIGGER change_is_not_changed BEFORE UPDATE ON change
BEGIN SELECT RAISE(ABORT, 'the change log is never changed'); END;
CREATE TRIGGER change_is_not_removed BEFORE DELETE ON change
BEGIN SELECT RAISE(ABORT, 'the change log is never removed'); END;
