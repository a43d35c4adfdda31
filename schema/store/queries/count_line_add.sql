INSERT INTO count_line (sheet_id, line, part_id, bin_id, condition, times, counted, book, after_seq, counter)
SELECT CAST(?1 AS BIGINT), COALESCE(MAX(line), 0) + 1, CAST(?2 AS BIGINT), CAST(?3 AS BIGINT), CAST(?4 AS TEXT), 0, 0, 0, 0, '' FROM count_line WHERE sheet_id = ?1
ON CONFLICT (sheet_id, part_id, bin_id, condition) DO NOTHING
