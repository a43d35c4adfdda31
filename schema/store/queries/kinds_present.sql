SELECT kind, COUNT(*) FROM part GROUP BY kind ORDER BY kind
