SELECT granted FROM shop
