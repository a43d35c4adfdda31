SELECT revision, issued_day, valid_until, hold_until, cover, asked, words, currency, net, tax, rounding, total, who, at
FROM quote_revision WHERE quote_id = ?1 AND revision = ?2
