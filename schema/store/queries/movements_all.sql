SELECT seq, part_id, bin_id, condition, quantity, reason, reference, who, at, posting, undoes, value, day, note, key, branch_id, hash FROM movement ORDER BY seq
