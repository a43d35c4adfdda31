SELECT unit_id, number, machine, description, maker, volts, amps FROM unit WHERE folded = ?1
