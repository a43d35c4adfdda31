SELECT EXISTS (SELECT 1 FROM transfer_arrival a JOIN movement m ON m.seq = a.transfer
               WHERE m.posting = (SELECT posting FROM movement WHERE seq = ?1)
                 AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = a.seq))
