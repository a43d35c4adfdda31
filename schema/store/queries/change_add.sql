INSERT INTO change (seq, part_id)
VALUES ((SELECT COALESCE(MAX(seq), 0) + 1 FROM change), CAST(?1 AS BIGINT))
