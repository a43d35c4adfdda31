SELECT seq, part_id FROM change WHERE seq > ?1 ORDER BY seq LIMIT ?2
