-- 0010 look-up
-- Why      Each desk keeps a copy of what is looked up and follows it: it asks for the rows that changed
--          since the turn it has, and for no others. And it need not ask often where it is told.
-- Keeps    Each row of what is looked up bears the turn that wrote it last. None of these rows is ever
--          removed but other numbers of a part, which are put anew with the part.
-- Log      Nothing.
-- Back     None. A program that knows only 0009 refuses this store and says which version reads it.
CREATE FUNCTION stamp() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN NEW.turn := COALESCE((SELECT turn FROM shop), 0); RETURN NEW; END $$;

ALTER TABLE branch ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE branch_way ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE part ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE unit ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE cross_reference ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE bill_line ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE bin ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE price ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE balance ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;
ALTER TABLE hold ADD COLUMN turn BIGINT NOT NULL DEFAULT 0;

CREATE INDEX branch_by_turn ON branch (turn);
CREATE INDEX branch_way_by_turn ON branch_way (turn);
CREATE INDEX part_by_turn ON part (turn);
CREATE INDEX unit_by_turn ON unit (turn);
CREATE INDEX cross_by_turn ON cross_reference (turn);
CREATE INDEX bill_by_turn ON bill_line (turn);
CREATE INDEX bin_by_turn ON bin (turn);
CREATE INDEX price_by_turn ON price (turn);
CREATE INDEX balance_by_turn ON balance (turn);
CREATE INDEX hold_by_turn ON hold (turn);

CREATE TRIGGER branch_stamp BEFORE INSERT OR UPDATE ON branch FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER branch_way_stamp BEFORE INSERT OR UPDATE ON branch_way FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER part_stamp BEFORE INSERT OR UPDATE ON part FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER unit_stamp BEFORE INSERT OR UPDATE ON unit FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER cross_stamp BEFORE INSERT OR UPDATE ON cross_reference FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER bill_stamp BEFORE INSERT OR UPDATE ON bill_line FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER bin_stamp BEFORE INSERT OR UPDATE ON bin FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER price_stamp BEFORE INSERT OR UPDATE ON price FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER balance_stamp BEFORE INSERT OR UPDATE ON balance FOR EACH ROW EXECUTE FUNCTION stamp();
CREATE TRIGGER hold_stamp BEFORE INSERT OR UPDATE ON hold FOR EACH ROW EXECUTE FUNCTION stamp();

-- A server that cannot tell anybody passes it over in silence: who follows asks from time to time anyway.
CREATE FUNCTION tell() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN
    PERFORM pg_notify('shop_turn', '');
    RETURN NULL;
EXCEPTION WHEN undefined_function OR feature_not_supported THEN RETURN NULL;
END $$;
CREATE TRIGGER shop_tell AFTER UPDATE OF turn ON shop FOR EACH ROW EXECUTE FUNCTION tell();
