-- 0011 orders of a branch
-- Why      What a branch has ordered counts when one advises for that branch alone.
-- Keeps    An order that was drafted for one branch says so; one for the whole shop says nothing.
-- Log      Nothing.
-- Back     None. A program that knows only 0010 refuses this store and says which version reads it.
ALTER TABLE supply_order ADD COLUMN branch_id INTEGER REFERENCES branch (branch_id);
