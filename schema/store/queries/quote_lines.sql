SELECT l.class, l.words, p.house, l.condition, l.quantity, l.each, l.net, l.tax, l.tax_percent
FROM quote_line l LEFT JOIN part p ON p.part_id = l.part_id
WHERE l.quote_id = ?1 AND l.revision = ?2 ORDER BY l.line
