SELECT seq, part_id, bin_id, condition, quantity, reason, reference, who, at, posting, undoes, hash FROM movement ORDER BY seq
