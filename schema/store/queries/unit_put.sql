INSERT INTO unit (number, folded, machine, description, maker, volts, amps) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
ON CONFLICT (folded) DO UPDATE SET number = excluded.number, machine = excluded.machine,
    description = excluded.description, maker = excluded.maker, volts = excluded.volts, amps = excluded.amps
WHERE (unit.number, unit.machine, unit.description, unit.maker, COALESCE(unit.volts, -1), COALESCE(unit.amps, -1))
   <> (excluded.number, excluded.machine, excluded.description, excluded.maker,
       COALESCE(excluded.volts, -1), COALESCE(excluded.amps, -1))
