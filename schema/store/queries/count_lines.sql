SELECT l.line, p.house, n.name, l.condition, l.times, l.counted, l.book, l.after_seq, l.counter, l.part_id, l.bin_id
FROM count_line l JOIN part p ON p.part_id = l.part_id JOIN bin n ON n.bin_id = l.bin_id
WHERE l.sheet_id = ?1 ORDER BY l.line
