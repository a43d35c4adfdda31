SELECT COALESCE(CAST(SUM(m.quantity) AS BIGINT), 0) FROM movement m LEFT JOIN movement u ON u.seq = m.undoes
WHERE m.part_id = ?1 AND m.bin_id = ?2 AND m.condition = ?3 AND m.seq > ?4
  AND (m.reason = 'count' OR u.reason = 'count' OR u.seq <= ?4)
