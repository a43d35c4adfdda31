INSERT INTO movement (seq, part_id, bin_id, condition, quantity, reason, reference, who, at, posting, undoes, value, day, note, key, branch_id, hash)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)
