SELECT EXISTS (SELECT 1 FROM movement m JOIN movement was ON was.seq = m.undoes
               WHERE m.posting = (SELECT posting FROM movement WHERE seq = ?1)
                 AND was.reason IN ('transfer-out', 'transfer-in'))
