SELECT bin_id FROM bin WHERE folded = ?1
