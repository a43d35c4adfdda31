UPDATE count_line SET times = times + 1, counted = ?5, book = ?6, after_seq = ?7, counter = ?8
WHERE sheet_id = ?1 AND part_id = ?2 AND bin_id = ?3 AND condition = ?4
