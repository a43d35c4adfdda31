SELECT unit_id, number, machine, description, maker, volts, amps FROM unit ORDER BY unit_id
