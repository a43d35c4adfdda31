UPDATE copy_progress SET at = ?3, done = ?4 WHERE at = ?1 AND done = ?2
