SELECT MAX(version) FROM refinery_schema_history
