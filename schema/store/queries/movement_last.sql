SELECT seq, hash FROM movement ORDER BY seq DESC LIMIT 1
