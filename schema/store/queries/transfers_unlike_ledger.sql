WITH came AS (
    SELECT a.transfer, COUNT(*) AS times, CAST(SUM(i.quantity) AS BIGINT) AS quantity,
           CAST(SUM(i.value) AS BIGINT) AS value
    FROM transfer_arrival a JOIN movement i ON i.seq = a.seq
    WHERE NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = i.seq)
    GROUP BY a.transfer
)
SELECT t.seq, 'more arrived than left'
FROM transfer t JOIN movement m ON m.seq = t.seq JOIN came c ON c.transfer = t.seq
WHERE c.quantity > -m.quantity OR c.value > -m.value OR (c.quantity = -m.quantity AND c.value <> -m.value)
UNION ALL
SELECT t.seq, 'it was taken back and yet it arrived'
FROM transfer t JOIN came c ON c.transfer = t.seq
WHERE EXISTS (SELECT 1 FROM movement u WHERE u.undoes = t.seq)
UNION ALL
SELECT m.seq, 'nobody knows where it was sent'
FROM movement m WHERE m.reason = 'transfer-out' AND NOT EXISTS (SELECT 1 FROM transfer t WHERE t.seq = m.seq)
UNION ALL
SELECT m.seq, 'nobody knows where it came from'
FROM movement m WHERE m.reason = 'transfer-in' AND NOT EXISTS (SELECT 1 FROM transfer_arrival a WHERE a.seq = m.seq)
UNION ALL
SELECT i.seq, 'another thing arrived than left'
FROM transfer_arrival a JOIN movement i ON i.seq = a.seq JOIN movement m ON m.seq = a.transfer
WHERE (i.part_id, i.condition) <> (m.part_id, m.condition)
ORDER BY 1
