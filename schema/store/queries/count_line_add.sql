INSERT INTO count_line (sheet_id, line, part_id, bin_id, condition, times, counted, book, after_seq, counter)
SELECT ?1, COALESCE(MAX(line), 0) + 1, ?2, ?3, ?4, 0, 0, 0, 0, '' FROM count_line WHERE sheet_id = ?1
ON CONFLICT (sheet_id, part_id, bin_id, condition) DO NOTHING
