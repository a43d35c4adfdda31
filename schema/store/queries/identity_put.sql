INSERT INTO shop (one, id, name, currency) VALUES (1, ?1, ?2, ?3)
