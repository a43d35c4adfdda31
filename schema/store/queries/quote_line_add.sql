INSERT INTO quote_line (quote_id, revision, line, class, words, part_id, condition, quantity, each, net, tax, tax_percent)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)
