SELECT b.part_id, b.bin_id, b.condition, p.house, n.name, n.aisle,
       (SELECT COUNT(*) FROM movement m
        WHERE m.part_id = b.part_id AND m.reason IN ('issue', 'sale')
          AND COALESCE(NULLIF(m.day, ''), substr(m.at, 1, 10)) > ?1
          AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)),
       (SELECT MAX(s.day) FROM count_line l JOIN count_sheet s ON s.sheet_id = l.sheet_id
        WHERE l.part_id = b.part_id AND l.bin_id = b.bin_id AND l.condition = b.condition
          AND l.times > 0 AND s.state = 'posted')
FROM balance b JOIN part p ON p.part_id = b.part_id JOIN bin n ON n.bin_id = b.bin_id
WHERE b.on_hand > 0
ORDER BY n.aisle, n.name, p.house, b.condition
