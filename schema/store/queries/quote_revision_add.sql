INSERT INTO quote_revision (quote_id, revision, issued_day, valid_until, hold_until, cover, asked, words, currency, net, tax, rounding, total, who, at)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)
