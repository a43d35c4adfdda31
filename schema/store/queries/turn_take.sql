WITH taken AS (UPDATE shop SET turn = turn + 1 RETURNING turn),
     known AS (INSERT INTO turn_kept (slot, key) SELECT turn % 1024, ?1 FROM taken
               ON CONFLICT (slot) DO UPDATE SET key = excluded.key)
SELECT turn FROM taken
