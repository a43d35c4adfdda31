SELECT COALESCE(MAX(seq), 0) FROM movement WHERE at <= ?1
