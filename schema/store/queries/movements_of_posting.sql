SELECT seq, part_id, bin_id, condition, quantity, reason, reference, who, at, posting, undoes, value, day, note, key, branch_id, hash FROM movement
WHERE posting = (SELECT posting FROM movement WHERE seq = ?1)
ORDER BY seq DESC
