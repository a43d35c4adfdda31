SELECT m.seq, p.house, n.name, m.condition, m.quantity, m.reason, m.reference, m.who, m.at, m.posting, m.undoes,
       m.value, COALESCE(NULLIF(m.day, ''), substr(m.at, 1, 10)), m.note, u.seq
FROM movement m
JOIN part p ON p.part_id = m.part_id
JOIN bin n ON n.bin_id = m.bin_id
LEFT JOIN movement u ON u.undoes = m.seq
WHERE (CAST(?1 AS BIGINT) IS NULL OR m.part_id = ?1) AND (CAST(?2 AS BIGINT) IS NULL OR m.bin_id = ?2) AND (CAST(?3 AS TEXT) IS NULL OR m.reference = ?3)
  AND (CAST(?5 AS BIGINT) IS NULL OR m.posting = ?5)
ORDER BY m.seq DESC LIMIT ?4
