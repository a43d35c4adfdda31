SELECT seq, part_id, bin_id, condition, quantity, reason, reference, who, at, undoes, hash FROM movement ORDER BY seq
