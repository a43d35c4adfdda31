-- 0009 append only
-- Why      As the ninth step of a file: whoever could rewrite the change log could make a branch's index
--          pass a change over. And a shop with roles must know whether its newest tables have grants.
-- Keeps    A line of the change log is never changed or removed. `granted` is the version of the store
--          that grants were put for last; nought as long as the shop has no roles.
-- Log      Nothing.
-- Back     None. A program that knows only 0008 refuses this store and says which version reads it.
CREATE TRIGGER change_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON change
FOR EACH STATEMENT EXECUTE FUNCTION refuse('the change log is never changed or removed');

ALTER TABLE shop ADD COLUMN granted BIGINT NOT NULL DEFAULT 0;
