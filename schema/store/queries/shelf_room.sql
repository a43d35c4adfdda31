WITH place AS (
    SELECT DISTINCT b.part_id, b.bin_id FROM balance b WHERE b.condition <> 'core' AND b.on_hand > 0
    UNION
    SELECT m.part_id, m.bin_id FROM movement m
    WHERE m.seq IN (SELECT MAX(last.seq) FROM movement last
                    WHERE last.condition <> 'core' AND NOT EXISTS (
                        SELECT 1 FROM balance b
                        WHERE b.part_id = last.part_id AND b.condition <> 'core' AND b.on_hand > 0)
                    GROUP BY last.part_id)
), room AS (
    SELECT n.bin_id, n.holds_most - COALESCE(
        (SELECT CAST(SUM(b.on_hand) AS BIGINT) FROM balance b WHERE b.bin_id = n.bin_id), 0) AS quantity
    FROM bin n WHERE n.holds_most IS NOT NULL
)
SELECT p.part_id, CAST(SUM(CASE WHEN r.quantity > 0 THEN r.quantity ELSE 0 END) AS BIGINT)
FROM place p JOIN bin n ON n.bin_id = p.bin_id LEFT JOIN room r ON r.bin_id = p.bin_id
WHERE CAST(?1 AS BIGINT) IS NULL OR n.branch_id = ?1
GROUP BY p.part_id
HAVING COUNT(r.bin_id) = COUNT(*)
