SELECT s.sheet_id, s.what, s.who, s.day, COUNT(l.line), COUNT(CASE WHEN l.times > 0 THEN 1 END)
FROM count_sheet s LEFT JOIN count_line l ON l.sheet_id = s.sheet_id
WHERE s.state = 'open' GROUP BY s.sheet_id, s.what, s.who, s.day ORDER BY s.sheet_id
