INSERT INTO mark (one, turn, at) VALUES (1, ?1, ?2) ON CONFLICT (one) DO UPDATE SET turn = excluded.turn, at = excluded.at
