SELECT m.part_id, m.condition, t.bin_id FROM transfer t JOIN movement m ON m.seq = t.seq WHERE t.seq = ?1
