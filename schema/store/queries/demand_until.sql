SELECT number, month, mark, quantity FROM demand WHERE month <= ?1 ORDER BY folded, month, mark
