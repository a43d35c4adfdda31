SELECT posting FROM movement WHERE key = ?1 AND key <> ''
