INSERT INTO change (seq, part_id) SELECT COALESCE(MAX(seq), 0) + 1, CAST(?1 AS BIGINT) FROM change
